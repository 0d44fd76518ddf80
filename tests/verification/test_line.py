"""The rubber line: published rubber data, the linear spring, and the example line launch."""

from __future__ import annotations

import math

import numpy as np
import pytest

from overarm.physics import line as rubber
from overarm.physics.line import Line
from tests.agreement import Agrees

SPRING = "energy of a spring, worked by hand"
TRELOAR_1944 = "Treloar (1944)"

LINE = Line(
    stiffness_npm=9.5, hardening=0.0, returned_share=0.8, stretch_m=8.0, natural_m=15.0, line_mass_kg=0.0,
    friction=0.15, ramp_m=1.5, ramp_rad=math.radians(14.0), hook_x_m=0.1, hook_z_m=0.05,
    hook_limit_rad=math.radians(70.0), stuck=0.0, used=1.0, height_m=2.0,
)  # fmt: skip

# Treloar, Trans. Faraday Soc. 40 (1944) 59, vulcanised rubber in tension: stretch ratio, kgf/cm2.
TRELOAR = [
    (1.020, 0.26), (1.125, 1.37), (1.24, 2.30), (1.39, 3.23), (1.585, 4.16), (1.90, 5.10), (2.18, 6.00),
    (2.42, 6.90), (3.02, 8.80),
]  # fmt: skip
KGF_PER_CM2_PA = 98066.5
RUBBER_M, RUBBER_M2 = 5.0, 40e-6


def treloar_points() -> list[tuple[float, float]]:
    """Return (stretch, pull) of 5 m of 40 mm2 of that rubber."""
    return [((ratio - 1.0) * RUBBER_M, stress * KGF_PER_CM2_PA * RUBBER_M2) for ratio, stress in TRELOAR]


def test_treloar_energy(agrees: Agrees) -> None:
    """Trapezoid over the published points: 209.96 J, end pull 34.52 N. A fit of stiffness and
    hardening must keep the energy; the pull itself bends more than a cubic can follow."""
    points = np.array([(0.0, 0.0), *treloar_points()])
    agrees(
        "energy under the published points [J]",
        TRELOAR_1944,
        np.trapezoid(points[:, 1], points[:, 0]),
        209.96,
        rel=1e-3,
    )
    fit = rubber.fit_pull(treloar_points(), RUBBER_M)
    fitted = LINE._replace(stiffness_npm=fit.stiffness_npm, hardening=fit.hardening, natural_m=RUBBER_M)
    agrees(
        "energy of the fitted line [J]", TRELOAR_1944, rubber.stored_energy(fitted, 10.1), 209.96, rel=0.02
    )
    agrees("end pull of the fitted line [N]", TRELOAR_1944, rubber.pull(fitted, 10.1), 34.52, rel=0.05)
    assert fit.hardening < 0.0  # this far, rubber gets softer


@pytest.mark.parametrize("hardening", [-0.1, 0.0, 0.6])
def test_energy_is_the_integral_of_the_pull(hardening: float) -> None:
    line = LINE._replace(hardening=hardening)
    stretch = np.linspace(0.0, 12.0, 2001)
    pulls = [rubber.pull(line, float(value)) for value in stretch]
    assert rubber.stored_energy(line, 12.0) == pytest.approx(np.trapezoid(pulls, stretch), rel=1e-6)


@pytest.mark.parametrize(("line_mass_kg", "speed_mps"), [(0.0, 29.2119), (0.3, 28.2843)])
def test_linear_line_without_loss(agrees: Agrees, line_mass_kg: float, speed_mps: float) -> None:
    """20 N/m stretched by 8 m, 1.5 kg: 640 J, 160 N, v = x sqrt(k/(m + m_line/3)), 10.877 g."""
    line = LINE._replace(stiffness_npm=20.0, returned_share=1.0, friction=0.0, line_mass_kg=line_mass_kg)
    agrees("energy of 20 N/m stretched by 8 m [J]", SPRING, rubber.stored_energy(line, 8.0), 640.0)
    agrees("its pull [N]", SPRING, rubber.pull(line, 8.0), 160.0)
    agrees(
        f"speed with a line of {line_mass_kg:g} kg [m/s]",
        SPRING,
        rubber.line_speed(line, 1.5, 0.0, 0.0),
        speed_mps,
        rel=1e-5,
    )
    if line_mass_kg == 0.0:
        assert rubber.pull(line, 8.0) / 1.5 / 9.80665 == pytest.approx(10.877, rel=1e-4)


def mapper_launch(line: Line) -> tuple[float, float, float, float]:
    """Return (end speed, time of 8 m/s, time above 12 m/s2, drag work) of the example mapper.

    2.8 kg along a straight path at the ramp's angle; drag of its polar (CD0 0.034, k 0.0617,
    0.56 m2) at a lift coefficient that carries it, 0.6 at most.
    """
    mass, area, step = 2.8, 0.56, 1e-3
    x = speed = time = above = work = 0.0
    at_eight = math.inf
    while x < line.stretch_m:
        dynamic = 0.5 * 1.225 * speed * speed * area
        lift = min(0.6, mass * 9.80665 / max(dynamic, 1e-6))
        drag = dynamic * (0.034 + 0.0617 * lift * lift)
        pull = rubber.returned_pull(line, line.stretch_m - x)
        felt = (pull - rubber.ramp_friction(line, mass, x) - drag) / rubber.effective_mass(line, mass)
        speed += (felt - 9.80665 * math.sin(line.ramp_rad)) * step
        x += speed * step
        time += step
        above += step if felt > 12.0 else 0.0
        work += drag * speed * step
        at_eight = min(at_eight, time) if speed >= 8.0 else at_eight
    return speed, at_eight, above, work


# Scratch model of the example: stretch m, stiffness N/m, speed at the end of the line m/s.
@pytest.mark.parametrize(
    ("stretch_m", "stiffness_npm", "speed_mps"),
    [(8.0, 9.5, 11.3), (6.0, 9.5, 8.1), (5.0, 9.5, 6.4), (8.0, 0.85 * 9.5, 10.2)],
    ids=["8 m", "6 m", "5 m", "cold"],
)
def test_example_speed(stretch_m: float, stiffness_npm: float, speed_mps: float) -> None:
    line = LINE._replace(stretch_m=stretch_m, stiffness_npm=stiffness_npm)
    end, _, _, work = mapper_launch(line)
    assert end == pytest.approx(speed_mps, rel=0.045)
    rise = stretch_m * math.sin(line.ramp_rad)
    assert rubber.line_speed(line, 2.8, rise, work) == pytest.approx(end, rel=2e-3)


def test_example_pull_and_timing() -> None:
    """76 N peak, 304 J; quarter period 0.85 s; first reading about 2 g; above 12 m/s2 for 0.66 s;
    8 m/s after 0.51 s, half way (scratch model)."""
    assert rubber.pull(LINE, 8.0) == pytest.approx(76.0)
    assert rubber.stored_energy(LINE, 8.0) == pytest.approx(304.0)
    quarter = 0.5 * math.pi * math.sqrt(rubber.effective_mass(LINE, 2.8) / 9.5)
    assert quarter == pytest.approx(0.85, abs=0.005)
    first = (rubber.returned_pull(LINE, 8.0) - rubber.ramp_friction(LINE, 2.8, 0.0)) / 2.8
    assert first == pytest.approx(20.0, abs=0.5)
    _, at_eight, above, _ = mapper_launch(LINE)
    assert above == pytest.approx(0.66, abs=0.03)
    assert at_eight == pytest.approx(0.51, abs=0.02)


def test_the_ring_comes_off() -> None:
    assert not rubber.has_dropped(LINE, 3.0, 0.2)
    assert rubber.has_dropped(LINE, 0.0, 0.2)
    assert rubber.has_dropped(LINE, -1.0, 0.2)
    assert rubber.has_dropped(LINE, 3.0, math.radians(71.0))
    assert rubber.has_dropped(LINE, 3.0, math.radians(-71.0))
    assert not rubber.has_dropped(LINE._replace(stuck=1.0), -1.0, 2.0)


def test_slack_line_does_not_push() -> None:
    assert rubber.pull(LINE, -0.5) == 0.0
    assert rubber.stored_energy(LINE, -0.5) == 0.0


def test_ramp_friction_ends_with_the_ramp() -> None:
    assert rubber.ramp_friction(LINE, 2.8, 1.4) == pytest.approx(
        0.15 * 2.8 * 9.80665 * math.cos(math.radians(14.0))
    )
    assert rubber.ramp_friction(LINE, 2.8, 1.5) == 0.0


def test_too_short_a_stretch_gives_no_speed() -> None:
    assert rubber.line_speed(LINE._replace(stretch_m=1.0), 2.8, 0.5, 0.0) == 0.0


def test_fit_gives_back_what_made_the_points() -> None:
    line = LINE._replace(hardening=0.4)
    points = [(stretch, rubber.pull(line, stretch)) for stretch in (2.0, 4.0, 6.0, 8.0)]
    fit = rubber.fit_pull(points, line.natural_m)
    assert (fit.stiffness_npm, fit.hardening) == pytest.approx((9.5, 0.4))
    assert fit.misfit_n == pytest.approx(0.0, abs=1e-9)
    assert rubber.fit_pull([(8.0, 76.0)], 15.0)[:2] == pytest.approx((9.5, 0.0))


@pytest.mark.parametrize(
    ("points", "natural_m", "words"),
    [
        ([], 15.0, "at least one pair"),
        ([(2.0, 19.0), (0.0, 5.0)], 15.0, "point 2"),
        ([(2.0, math.nan)], 15.0, "point 1"),
        ([(2.0, 60.0), (8.0, 10.0)], 15.0, "does not rise"),
        ([(2.0, 19.0)], 0.0, "natural length"),
    ],
)
def test_bad_points_are_refused(points: list[tuple[float, float]], natural_m: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        rubber.fit_pull(points, natural_m)

"""The propeller model against wind-tunnel rows and the momentum theory of the disc.

Rows: UIUC Propeller Database, vol. 1 (Brandt and Selig, *Propeller Performance Data at Low Reynolds
Numbers*, AIAA 2011-1255) and vol. 2 (Deters, Ananda and Selig, AIAA 2014-2151), with the labels of
the dataset. CT = T/(rho n^2 D^4), CP = P/(rho n^3 D^5), J = V/(n D).
The section model was fitted to the rows of the first two propellers, so these are a check of the
fit, not of its reach; the third propeller has another, narrower blade and shows the reach.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.describe.derived.blade import (
    Blade,
    Section,
    Speed,
    blade_table,
    coefficients,
    generic_blade,
)
from overarm.physics.propeller import Propeller, advance_share, shaft_torque, thrust
from tests.agreement import Agrees

UIUC = "UIUC Propeller Database"
DISC = "momentum theory, worked by hand"

INCH_M = 0.0254
DIAMETER_M = 9.0 * INCH_M
DENSITY_KGPM3 = 1.225

# (J, CT, CP, rpm)
THIN_ELECTRIC_STATIC = [
    (0.0, 0.1096, 0.0541, 2333.0),
    (0.0, 0.1151, 0.0514, 5251.0),
    (0.0, 0.1169, 0.0516, 6717.0),
]
THIN_ELECTRIC_RUNNING = [
    (0.451, 0.0677, 0.0472, 6015.0), (0.503, 0.0551, 0.0416, 6015.0), (0.560, 0.0439, 0.0360, 6015.0),
    (0.670, 0.0241, 0.0255, 6015.0), (0.774, 0.0051, 0.0138, 6015.0),
]  # fmt: skip
DA4002_STATIC = [
    (0.0, 0.125931, 0.088432, 1547.0), (0.0, 0.132682, 0.086557, 2947.0), (0.0, 0.135364, 0.078000, 4443.0),
    (0.0, 0.140450, 0.080081, 5943.0),
]  # fmt: skip
DA4002_RUNNING = [
    (0.5306, 0.077156, 0.062018, 5064.0), (0.6263, 0.058029, 0.052999, 5064.0),
    (0.7215, 0.038378, 0.041691, 5064.0), (0.8478, 0.010939, 0.021637, 5064.0),
]  # fmt: skip
NR640_STATIC = [(0.0, 0.085427, 0.035944, 4967.0), (0.0, 0.089077, 0.037350, 6457.0)]

THIN_ELECTRIC = generic_blade(DIAMETER_M, 6.0 * INCH_M)
# c/R and angle at r/R 0.3, 0.5, 0.75, 0.9 as measured; root and tip are continued by us.
DA4002 = Blade(
    np.array([0.12, 0.3, 0.5, 0.75, 0.9, 0.97, 1.0]),
    np.array([0.14, 0.1689, 0.1782, 0.1785, 0.1792, 0.17, 0.10]),
    np.radians([50.0, 37.48, 25.83, 18.79, 16.66, 15.9, 15.6]),
    2,
    Section(),
)


def rim_speed(rpm: float) -> float:
    return 0.7 * math.pi * rpm / 60.0 * DIAMETER_M


def model(blade: Blade, row: tuple[float, float, float, float]) -> tuple[float, float]:
    push, power = coefficients(blade, Speed(DIAMETER_M, rim_speed(row[3])), np.array([row[0]]))
    return float(push[0]), float(power[0])


@pytest.mark.parametrize(
    ("blade", "row"),
    [*((THIN_ELECTRIC, row) for row in THIN_ELECTRIC_STATIC), *((DA4002, row) for row in DA4002_STATIC)],
)
def test_static(agrees: Agrees, blade: Blade, row: tuple[float, float, float, float]) -> None:
    """Bar: 15 % of CT and 20 % of CP. Seen: 7 % and 4 %."""
    push, power = model(blade, row)
    agrees(f"CT at rest, {row[3]:g} rpm (fitted)", UIUC, push, row[1], rel=0.08)
    agrees(f"CP at rest, {row[3]:g} rpm (fitted)", UIUC, power, row[2], rel=0.08)


@pytest.mark.parametrize(
    ("blade", "row"),
    [*((THIN_ELECTRIC, row) for row in THIN_ELECTRIC_RUNNING), *((DA4002, row) for row in DA4002_RUNNING)],
)
def test_running(agrees: Agrees, blade: Blade, row: tuple[float, float, float, float]) -> None:
    """Within 0.006 of CT and 0.005 of CP at any J: 5 % of the static values."""
    push, power = model(blade, row)
    agrees(f"CT at J {row[0]:g}, {row[3]:g} rpm (fitted)", UIUC, push, row[1], abs=0.006)
    agrees(f"CP at J {row[0]:g}, {row[3]:g} rpm (fitted)", UIUC, power, row[2], abs=0.005)


@pytest.mark.parametrize("row", NR640_STATIC)
def test_another_kind_of_blade(agrees: Agrees, row: tuple[float, float, float, float]) -> None:
    """A narrower blade that was not fitted: the generic shape is a quarter off. Hence the 20 % spread
    of static thrust where nothing was measured."""
    push, power = model(generic_blade(DIAMETER_M, 5.68 * INCH_M), row)
    agrees(f"CT of a blade that was not fitted, {row[3]:g} rpm", UIUC, push, row[1], rel=0.30)
    agrees(f"CP of a blade that was not fitted, {row[3]:g} rpm", UIUC, power, row[2], rel=0.35)


def test_zero_thrust_of_measured_blade() -> None:
    """da4002 9x6.75: no thrust between J 0.848 and 0.915, though pitch over diameter is 0.75."""
    ratios = np.linspace(0.7, 1.0, 301)
    push, _ = coefficients(DA4002, Speed(DIAMETER_M, rim_speed(5064.0)), ratios)
    assert 0.848 < ratios[int(np.argmax(push < 0.0))] < 0.915


@pytest.mark.parametrize("share", [0.4, 0.5, 0.6, 0.7])
def test_domain_rule_of_static_thrust(share: float) -> None:
    """CT = 0.055 + 0.075 p/d and CP = 0.008 + 0.052 p/d, within 15 % and 25 %: common practice for
    small two-blade moulded propellers, no source. Beyond p/d 0.7 the blade stalls and power runs away."""
    push, power = coefficients(generic_blade(0.2, 0.2 * share), Speed(0.2, 60.0), np.array([0.0]))
    assert push[0] == pytest.approx(0.055 + 0.075 * share, rel=0.15)
    assert power[0] == pytest.approx(0.008 + 0.052 * share, rel=0.25)


# ---- momentum theory


def ideal_static_power(thrust_n: float, disc_m2: float) -> float:
    """Return the least power [W] of a static thrust: T sqrt(T/(2 rho A))."""
    return thrust_n * math.sqrt(thrust_n / (2.0 * DENSITY_KGPM3 * disc_m2))


def ideal_power(thrust_n: float, airspeed_mps: float, disc_m2: float) -> float:
    half = 0.5 * airspeed_mps
    induced_mps = -half + math.sqrt(half * half + thrust_n / (2.0 * DENSITY_KGPM3 * disc_m2))
    return thrust_n * (airspeed_mps + induced_mps)


def test_disc_formulas(agrees: Agrees) -> None:
    """Momentum theory, worked by hand: 6 N on 0.2286 m takes 46.3471 W; 100 W hold 10.0185 N there;
    5 N at 10 m/s on 0.2032 m have an ideal efficiency of 0.69555."""
    disc_m2 = 0.25 * math.pi * 0.2286**2
    agrees("least power for 6 N at rest [W]", DISC, ideal_static_power(6.0, disc_m2), 46.3471, rel=1e-5)
    agrees(
        "least power for 10.0185 N at rest [W]", DISC, ideal_static_power(10.0185, disc_m2), 100.0, rel=1e-4
    )
    small_m2 = 0.25 * math.pi * 0.2032**2
    agrees(
        "ideal efficiency of 5 N at 10 m/s", DISC, 50.0 / ideal_power(5.0, 10.0, small_m2), 0.69555, rel=1e-5
    )


@settings(max_examples=60, deadline=None)
@given(
    diameter_m=st.floats(0.10, 0.45),
    share=st.floats(0.3, 1.1),
    ratio=st.one_of(st.just(0.0), st.floats(1e-6, 1.2)),
    rev_per_s=st.floats(20.0, 350.0),
    blades=st.integers(2, 4),
)
def test_never_better_than_the_disc(
    diameter_m: float, share: float, ratio: float, rev_per_s: float, blades: int
) -> None:
    """No propeller beats the actuator disc, whatever its size, pitch, blades, speed and advance."""
    blade = generic_blade(diameter_m, share * diameter_m, blades)
    speed = Speed(diameter_m, 0.7 * math.pi * rev_per_s * diameter_m)
    push, power = coefficients(blade, speed, np.array([ratio]))
    assert np.isfinite(push[0])
    assert np.isfinite(power[0])
    if push[0] <= 0.0:
        return
    thrust_n = push[0] * DENSITY_KGPM3 * rev_per_s**2 * diameter_m**4
    power_w = power[0] * DENSITY_KGPM3 * rev_per_s**3 * diameter_m**5
    least_w = ideal_power(thrust_n, ratio * rev_per_s * diameter_m, 0.25 * math.pi * diameter_m**2)
    assert power_w > least_w


# ---- the compiled functions on a table

PROPELLER = Propeller(DIAMETER_M, 7e-5, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0)
TABLE = blade_table(THIN_ELECTRIC, Speed(DIAMETER_M, rim_speed(6015.0)))


@pytest.mark.parametrize("ratio", [0.0, 0.2, 0.451, 0.6, 0.774, 1.0])
def test_table_keeps_the_model(ratio: float) -> None:
    """Thrust and power through the 65-knot table against the blade model itself: within 2 % of static."""
    rev_per_s = 6015.0 / 60.0
    airspeed_mps = ratio * rev_per_s * DIAMETER_M
    push, power = coefficients(THIN_ELECTRIC, Speed(DIAMETER_M, rim_speed(6015.0)), np.array([ratio]))
    scale = DENSITY_KGPM3 * rev_per_s**2 * DIAMETER_M**4
    thrust_n = thrust(PROPELLER, DENSITY_KGPM3, airspeed_mps, rev_per_s, TABLE)
    torque_nm = shaft_torque(PROPELLER, DENSITY_KGPM3, airspeed_mps, rev_per_s, TABLE)
    assert thrust_n / scale == pytest.approx(push[0], abs=0.002)
    assert torque_nm / (scale * DIAMETER_M) * 2.0 * math.pi == pytest.approx(power[0], abs=0.001)


def test_published_thrust_through_the_table() -> None:
    """apce 9x6 at 6717 rpm standing: 4.9012 N and 0.078711 N m (from CT 0.1169, CP 0.0516)."""
    table = np.zeros((2, 65))
    table[0, :] = 8.0 * 0.1169 / (math.pi * (0.7 * math.pi) ** 2)
    table[1, :] = 8.0 * 0.0516 / (2.0 * math.pi) / (math.pi * (0.7 * math.pi) ** 2)
    assert thrust(PROPELLER, 1.225, 0.0, 6717.0 / 60.0, table) == pytest.approx(4.9012, rel=1e-3)
    assert shaft_torque(PROPELLER, 1.225, 0.0, 6717.0 / 60.0, table) == pytest.approx(0.078711, rel=1e-3)


def test_standing_propeller() -> None:
    """Stopped in still air: nothing. Stopped in 10 m/s: 0.1 to 0.5 N of drag, and the air turns it.
    (Common practice: a propeller that is not driven yet drags with 0.1 to 0.3 N.)"""
    assert thrust(PROPELLER, DENSITY_KGPM3, 0.0, 0.0, TABLE) == 0.0
    assert shaft_torque(PROPELLER, DENSITY_KGPM3, 0.0, 0.0, TABLE) == 0.0
    assert -0.5 < thrust(PROPELLER, DENSITY_KGPM3, 10.0, 0.0, TABLE) < -0.1
    assert shaft_torque(PROPELLER, DENSITY_KGPM3, 10.0, 0.0, TABLE) < 0.0


@settings(max_examples=80, deadline=None)
@given(airspeed_mps=st.floats(-30.0, 60.0), rev_per_s=st.floats(-5.0, 400.0))
def test_always_finite(airspeed_mps: float, rev_per_s: float) -> None:
    assert 0.0 <= advance_share(PROPELLER, airspeed_mps, rev_per_s) <= 1.0
    assert math.isfinite(thrust(PROPELLER, DENSITY_KGPM3, airspeed_mps, rev_per_s, TABLE))
    assert math.isfinite(shaft_torque(PROPELLER, DENSITY_KGPM3, airspeed_mps, rev_per_s, TABLE))


@settings(max_examples=40, deadline=None)
@given(airspeed_mps=st.floats(0.0, 20.0), rev_per_s=st.floats(30.0, 200.0), faster=st.floats(1.01, 1.5))
def test_faster_turning_pulls_more(airspeed_mps: float, rev_per_s: float, faster: float) -> None:
    slow = thrust(PROPELLER, DENSITY_KGPM3, airspeed_mps, rev_per_s, TABLE)
    fast = thrust(PROPELLER, DENSITY_KGPM3, airspeed_mps, faster * rev_per_s, TABLE)
    if slow > 0.0:
        assert fast > slow

"""The vortex lattice, through the mesh that is used for the models, against published planforms."""

from __future__ import annotations

import math

import pytest

from overarm.describe.derived import lattice as vortex
from overarm.describe.derived.lattice import Flaps, Planform
from tests.agreement import Agrees

FINE = "AeroSandbox 4.2 on a fine lattice"

pytestmark = pytest.mark.plain_floats("AeroSandbox underflows in its vortex cores")

SMALL_RAD = 0.02


def sheet(span_m: float, root_m: float, tip_m: float, sweep_rad: float) -> Planform:
    """Return a plain flat wing with its balance point at the apex."""
    return Planform(
        span_m,
        root_m,
        tip_m,
        sweep_rad,
        0.0,
        0.0,
        0.0,
        0.0,
        0.25,
        0.0,
        1.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        SMALL_RAD,
    )


def slope_and_moment(planform: Planform) -> tuple[float, float]:
    """Return (CL, Cm about the apex) per radian."""
    run = vortex.lattice(planform, Flaps(), SMALL_RAD).run()
    return float(run["CL"]) / SMALL_RAD, float(run["Cm"]) / SMALL_RAD


def test_bertin_and_smith(agrees: Agrees) -> None:
    """Aspect ratio 5, swept 45 degrees, 4 panels a side, 1 along the chord: CL = 1.096 pi alpha.
    Source: Bertin and Smith, *Aerodynamics for Engineers*, vortex-lattice example. Here the library
    itself on the book's lattice."""
    import aerosandbox as asb
    import numpy as np

    flat = asb.Airfoil("naca0012")
    wing = asb.Wing(
        symmetric=True,
        xsecs=[asb.WingXSec([0, 0, 0], 0.2, airfoil=flat), asb.WingXSec([0.5, 0.5, 0], 0.2, airfoil=flat)],
    )
    airplane = asb.Airplane(wings=[wing], s_ref=0.2, c_ref=0.2, b_ref=1.0)
    run = asb.VortexLatticeMethod(
        airplane,
        asb.OperatingPoint(velocity=10.0, alpha=1.0),
        spanwise_resolution=4,
        spanwise_spacing_function=np.linspace,
        chordwise_resolution=1,
        chordwise_spacing_function=np.linspace,
    ).run()
    agrees(
        "lift slope of a swept wing [1/rad]",
        "Bertin and Smith, Aerodynamics for Engineers",
        float(run["CL"]) / math.radians(1.0),
        1.096 * math.pi,
        rel=5e-3,
    )


def test_warren_twelve(agrees: Agrees) -> None:
    """Warren-12 wing: CL 2.743 and Cm about the apex -3.10 per rad on a chord of 1.
    Source: the usual planform for checking vortex lattices."""
    planform = sheet(2.0 * math.sqrt(2.0), 1.5, 0.5, math.radians(53.54))
    slope, moment = slope_and_moment(planform)
    agrees("lift slope [1/rad]", "Warren-12 planform", slope, 2.743, rel=0.02)
    agrees(
        "moment slope about the apex [1/rad]",
        "Warren-12 planform",
        moment * vortex.mean_chord(planform),
        -3.10,
        rel=0.02,
    )


@pytest.mark.parametrize(("aspect", "slope", "neutral"), [(6.0, 4.2587, 0.2394), (8.0, 4.6317, 0.2424)])
def test_rectangle(agrees: Agrees, aspect: float, slope: float, neutral: float) -> None:
    """Rectangular wings on a fine lattice of AeroSandbox 4.2 (30 x 6): 2 % and 0.01 chord."""
    found, moment = slope_and_moment(sheet(aspect, 1.0, 1.0, 0.0))
    agrees(f"lift slope of a rectangle of aspect ratio {aspect:g} [1/rad]", FINE, found, slope, rel=0.02)
    agrees("its neutral point [chords]", FINE, -moment / found, neutral, abs=0.01)
    helmbold = 2.0 * math.pi * aspect / (2.0 + math.sqrt(4.0 + aspect**2))
    assert 0.92 * helmbold < found < helmbold  # lifting-line forms are too high for rectangles


def test_swept_neutral_point(agrees: Agrees) -> None:
    """Aspect ratio 6, taper 0.6, leading edge swept 25 degrees, span 1: 4.1974 per rad, neutral point
    at 0.14674 (AeroSandbox 4.2, 24 x 8)."""
    root = 2.0 / (6.0 * 1.6)
    planform = sheet(1.0, root, 0.6 * root, math.radians(25.0))
    slope, moment = slope_and_moment(planform)
    chord = vortex.mean_chord(planform)
    agrees("lift slope of a swept wing of aspect ratio 6 [1/rad]", FINE, slope, 4.1974, rel=0.02)
    agrees("its neutral point [m]", FINE, -moment / slope * chord, 0.14674, abs=0.01 * chord)


def test_flap_on_a_long_wing(agrees: Agrees) -> None:
    """A flap of 25 % on a nearly endless wing: effectiveness 0.609 and dCm/dflap -0.6495 about the
    quarter chord by thin-aerofoil theory (Glauert). Four panels ahead and three behind give 95 %."""
    long = sheet(60.0, 1.0, 1.0, 0.0)._replace(balance_m=0.25)
    slope, _ = slope_and_moment(long)
    run = vortex.lattice(long, Flaps(SMALL_RAD, SMALL_RAD), 0.0).run()
    agrees(
        "effect of a flap of 25 %",
        "Glauert, thin-aerofoil theory",
        float(run["CL"]) / SMALL_RAD / slope,
        0.60900,
        rel=0.07,
    )
    agrees(
        "its moment about the quarter chord [1/rad]",
        "Glauert, thin-aerofoil theory",
        float(run["Cm"]) / SMALL_RAD,
        -0.64952,
        rel=0.05,
    )


WING = Planform(
    1.35, 0.400, 0.222, math.radians(26.0), 0.0, math.radians(-2.0), math.radians(1.7), 0.203,
    0.25, 0.35, 0.95, 0.0, 0.0, 0.0, 0.025, 0.14, 0.10,
)  # fmt: skip


@pytest.fixture(scope="module")
def wing_figures() -> vortex.LatticeFigures:
    return vortex.LatticeFigures(**vortex._compute(WING))


def test_example_wing_neutral_point(wing_figures: vortex.LatticeFigures) -> None:
    """The 1.35 m example wing: its neutral point is given at 229 mm; the lattice within 5 mm."""
    assert wing_figures.neutral_point_m == pytest.approx(0.229, abs=0.005)


def test_signs_of_the_example_wing(wing_figures: vortex.LatticeFigures) -> None:
    """Signs that any stable tailless aeroplane has, and sizes beside the 1.56 kg flying wing of Beard
    and McLain (2012), table E.1: CLa 3.50, CLq 2.89, Clp -0.32, Cl_da 0.168, Cm_de -0.32."""
    found = wing_figures
    assert 3.2 < found.lift_alpha < 4.4
    assert 2.5 < found.lift_pitch_rate < 6.0
    assert found.moment_pitch_rate < -0.4
    assert -0.8 < found.moment_elevator < -0.25
    assert found.lift_elevator > 0.0
    assert -0.6 < found.roll_roll_rate < -0.25
    assert 0.1 < found.roll_aileron < 0.45
    assert found.roll_yaw_rate > 0.0  # the outer wing of a turn lifts more
    assert found.roll_beta < 0.0  # sweep lifts the wing that the wind comes from
    assert found.yaw_beta > 0.0  # the default fins keep the nose in the wind
    assert found.yaw_yaw_rate < 0.0
    assert found.side_beta < 0.0


def test_pitch_rate_turns_about_the_balance_point() -> None:
    """Lift by pitching is the slope times twice the way from balance point to three-quarter chord
    (thin wing, quasi-steady). A wing balanced at its three-quarter chord gains none."""
    at_three_quarters = sheet(20.0, 1.0, 1.0, 0.0)._replace(balance_m=0.75)
    found = vortex._compute(at_three_quarters)
    assert found["lift_pitch_rate"] == pytest.approx(0.0, abs=0.15)
    forward = vortex._compute(at_three_quarters._replace(balance_m=0.25))
    assert forward["lift_pitch_rate"] == pytest.approx(forward["lift_alpha"], rel=0.05)

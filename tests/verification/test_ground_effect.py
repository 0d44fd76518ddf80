"""The induced-drag factor in ground effect."""

from __future__ import annotations

import pytest

from overarm.physics.ground import induced_factor
from tests.agreement import Agrees


# McCormick, Aerodynamics, Aeronautics and Flight Mechanics, 2nd ed. (1995), section 7 (from memory):
# (16 h/b)^2/(1 + (16 h/b)^2), worked by hand at round numbers of 16 h/b.
@pytest.mark.parametrize(
    ("height_over_span", "factor"), [(1.0 / 16.0, 0.5), (0.125, 0.8), (0.1875, 0.9), (0.0, 0.0)]
)
def test_worked_points(agrees: Agrees, height_over_span: float, factor: float) -> None:
    agrees(
        f"induced drag at {height_over_span:g} of the span",
        "McCormick (1995), from memory",
        induced_factor(1.35 * height_over_span, 1.35),
        factor,
    )


def test_gone_at_throwing_height() -> None:
    assert induced_factor(1.9, 1.35) > 0.997


def test_below_ground_is_ground() -> None:
    assert induced_factor(-0.2, 1.0) == 0.0


# Wieselsberger, "Wing resistance near the ground", NACA TM 77 (1922): 1 - (1 - 1.32 x)/(1.05 + 7.4 x),
# valid for x = h/b from 1/15 to 1/4 (from memory).
@pytest.mark.parametrize("ratio", [1.0 / 15.0, 0.1, 0.15, 0.2, 0.25])
def test_claims_no_more_help_than_wieselsberger(ratio: float) -> None:
    """Our form saves less drag: at a tenth of the span 28 % of the induced drag against 48 %. The
    error is on the careful side, and a model that low has failed already."""
    other = 1.0 - (1.0 - 1.32 * ratio) / (1.05 + 7.4 * ratio)
    assert other < induced_factor(ratio, 1.0) < other + 0.25

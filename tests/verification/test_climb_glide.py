"""Steady glide, least power, climb and stall beside numbers that were computed outside this project.

Aeroplane: 1.2 kg, 0.30 m2, CD = 0.025 + 0.07 CL^2, 1.225 kg/m3. Source: worked from the formulas of
Anderson, *Introduction to Flight*, chapter 6, with g = 9.80665, to five digits.
"""

from __future__ import annotations

import math

import pytest

from overarm.physics.climb import (
    Polar,
    climb_sine,
    flattest_lift,
    glide_reach,
    least_power_lift,
    level_drag,
    level_lift,
    speed_at_lift,
    steady_glide,
)
from overarm.physics.turn import stall_ratio
from tests.agreement import Agrees

ANDERSON = "Anderson, Introduction to Flight, chapter 6"

POLAR = Polar(1.2, 0.30, 0.025, 0.07, 1.225)


def test_steady_glide(agrees: Agrees) -> None:
    glide = steady_glide(POLAR, 0.6)
    agrees("drag coefficient at CL 0.6", ANDERSON, 0.6 / glide.ratio, 0.0502, rel=1e-4)
    agrees("glide ratio at CL 0.6", ANDERSON, glide.ratio, 11.9522, rel=1e-4)
    agrees("path of the glide at CL 0.6 [deg]", ANDERSON, math.degrees(glide.path_rad), -4.78261, rel=1e-4)
    agrees("speed of the glide at CL 0.6 [m/s]", ANDERSON, glide.airspeed_mps, 10.31346, rel=1e-4)
    agrees("sink at CL 0.6 [m/s]", ANDERSON, glide.sink_mps, 0.85989, rel=1e-4)


def test_flattest_glide(agrees: Agrees) -> None:
    lift = flattest_lift(POLAR)
    agrees("lift coefficient of the flattest glide", ANDERSON, lift, 0.59761, rel=1e-4)
    agrees("flattest glide ratio", ANDERSON, steady_glide(POLAR, lift).ratio, 11.95229, rel=1e-4)
    agrees("speed of the flattest glide [m/s]", ANDERSON, speed_at_lift(POLAR, lift), 10.35206, rel=1e-4)
    assert level_lift(POLAR, speed_at_lift(POLAR, lift)) == pytest.approx(lift, rel=1e-12)


def test_least_power(agrees: Agrees) -> None:
    lift = least_power_lift(POLAR)
    airspeed_mps = speed_at_lift(POLAR, lift)
    agrees("lift coefficient of least power", ANDERSON, lift, 1.03510, rel=1e-4)
    agrees("speed of least power [m/s]", ANDERSON, airspeed_mps, 7.86586, rel=1e-4)
    agrees(
        "least power of level flight [W]",
        ANDERSON,
        level_drag(POLAR, airspeed_mps) * airspeed_mps,
        8.94266,
        rel=1e-4,
    )


def test_climb(agrees: Agrees) -> None:
    drag_n = level_drag(POLAR, 12.0)
    sine = climb_sine(5.0, drag_n, POLAR.mass_kg)
    agrees("drag at 12 m/s [N]", ANDERSON, drag_n, 1.02786, rel=1e-4)
    agrees("sine of the climb with 5 N at 12 m/s", ANDERSON, sine, 0.337538, rel=1e-4)
    agrees("angle of the climb [deg]", ANDERSON, math.degrees(math.asin(sine)), 19.7269, rel=1e-4)
    agrees("rate of climb [m/s]", ANDERSON, 12.0 * sine, 4.05045, rel=1e-4)


def test_stall(agrees: Agrees) -> None:
    agrees("stall speed at CL 1.1 [m/s]", ANDERSON, speed_at_lift(POLAR, 1.1), 7.63029, rel=1e-4)
    assert stall_ratio(math.radians(30.0)) == pytest.approx(1.07457, rel=1e-4)


def test_more_lift_has_only_more_induced_drag() -> None:
    once, twice = level_drag(POLAR, 10.0), level_drag(POLAR, 10.0, load=2.0)
    lift, pressure_area = level_lift(POLAR, 10.0), 0.5 * 1.225 * 100.0 * 0.30
    assert twice - once == pytest.approx(3.0 * pressure_area * 0.07 * lift**2, rel=1e-12)


def test_reach_of_a_glide() -> None:
    glide = steady_glide(POLAR, 0.6)
    assert glide_reach(40.0, glide, 0.0) == pytest.approx(40.0 * glide.ratio, rel=1e-9)
    half = glide.airspeed_mps * math.cos(glide.path_rad) / 2.0
    assert glide_reach(40.0, glide, half) == pytest.approx(20.0 * glide.ratio, rel=1e-9)
    assert glide_reach(40.0, glide, 30.0) == 0.0

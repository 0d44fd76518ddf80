"""Turns beside numbers that were computed outside this project.

Sources: level turn, Anderson, *Introduction to Flight*, chapter 6 (14 m/s at 30 deg: worked by hand from
the formula with g = 9.80665); circle over the ground of a larger foam wing, common practice, no source.
"""

from __future__ import annotations

import math

import pytest

from overarm.physics.turn import (
    extra_induced_share,
    ground_circle_bank,
    ground_circle_radius,
    load_factor,
    stall_ratio,
    turn_radius,
    turn_rate,
)
from overarm.plan.circle import wanted_radius
from tests.agreement import Agrees

ANDERSON = "Anderson, Introduction to Flight, chapter 6"

BANK_30 = math.radians(30.0)
BANK_35 = math.radians(35.0)


def test_radius_and_rate(agrees: Agrees) -> None:
    agrees("radius at 14 m/s and 30 deg [m]", ANDERSON, turn_radius(14.0, BANK_30), 34.6175, rel=1e-4)
    agrees(
        "rate of turn at 14 m/s and 30 deg [deg/s]",
        ANDERSON,
        math.degrees(turn_rate(14.0, BANK_30)),
        23.1715,
        rel=1e-4,
    )
    agrees(
        "rate times radius is the speed [m/s]",
        ANDERSON,
        turn_rate(14.0, BANK_30) * turn_radius(14.0, BANK_30),
        14.0,
        rel=1e-12,
    )


def test_load_and_stall_in_a_bank(agrees: Agrees) -> None:
    agrees(
        "stall speed at 30 deg over that in level flight", ANDERSON, stall_ratio(BANK_30), 1.07457, rel=1e-4
    )
    agrees("load factor at 60 deg", ANDERSON, load_factor(math.radians(60.0)), 2.0, rel=1e-12)
    agrees("extra induced drag at 45 deg", ANDERSON, extra_induced_share(math.radians(45.0)), 1.0, rel=1e-12)
    agrees(
        "extra induced drag at 35 deg",
        ANDERSON,
        extra_induced_share(BANK_35),
        1.0 / math.cos(BANK_35) ** 2 - 1.0,
        rel=1e-12,
    )


def test_circle_over_the_ground(agrees: Agrees) -> None:
    """10.2 m/s at 35 deg: 15 m in still air, 33 m in 5 m/s (whole metres)."""
    agrees(
        "circle of 10.2 m/s at 35 deg in still air [m]",
        "common practice, no source (whole metres)",
        ground_circle_radius(10.2, 0.0, BANK_35),
        15.0,
        abs=0.5,
    )
    agrees(
        "circle of 10.2 m/s at 35 deg in 5 m/s [m]",
        "common practice, no source (whole metres)",
        ground_circle_radius(10.2, 5.0, BANK_35),
        33.0,
        abs=1.0,
    )
    assert ground_circle_radius(10.2, 0.0, BANK_35) == pytest.approx(turn_radius(10.2, BANK_35))


@pytest.mark.parametrize("wind_mps", [0.0, 3.0, 8.0])
def test_bank_is_the_inverse_of_radius(wind_mps: float) -> None:
    radius_m = ground_circle_radius(11.0, wind_mps, BANK_30)
    assert ground_circle_bank(11.0, wind_mps, radius_m) == pytest.approx(BANK_30, rel=1e-12)


def test_no_point_of_the_circle_asks_for_more_bank_than_the_one_downwind() -> None:
    """Walk once round: air velocity = ground velocity - wind; the lift gives v^2/R across the course."""
    airspeed_mps, wind_mps, radius_m = 10.0, 5.0, 45.0
    asked = []
    for k in range(720):
        angle = math.radians(0.5 * k)  # of the course over ground to the wind
        along = wind_mps * math.cos(angle)
        ground = along + math.sqrt(airspeed_mps**2 - (wind_mps * math.sin(angle)) ** 2)
        into_circle = ground * ground / radius_m
        # What the speed over ground changes by along the course is left to thrust; across it is lift.
        asked.append(math.atan(into_circle / 9.80665))
    assert max(asked) == pytest.approx(ground_circle_bank(airspeed_mps, wind_mps, radius_m), rel=1e-9)
    assert asked[0] == max(asked)


def test_wanted_radius_has_its_margin_and_its_floor() -> None:
    """At least 1.3 times the circle that 35 deg hold, and 40 m: common practice, no source."""
    assert wanted_radius(10.2, 0.0) == 40.0
    assert wanted_radius(10.2, 5.0) == pytest.approx(1.3 * ground_circle_radius(10.2, 5.0, BANK_35))

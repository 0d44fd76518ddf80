"""The circle at home: the radius that is held over the ground in the wind of the day."""

from __future__ import annotations

import math

from overarm.odds.finding import Word
from overarm.physics.turn import ground_circle_bank, ground_circle_radius, stall_ratio
from overarm.physics.wind import mean_wind
from overarm.plan.result import Circle
from overarm.plan.scene import CRUISE_RATIO, Scene

STEEPEST_BANK_RAD = math.radians(35.0)  # common practice, no source
MARGIN = 1.3  # common practice, no source
LEAST_RADIUS_M = 40.0  # common practice, no source
NOTICE_S = 3.0  # until the autopilot has noticed that it drifts; own estimate
TABLE_WINDS_MPS = tuple(float(wind) for wind in range(11))


def wanted_radius(airspeed_mps: float, wind_mps: float) -> float:
    """Return the radius [m] wanted in a wind [m/s] at the height of the circle.

    Equation: ``max(40 m, 1.3 (V + W)^2/(g tan 35 deg))``. Source: `ground_circle_radius`; margin, least
    radius and bank are common practice, no source.
    """
    return max(LEAST_RADIUS_M, MARGIN * ground_circle_radius(airspeed_mps, wind_mps, STEEPEST_BANK_RAD))


def _judged(radius_m: float, wanted_m: float, mean_m: float) -> Word:
    if radius_m >= wanted_m:
        return "good"
    return "watch" if radius_m >= mean_m else "stop"


def circle_of(scene: Scene) -> Circle:
    """Return the circle at home height in the wind of the day.

    Wanted is the greater of the radius with its margin in the mean wind, and the radius without margin in
    the mean wind + 2 sd + one rms gust. A radius that does not hold even the mean wind at 35 deg is a stop.
    """
    airspeed_mps, radius_m = scene.airspeed_mps, scene.radius_m
    mean_mps, strong_mps = scene.wind_at(scene.home_m), scene.strong_wind_at(scene.home_m)
    least_m = ground_circle_radius(airspeed_mps, strong_mps, STEEPEST_BANK_RAD)
    wanted_m = max(wanted_radius(airspeed_mps, mean_mps), least_m)
    word = _judged(radius_m, wanted_m, ground_circle_radius(airspeed_mps, mean_mps, STEEPEST_BANK_RAD))
    bank_rad = ground_circle_bank(airspeed_mps, strong_mps, radius_m)
    if strong_mps >= airspeed_mps:
        word = "stop"
    by_wind = tuple(
        (
            wind,
            wanted_radius(
                airspeed_mps, float(mean_wind(scene.air._replace(wind_10m_mps=wind), scene.home_m))
            ),
        )
        for wind in TABLE_WINDS_MPS
    )
    return Circle(
        radius_m=radius_m,
        least_radius_m=least_m,
        wanted_radius_m=wanted_m,
        bank_rad=bank_rad,
        still_bank_rad=ground_circle_bank(airspeed_mps, 0.0, radius_m),
        airspeed_mps=airspeed_mps,
        wind_mps=strong_mps,
        mean_wind_mps=mean_mps,
        drift_m=NOTICE_S * mean_mps,
        by_wind=by_wind,
        word=word,
        sentence=_said(radius_m, wanted_m, bank_rad, strong_mps, airspeed_mps),
    )


def _said(radius_m: float, wanted_m: float, bank_rad: float, wind_mps: float, airspeed_mps: float) -> str:
    if wind_mps >= airspeed_mps:
        return (
            f"The wind at home height may reach {wind_mps:.1f} m/s and it flies {airspeed_mps:.1f} m/s: "
            "no circle can be held."
        )
    left = CRUISE_RATIO / stall_ratio(min(bank_rad, math.radians(80.0)))
    said = (
        f"A circle of {radius_m:.0f} m asks for {math.degrees(bank_rad):.0f}° of bank in a wind of "
        f"{wind_mps:.1f} m/s, at {left:.2f} times the stall speed in that bank"
    )
    if radius_m >= wanted_m:
        return f"{said}."
    return f"{said}; set home_circle_radius to {math.ceil(wanted_m / 5.0) * 5} m or more."

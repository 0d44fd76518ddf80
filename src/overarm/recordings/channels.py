"""The channels that a recording may have: our names, their units and the range that can be real.

Body axes as in ISO 1151: x forward, y right, z down; angles nose-up and right-wing-down positive. The
forces are specific forces, which is what an accelerometer feels: level and at rest (0, 0, -9.81).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.units import (
    ACCELERATION,
    ANGLE,
    CURRENT,
    LENGTH,
    SHARE,
    SPEED,
    TURN_RATE,
    VOLTAGE,
    Dimension,
)


class Kind(NamedTuple):
    """What a channel holds. The limits are wide: beyond them no small aeroplane has ever been."""

    dimension: Dimension
    low: float
    high: float
    what: str


FORCES = ("force_x_mps2", "force_y_mps2", "force_z_mps2")
RATES = ("roll_rate_radps", "pitch_rate_radps", "yaw_rate_radps")
ANGLES = ("bank_rad", "pitch_rad", "heading_rad")

CHANNELS: dict[str, Kind] = {
    "force_x_mps2": Kind(ACCELERATION, -400.0, 400.0, "specific force along the body, forward"),
    "force_y_mps2": Kind(ACCELERATION, -400.0, 400.0, "specific force to the right wing"),
    "force_z_mps2": Kind(ACCELERATION, -400.0, 400.0, "specific force down through the belly"),
    "roll_rate_radps": Kind(TURN_RATE, -70.0, 70.0, "roll rate, right wing down"),
    "pitch_rate_radps": Kind(TURN_RATE, -70.0, 70.0, "pitch rate, nose up"),
    "yaw_rate_radps": Kind(TURN_RATE, -70.0, 70.0, "yaw rate, nose right"),
    "bank_rad": Kind(ANGLE, -math.pi, math.pi, "bank, right wing down"),
    "pitch_rad": Kind(ANGLE, -math.pi / 2, math.pi / 2, "pitch, nose up"),
    "heading_rad": Kind(ANGLE, -math.pi, 2 * math.pi, "heading of the nose, from north to the east"),
    "airspeed_mps": Kind(SPEED, -20.0, 100.0, "airspeed"),
    "ground_speed_mps": Kind(SPEED, 0.0, 120.0, "speed over the ground, by satellite"),
    "course_rad": Kind(ANGLE, -math.pi, 2 * math.pi, "course over the ground, from north to the east"),
    "climb_mps": Kind(SPEED, -60.0, 60.0, "vertical speed, up"),
    "latitude_rad": Kind(ANGLE, -math.pi / 2, math.pi / 2, "latitude, WGS 84"),
    "longitude_rad": Kind(ANGLE, -math.pi, math.pi, "longitude, WGS 84"),
    "satellite_height_m": Kind(LENGTH, -500.0, 9000.0, "height by satellite, from any reference"),
    "baro_height_m": Kind(LENGTH, -500.0, 9000.0, "height by air pressure, from any reference"),
    "throttle": Kind(SHARE, 0.0, 1.0, "throttle asked for, as a share"),
    "left_surface_rad": Kind(ANGLE, -1.5, 1.5, "left surface, trailing edge down"),
    "right_surface_rad": Kind(ANGLE, -1.5, 1.5, "right surface, trailing edge down"),
    "volts_v": Kind(VOLTAGE, 0.0, 120.0, "volts of the pack"),
    "current_a": Kind(CURRENT, -20.0, 400.0, "current out of the pack"),
    "propeller_radps": Kind(TURN_RATE, 0.0, 6000.0, "speed of the propeller"),
    "state": Kind(SHARE, -1e6, 1e6, "number of the autopilot's state, whatever it calls it"),
}

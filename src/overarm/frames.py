"""Frames, quaternions and Euler angles.

Two frames: *launch* (x along the launch line, y to its right, z down; flat earth) and *body*
(ISO 1151: x forward, y right, z down). The quaternion (e0, e1, e2, e3), scalar first, turns body
components into launch components. Euler angles are yaw, pitch, bank in that order (3-2-1).

Source: Stevens and Lewis, *Aircraft Control and Simulation*, 2nd ed. (2003), chapter 1.
"""

from __future__ import annotations

import math

from overarm.jit import scalar

Vector = tuple[float, float, float]
Quaternion = tuple[float, float, float, float]


@scalar
def quaternion_from_angles(bank_rad: float, pitch_rad: float, yaw_rad: float) -> Quaternion:
    """Return the unit quaternion of the three angles [rad]."""
    cb, sb = math.cos(0.5 * bank_rad), math.sin(0.5 * bank_rad)
    cp, sp = math.cos(0.5 * pitch_rad), math.sin(0.5 * pitch_rad)
    cy, sy = math.cos(0.5 * yaw_rad), math.sin(0.5 * yaw_rad)
    return (
        cb * cp * cy + sb * sp * sy,
        sb * cp * cy - cb * sp * sy,
        cb * sp * cy + sb * cp * sy,
        cb * cp * sy - sb * sp * cy,
    )


@scalar
def angles_from_quaternion(e0: float, e1: float, e2: float, e3: float) -> Vector:
    """Return (bank, pitch, yaw) [rad] of a unit quaternion; pitch within +-pi/2."""
    sine = 2.0 * (e0 * e2 - e1 * e3)
    sine = min(1.0, max(-1.0, sine))
    bank = math.atan2(2.0 * (e0 * e1 + e2 * e3), 1.0 - 2.0 * (e1 * e1 + e2 * e2))
    yaw = math.atan2(2.0 * (e0 * e3 + e1 * e2), 1.0 - 2.0 * (e2 * e2 + e3 * e3))
    return bank, math.asin(sine), yaw


@scalar
def body_to_launch(e0: float, e1: float, e2: float, e3: float, x: float, y: float, z: float) -> Vector:
    """Turn a vector's body components into launch components; any unit."""
    return (
        (e0 * e0 + e1 * e1 - e2 * e2 - e3 * e3) * x
        + 2.0 * (e1 * e2 - e0 * e3) * y
        + 2.0 * (e1 * e3 + e0 * e2) * z,
        2.0 * (e1 * e2 + e0 * e3) * x
        + (e0 * e0 - e1 * e1 + e2 * e2 - e3 * e3) * y
        + 2.0 * (e2 * e3 - e0 * e1) * z,
        2.0 * (e1 * e3 - e0 * e2) * x
        + 2.0 * (e2 * e3 + e0 * e1) * y
        + (e0 * e0 - e1 * e1 - e2 * e2 + e3 * e3) * z,
    )


@scalar
def launch_to_body(e0: float, e1: float, e2: float, e3: float, x: float, y: float, z: float) -> Vector:
    """Turn a vector's launch components into body components; any unit."""
    return body_to_launch(e0, -e1, -e2, -e3, x, y, z)


@scalar
def down_in_body(e0: float, e1: float, e2: float, e3: float, size: float) -> Vector:
    """Return the body components of a vector that points straight down; any unit."""
    return (
        2.0 * (e1 * e3 - e0 * e2) * size,
        2.0 * (e2 * e3 + e0 * e1) * size,
        (e0 * e0 - e1 * e1 - e2 * e2 + e3 * e3) * size,
    )

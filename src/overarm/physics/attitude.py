"""The attitude estimate of a simple autopilot: gyros, held level by the accelerometers.

A throw drags it: an acceleration a along the body looks like a nose-up tilt of ``arctan(a/g)``, and
the estimate follows with its time constant unless the trust band shuts the accelerometers out.
Source: the complementary filter of Beard and McLain, *Small Unmanned Aircraft* (2012), chapter 8
(from memory). Checked in ``tests/verification/test_sensor.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.jit import scalar
from overarm.physics.sensor import Board, lag_share

Vector = tuple[float, float, float]

# Steeper than this the kinematics of Euler angles break down; the estimate stays inside.
_STEEPEST_RAD = 1.5


class Attitude(NamedTuple):
    """Estimated pitch and bank [rad]."""

    pitch_rad: float
    bank_rad: float


@scalar
def attitude_start(board: Board, pitch_rad: float, bank_rad: float) -> Attitude:
    """Return the estimate after a long rest at this attitude."""
    return Attitude(pitch_rad + board.level_error_rad, bank_rad + board.bank_error_rad)


@scalar
def accelerometer_attitude(felt_mps2: Vector) -> tuple[float, float]:
    """Return (pitch, bank) [rad] of a body at rest that feels this specific force [m/s2].

    Equation: ``pitch = atan2(f_x, sqrt(f_y^2 + f_z^2))``, ``bank = atan2(-f_y, -f_z)``.
    """
    fx, fy, fz = felt_mps2
    return math.atan2(fx, math.sqrt(fy * fy + fz * fz)), math.atan2(-fy, -fz)


@scalar
def attitude_step(
    board: Board, attitude: Attitude, felt_mps2: Vector, rates_radps: Vector, dt_s: float
) -> Attitude:
    """Return the estimate after one sample.

    ``felt_mps2`` is the specific force and ``rates_radps`` are the body rates (p, q, r) at the
    board, ``dt_s`` the sample time.

    Equation: integrate ``bank' = p + tan(pitch) (q sin(bank) + r cos(bank))``,
    ``pitch' = q cos(bank) - r sin(bank)``; then take the share ``1 - exp(-dt/tau)`` of the way to
    the accelerometers' attitude, if ``| |f| - g |`` is inside the trust band.
    """
    p = rates_radps[0] + board.gyro_bias_radps
    q = rates_radps[1] + board.gyro_bias_radps
    r = rates_radps[2]
    sine, cosine = math.sin(attitude.bank_rad), math.cos(attitude.bank_rad)
    pitch = attitude.pitch_rad + dt_s * (q * cosine - r * sine)
    bank = attitude.bank_rad + dt_s * (p + math.tan(attitude.pitch_rad) * (q * sine + r * cosine))
    fx, fy, fz = felt_mps2
    force = math.sqrt(fx * fx + fy * fy + fz * fz)
    if abs(force - GRAVITY_MPS2) < board.trust_band_mps2:
        share = lag_share(board.attitude_time_s, dt_s)
        level_pitch, level_bank = accelerometer_attitude(felt_mps2)
        pitch += share * (level_pitch + board.level_error_rad - pitch)
        bank += share * _turn(level_bank + board.bank_error_rad - bank)
    return Attitude(min(_STEEPEST_RAD, max(-_STEEPEST_RAD, pitch)), _turn(bank))


@scalar
def _turn(angle_rad: float) -> float:
    """Return the same angle within +-pi; at most one turn is taken off."""
    if angle_rad > math.pi:
        return angle_rad - 2.0 * math.pi
    if angle_rad < -math.pi:
        return angle_rad + 2.0 * math.pi
    return angle_rad

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
from overarm.trig import inverse_tangent, sine_cosine

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
    return inverse_tangent(fx, math.sqrt(fy * fy + fz * fz)), inverse_tangent(-fy, -fz)


@scalar
def attitude_step(
    board: Board, attitude: Attitude, felt_mps2: Vector, rates_radps: Vector, dt_s: float
) -> Attitude:
    """Return the estimate after one sample, as `attitude_moved` with the share of this sample time."""
    share = lag_share(board.attitude_time_s, dt_s)
    return attitude_moved(board, attitude, felt_mps2, rates_radps, dt_s, share)


@scalar
def attitude_moved(
    board: Board, attitude: Attitude, felt_mps2: Vector, rates_radps: Vector, dt_s: float, share: float
) -> Attitude:
    """Return the estimate after one sample.

    ``felt_mps2`` is the specific force and ``rates_radps`` are the body rates (p, q, r) at the
    board, ``dt_s`` the sample time, ``share`` the `sensor.lag_share` of ``attitude_time_s`` in it.

    Equation: integrate ``bank' = p + tan(pitch) (q sin(bank) + r cos(bank))``,
    ``pitch' = q cos(bank) - r sin(bank)``; then take the share ``1 - exp(-dt/tau)`` of the way to
    the accelerometers' attitude, if ``| |f| - g |`` is inside the trust band.
    """
    p = rates_radps[0] + board.gyro_bias_radps
    q = rates_radps[1] + board.gyro_bias_radps
    r = rates_radps[2]
    sine, cosine = sine_cosine(attitude.bank_rad)
    rise, level = sine_cosine(attitude.pitch_rad)
    pitch = attitude.pitch_rad + dt_s * (q * cosine - r * sine)
    bank = attitude.bank_rad + dt_s * (p + rise / level * (q * sine + r * cosine))
    fx, fy, fz = felt_mps2
    force = math.sqrt(fx * fx + fy * fy + fz * fz)
    if abs(force - GRAVITY_MPS2) < board.trust_band_mps2:
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

"""What the sensor board feels: specific force with rotation terms, tilt, bias, noise, range, filter.

Source: Stevens and Lewis, *Aircraft Control and Simulation*, 2nd ed. (2003), section 1.5 (the
acceleration of a point of a turning body). Checked in ``tests/verification/test_sensor.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.jit import scalar
from overarm.trig import sine_cosine

Vector = tuple[float, float, float]


class Board(NamedTuple):
    """The sensor board: mounting, errors and filters."""

    tilt_rad: float  # nose-up tilt of the board in the model
    bias_mps2: float
    noise_mps2: float  # rms at rest
    range_mps2: float
    filter_hz: float  # 0: no filter
    rate_hz: float
    offset_x_m: float  # of the sensor from the balance point, body axes
    offset_z_m: float
    attitude_time_s: float  # time constant of the attitude estimate
    level_error_rad: float  # of the horizon: pitch believed less pitch
    bank_error_rad: float
    speed_delay_s: float
    trust_band_mps2: float  # the accelerometers steer the attitude only if | |f| - g | is less
    gyro_bias_radps: float
    vibration_mps2: float  # rms at full throttle


@scalar
def lever_terms(board: Board, rates_radps: Vector, rate_changes_radps2: Vector) -> Vector:
    """Return what rotation adds to the specific force at the sensor [m/s2], body axes.

    ``rates_radps`` (p, q, r) and their changes [rad/s2].

    Equation: ``w' x r + w x (w x r)`` with r = (x, 0, z); forward:
    ``-(q^2 + r^2) x + p r z + q' z``.
    """
    p, q, r = rates_radps
    p_dot, q_dot, r_dot = rate_changes_radps2
    x, z = board.offset_x_m, board.offset_z_m
    return (
        q_dot * z - (q * q + r * r) * x + p * r * z,
        r_dot * x - p_dot * z + q * (p * x + r * z),
        -q_dot * x - (p * p + q * q) * z + p * r * x,
    )


@scalar
def specific_force(acceleration_mps2: Vector, pitch_rad: float, bank_rad: float) -> Vector:
    """Return the specific force [m/s2] of a point with this acceleration, body axes.

    ``acceleration_mps2`` is the inertial acceleration in body axes. At rest and level the answer
    is (0, 0, -g).

    Equation: ``f = a - C_bn g``; forward: ``a_x + g sin(pitch)``.
    """
    ax, ay, az = acceleration_mps2
    rise, level = sine_cosine(pitch_rad)
    sine, cosine = sine_cosine(bank_rad)
    return (
        ax + GRAVITY_MPS2 * rise,
        ay - GRAVITY_MPS2 * level * sine,
        az - GRAVITY_MPS2 * level * cosine,
    )


@scalar
def felt_forward(
    board: Board, forward_mps2: float, down_mps2: float, throttle: float, normal: float
) -> float:
    """Return the raw forward reading [m/s2]: tilt, bias, noise, clipped to the range.

    ``forward_mps2`` and ``down_mps2`` are the specific force at the sensor along body x and z,
    ``throttle`` [0..1] raises the vibration, ``normal`` is a standard normal number.

    Equation: ``f_x cos(e) - f_z sin(e) + bias + sigma n``, ``sigma^2 = noise^2 + (vibration s)^2``.
    """
    shaking = board.vibration_mps2 * throttle
    sigma = math.sqrt(board.noise_mps2 * board.noise_mps2 + shaking * shaking)
    sine, cosine = sine_cosine(board.tilt_rad)
    tilted = forward_mps2 * cosine - down_mps2 * sine
    reading = tilted + board.bias_mps2 + sigma * normal
    return min(board.range_mps2, max(-board.range_mps2, reading))


@scalar
def low_pass_share(cut_hz: float, dt_s: float) -> float:
    """Return the share of the step that a first-order low pass takes in one sample [0..1].

    Equation: ``1 - exp(-2 pi f dt)``, exact for an input that is constant over the sample; a
    cut-off of 0 means no filter.
    """
    if cut_hz <= 0.0:
        return 1.0
    return -math.expm1(-2.0 * math.pi * cut_hz * dt_s)


@scalar
def low_pass(previous: float, value: float, cut_hz: float, dt_s: float) -> float:
    """Return the output of a first-order low pass after one sample; any unit."""
    return previous + low_pass_share(cut_hz, dt_s) * (value - previous)


@scalar
def lag_share(time_s: float, dt_s: float) -> float:
    """Return the share of the step that a first-order lag of this time constant takes [0..1]."""
    if time_s <= 0.0:
        return 1.0
    return -math.expm1(-dt_s / time_s)

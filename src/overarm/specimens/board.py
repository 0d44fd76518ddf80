"""The sensor board of a synthetic recording: accelerometers, gyros, and the attitude that it believes in."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from overarm.jit import over_samples
from overarm.physics.attitude import attitude_start, attitude_step
from overarm.physics.sensor import Board, lag_share
from overarm.specimens.motion import FORCES, RATES, SPEED, Motion, Numbers, at

# Shares of the shaking of the propeller: once and twice a turn (domain knowledge, no source).
ONCE, TWICE = 0.8, 0.6
AXIS_SHARES = (1.0, 1.2, 1.5)
GYRO_NOISE_RADPS = 0.006


class Errors(NamedTuple):
    """What is wrong with the board of one file."""

    noise_mps2: float
    vibration_mps2: float  # rms at full turns
    full_radps: float  # turns at which the vibration is that
    range_mps2: float
    bias_y_mps2: float
    bias_z_mps2: float


class Readings(NamedTuple):
    """What the sensors say, each (n,): forces [m/s2] and body rates [rad/s] along the board's axes."""

    t_s: Numbers
    forces: tuple[Numbers, Numbers, Numbers]
    rates: tuple[Numbers, Numbers, Numbers]


def shaking(motion: Motion, t_s: Numbers, errors: Errors, luck: np.random.Generator) -> list[Numbers]:
    """Return what the turning propeller shakes into each axis [m/s2]; sampled, so it aliases.

    Equation: ``sqrt(2) rms (spin/full)^2 (0.8 sin(phi) + 0.6 sin(2 phi))``, phi the angle turned.
    """
    steps = np.diff(motion["t_s"], prepend=motion["t_s"][0])
    turned = np.interp(t_s, motion["t_s"], np.cumsum(motion["spin_radps"] * steps))
    share = (at(motion, "spin_radps", t_s) / max(1.0, errors.full_radps)) ** 2
    size = math.sqrt(2.0) * errors.vibration_mps2 * np.minimum(1.5, share)
    shaken = []
    for gain in AXIS_SHARES:
        one, two = luck.uniform(0.0, 2.0 * math.pi, 2)
        shaken.append(gain * size * (ONCE * np.sin(turned + one) + TWICE * np.sin(2.0 * turned + two)))
    return shaken


def sampled(
    motion: Motion, board: Board, errors: Errors, rate_hz: float, luck: np.random.Generator
) -> Readings:
    """Return what accelerometers and gyros read at a rate, along the board's axes.

    Equation: the felt force turned by the tilt e, ``x cos(e) - z sin(e)``, ``z cos(e) + x sin(e)``, with
    bias, noise and shaking, clipped to the range.
    """
    begin = float(motion["t_s"][0])
    t_s = begin + np.arange(1, int((motion["t_s"][-1] - begin) * rate_hz)) / rate_hz
    body = [at(motion, name, t_s) for name in FORCES]
    shaken = shaking(motion, t_s, errors, luck)
    body = [force + shake for force, shake in zip(body, shaken, strict=True)]
    x, y, z = tilted(body[0], body[1], body[2], board.tilt_rad)
    forces = []
    for force, bias in zip((x, y, z), (board.bias_mps2, errors.bias_y_mps2, errors.bias_z_mps2), strict=True):
        noisy = force + bias + errors.noise_mps2 * luck.standard_normal(t_s.size)
        forces.append(np.clip(noisy, -errors.range_mps2, errors.range_mps2))
    p, q, r = (at(motion, name, t_s) for name in RATES)
    p, q, r = tilted(p, q, r, board.tilt_rad)
    rates = [
        rate + bias + GYRO_NOISE_RADPS * luck.standard_normal(t_s.size)
        for rate, bias in zip((p, q, r), (board.gyro_bias_radps, board.gyro_bias_radps, 0.0), strict=True)
    ]
    return Readings(t_s, (forces[0], forces[1], forces[2]), (rates[0], rates[1], rates[2]))


def tilted(x: Numbers, y: Numbers, z: Numbers, tilt_rad: float) -> tuple[Numbers, Numbers, Numbers]:
    """Return a vector of the body along the axes of a board that is tilted nose-up."""
    cosine, sine = math.cos(tilt_rad), math.sin(tilt_rad)
    return x * cosine - z * sine, y, z * cosine + x * sine


def believed(motion: Motion, board: Board, aided: bool, readings: Readings) -> tuple[Numbers, Numbers]:
    """Return the (pitch, bank) [rad] that the autopilot believes in, at the times of the readings.

    The estimate of the simulator (`overarm.physics.attitude.attitude_step`) on the sampled readings, whose
    tilt was levelled out at the bench; aided by a speed that comes late, if the board is.
    """
    untilted = tilted(*readings.forces, -board.tilt_rad)
    p, q, r = tilted(*readings.rates, -board.tilt_rad)
    rates = (p - board.gyro_bias_radps, q - board.gyro_bias_radps, r)
    speed = np.sqrt(sum(at(motion, name, readings.t_s) ** 2 for name in SPEED))
    start = float(motion["pitch_rad"][0]), float(motion["bank_rad"][0])
    pitch, bank = np.empty_like(speed), np.empty_like(speed)
    _believe(board, start, aided, readings.t_s, untilted, rates, speed, (pitch, bank))
    return pitch, bank


@over_samples
def _believe(
    board: Any, start: Any, aided: Any, t_s: Any, felt: Any, rates: Any, speed: Any, out: Any
) -> None:
    attitude = attitude_start(board, start[0], start[1])
    reported, lagged = speed[0], felt[0][0]
    for k in range(t_s.size):
        step_s = t_s[k] - t_s[k - 1] if k > 0 else t_s[1] - t_s[0]
        share = lag_share(board.speed_delay_s, step_s)
        gained = share * (speed[k] - reported)
        reported += gained
        lagged += share * (felt[0][k] - lagged)
        forward = lagged - gained / step_s if aided else felt[0][k]
        attitude = attitude_step(
            board,
            attitude,
            (forward, felt[1][k], felt[2][k]),
            (rates[0][k], rates[1][k], rates[2][k]),
            step_s,
        )
        out[0][k] = attitude.pitch_rad
        out[1][k] = attitude.bank_rad

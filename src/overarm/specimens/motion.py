"""How a model moves through a recording: one array a column, on a fine grid of times.

The frame is the launch frame (ahead along the launch line, right, down; flat earth), the forces are what a
sensor without errors feels, in body axes (x forward, y right, z down).
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.physics.sensor import Board, lever_terms

Numbers = NDArray[np.float64]
Motion = dict[str, Numbers]

PLACE = ("ahead_m", "right_m", "height_m")
SPEED = ("ahead_mps", "right_mps", "down_mps")
ANGLES = ("bank_rad", "pitch_rad", "heading_rad")
RATES = ("roll_rate_radps", "pitch_rate_radps", "yaw_rate_radps")
FORCES = ("force_x_mps2", "force_y_mps2", "force_z_mps2")
DRIVE = ("throttle", "spin_radps", "volts_v", "current_a")
REST = ("airspeed_mps", "state", "left_surface_rad", "right_surface_rad")
COLUMNS = ("t_s", *PLACE, *SPEED, *ANGLES, *RATES, *FORCES, *DRIVE, *REST)

STEP_S = 0.005


def smooth(share: Numbers) -> Numbers:
    """Return 0 to 1 as a hand moves: without a jump of speed or acceleration.

    Equation: ``10 u^3 - 15 u^4 + 6 u^5``, the path of least jerk. Source: Flash and Hogan, "The
    coordination of arm movements", J. Neuroscience 5 (1985) 1688, equation 7 (from memory).
    """
    u = np.clip(share, 0.0, 1.0)
    return u * u * u * (10.0 + u * (6.0 * u - 15.0))


def between(t_s: Numbers, keys: list[tuple[float, float]]) -> Numbers:
    """Return a value that goes smoothly from key to key, each (time [s], value); held before and after."""
    value = np.full(t_s.shape, keys[0][1])
    for (from_s, before), (to_s, after) in itertools.pairwise(keys):
        if after != before:
            value = value + (after - before) * smooth((t_s - from_s) / max(1e-6, to_s - from_s))
    return value


def sway(t_s: Numbers, size: float, luck: np.random.Generator) -> Numbers:
    """Return a slow, uneven sway of this rms: nobody holds, and no air carries, a model quite still."""
    whole = np.zeros_like(t_s)
    for hz in luck.uniform(0.15, 0.8, 4):
        whole += np.sin(2.0 * np.pi * hz * t_s + luck.uniform(0.0, 2.0 * np.pi))
    return np.asarray(size * whole / np.sqrt(2.0))


def slope(t_s: Numbers, values: Numbers) -> Numbers:
    """Return the change of a value over time, by central differences."""
    return np.gradient(values, t_s) if t_s.size > 1 else np.zeros_like(values)


def body_rates(t_s: Numbers, angles: Mapping[str, Numbers]) -> tuple[Numbers, Numbers, Numbers]:
    """Return the body rates p, q, r [rad/s] of turning angles (bank, pitch, heading).

    Equation: ``p = bank' - heading' sin(pitch)``, ``q = pitch' cos(bank) + heading' cos(pitch) sin(bank)``,
    ``r = heading' cos(pitch) cos(bank) - pitch' sin(bank)``. Source: Stevens and Lewis, *Aircraft Control
    and Simulation*, 2nd ed. (2003), equation 1.3-21.
    """
    bank, pitch, heading = (angles[name] for name in ANGLES)
    rolls, pitches, turns = slope(t_s, bank), slope(t_s, pitch), slope(t_s, heading)
    level, sine, cosine = np.cos(pitch), np.sin(bank), np.cos(bank)
    return (
        rolls - turns * np.sin(pitch),
        pitches * cosine + turns * level * sine,
        turns * level * cosine - pitches * sine,
    )


def to_body(vector: tuple[Numbers, Numbers, Numbers], angles: Mapping[str, Numbers]) -> tuple[Numbers, ...]:
    """Turn a vector's launch components (ahead, right, down) into body components; any unit."""
    x, y, z = vector
    bank, pitch, heading = (angles[name] for name in ANGLES)
    ahead = x * np.cos(heading) + y * np.sin(heading)
    right = y * np.cos(heading) - x * np.sin(heading)
    forward = ahead * np.cos(pitch) - z * np.sin(pitch)
    down = ahead * np.sin(pitch) + z * np.cos(pitch)
    return (
        forward,
        right * np.cos(bank) + down * np.sin(bank),
        down * np.cos(bank) - right * np.sin(bank),
    )


def felt_of(motion: Motion, board: Board) -> None:
    """Add body rates and felt forces to a motion that has times, speeds and angles.

    Equation: ``f = C (a - g)`` and the rotation terms of the sensor's place
    (`overarm.physics.sensor.lever_terms`).
    """
    t_s = motion["t_s"]
    motion.update(zip(RATES, body_rates(t_s, motion), strict=True))
    ahead, right, down = (slope(t_s, motion[name]) for name in SPEED)
    felt = to_body((ahead, right, down - GRAVITY_MPS2), motion)
    for name, force, lever in zip(FORCES, felt, levers(motion, board), strict=True):
        motion[name] = force + lever


def levers(motion: Motion, board: Board) -> list[Numbers]:
    """Return what rotation adds to the felt forces at the sensor [m/s2], from the body rates."""
    rates = [motion[name] for name in RATES]
    turning = [slope(motion["t_s"], rate) for rate in rates]
    plain: Any = getattr(lever_terms, "py_func", lever_terms)  # the same formula, on arrays
    return list(plain(board, rates, turning))


def joined(parts: list[Motion]) -> Motion:
    """Put motions one after another; a part begins where the one before it ends."""
    used = [part for part in parts if part["t_s"].size]
    return {name: np.concatenate([part[name] for part in used]) for name in COLUMNS}


def at(motion: Motion, name: str, t_s: Numbers) -> Numbers:
    """Return a column at other times, by straight lines between the samples."""
    return np.interp(t_s, motion["t_s"], motion[name])

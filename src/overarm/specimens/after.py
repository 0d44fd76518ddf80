"""What happens to a model after its launch was judged: it flies on and circles, or falls, and lies."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.physics.wind import along_wind, mean_wind
from overarm.specimens.motion import (
    ANGLES,
    DRIVE,
    PLACE,
    REST,
    SPEED,
    STEP_S,
    Motion,
    Numbers,
    between,
    smooth,
    sway,
)

GROUND_M = 0.05


def _times(takes_s: float) -> Numbers:
    return STEP_S * np.arange(1.0, max(2, round(takes_s / STEP_S)))


def _kept(last: dict[str, float], t_s: Numbers) -> Motion:
    """Return columns that stay as they were last."""
    return {name: np.full_like(t_s, last[name]) for name in (*DRIVE, *REST)}


def _near(angle_rad: float, other_rad: float) -> float:
    """Return the same angle, by whole turns as near another as it can be."""
    whole = 2.0 * math.pi
    return angle_rad + whole * round((other_rad - angle_rad) / whole)


def flown_on(record: Any, last: dict[str, float], luck: np.random.Generator, takes_s: float) -> Motion:
    """Return the flight after the handover: it levels out, slows to cruise, and circles.

    ``last``: columns of the last sample of the launch. Equation of the turn: ``heading' = g tan(bank)/V``.
    """
    t_s = _times(takes_s)
    motion = _kept(last, t_s)
    wind = along_wind(record.air, mean_wind(record.air, max(1.0, last["height_m"])), 0.0)
    ahead, right, down = (last[name] for name in SPEED)
    air = ahead - wind[0], right - wind[1]
    speed = math.hypot(*air, down)
    cruise = max(1.35 * record.logic.stall_speed_mps, 9.0)
    climb, course = math.asin(-down / speed), _near(math.atan2(air[1], air[0]), last["heading_rad"])
    waits, side = float(luck.uniform(1.0, 3.0)), float(luck.choice([-1.0, 1.0]))
    level_s = 3.0
    v = between(t_s, [(0.0, speed), (5.0, cruise)])
    gamma = between(t_s, [(0.0, climb), (level_s, 0.0)])
    roll = side * math.radians(luck.uniform(18.0, 30.0))
    bank = between(t_s, [(0.0, last["bank_rad"]), (0.8, 0.0), (waits + 1.0, 0.0), (waits + 2.5, roll)])
    bank = bank + smooth(t_s / 2.0) * sway(t_s, 0.03, luck)
    turn = course + np.cumsum(GRAVITY_MPS2 * np.tan(bank) / v) * STEP_S
    lift = between(t_s, [(0.0, last["pitch_rad"] - climb), (3.0, math.radians(5.0))])
    motion["t_s"] = t_s
    uneven = smooth(t_s / 2.0) * sway(t_s, 0.015, luck)
    motion["bank_rad"], motion["pitch_rad"] = bank, gamma + lift * np.cos(bank) + uneven
    motion["heading_rad"] = turn + (last["heading_rad"] - course) * np.exp(-t_s)
    motion["ahead_mps"] = v * np.cos(gamma) * np.cos(turn) + wind[0]
    motion["right_mps"] = v * np.cos(gamma) * np.sin(turn) + wind[1]
    motion["down_mps"] = -v * np.sin(gamma)
    motion["airspeed_mps"] = v
    _travelled(motion, last)
    cruises = record.logic.launch_ceiling * 0.55
    motion["throttle"] = between(t_s, [(0.0, last["throttle"]), (1.5, cruises)])
    share = motion["throttle"] / max(1e-3, last["throttle"])
    motion["spin_radps"] = last["spin_radps"] * share**0.85
    motion["current_a"] = last["current_a"] * share**2.6
    motion["volts_v"] = record.pack.open_volts - record.pack.resistance_ohm * motion["current_a"]
    return motion


def brought_down(record: Any, last: dict[str, float], luck: np.random.Generator) -> Motion:
    """Return the way down to a landing: circling, the motor off, a slope of one in eight, level at the end.

    ``last``: columns of the last sample before.
    """
    slope_rad, flare_s = math.radians(7.0), 1.2
    wind = along_wind(record.air, mean_wind(record.air, max(1.0, 0.5 * last["height_m"])), 0.0)
    speed = max(1.2 * record.logic.stall_speed_mps, 8.0)
    sinks = speed * math.sin(slope_rad)
    takes_s = (last["height_m"] - GROUND_M) / sinks + 0.5 * (1.5 + flare_s)
    t_s = _times(takes_s)
    motion = _kept(last, t_s)
    gamma = between(t_s, [(0.0, 0.0), (1.5, -slope_rad), (takes_s - flare_s, -slope_rad), (takes_s, -0.01)])
    air = _near(math.atan2(last["right_mps"] - wind[1], last["ahead_mps"] - wind[0]), last["heading_rad"])
    v = between(t_s, [(0.0, last["airspeed_mps"]), (3.0, speed), (takes_s - flare_s, speed), (takes_s, 6.0)])
    uneven, leans = smooth(t_s / 2.0), math.copysign(math.radians(24.0), last["bank_rad"])
    level_s = max(3.0, takes_s - 5.0)
    bank = between(t_s, [(0.0, last["bank_rad"]), (1.5, leans), (level_s, leans), (level_s + 2.0, 0.0)])
    bank = bank + uneven * sway(t_s, 0.03, luck)
    course = air + np.cumsum(GRAVITY_MPS2 * np.tan(bank) / v) * STEP_S
    motion["t_s"], motion["bank_rad"] = t_s, bank
    motion["pitch_rad"] = gamma + math.radians(5.0) + uneven * sway(t_s, 0.015, luck)
    motion["heading_rad"] = course + (last["heading_rad"] - air) * np.exp(-t_s)
    motion["ahead_mps"] = v * np.cos(gamma) * np.cos(course) + wind[0]
    motion["right_mps"] = v * np.cos(gamma) * np.sin(course) + wind[1]
    motion["down_mps"] = -v * np.sin(gamma)
    motion["airspeed_mps"] = v
    _travelled(motion, last)
    motion["height_m"] = np.maximum(GROUND_M, motion["height_m"])
    stopping = 1.0 - smooth(t_s / 1.0)
    for name in ("throttle", "spin_radps", "current_a"):
        motion[name] = last[name] * stopping
    motion["volts_v"] = record.pack.open_volts - record.pack.resistance_ohm * motion["current_a"]
    return motion


def fallen(record: Any, last: dict[str, float], luck: np.random.Generator) -> Motion:
    """Return the fall of a model that is no longer flying, to the ground."""
    height, down = max(GROUND_M, last["height_m"]), last["down_mps"]
    takes = (-down + math.sqrt(down * down + 2.0 * GRAVITY_MPS2 * (height - GROUND_M))) / GRAVITY_MPS2
    t_s = _times(max(3 * STEP_S, takes))
    motion = _kept(last, t_s)
    motion["t_s"] = t_s
    motion["ahead_mps"] = last["ahead_mps"] * np.exp(-0.5 * t_s)
    motion["right_mps"] = last["right_mps"] * np.exp(-0.5 * t_s)
    motion["down_mps"] = down + GRAVITY_MPS2 * t_s
    _travelled(motion, last)
    motion["height_m"] = np.maximum(GROUND_M, motion["height_m"])
    motion["bank_rad"] = last["bank_rad"] + math.copysign(1.0, last["bank_rad"]) * smooth(t_s) * 0.5
    motion["pitch_rad"] = last["pitch_rad"] + (-0.5 - last["pitch_rad"]) * smooth(t_s / max(0.5, takes))
    motion["heading_rad"] = np.full_like(t_s, last["heading_rad"])
    motion["airspeed_mps"] = np.hypot(np.hypot(motion["ahead_mps"], motion["right_mps"]), motion["down_mps"])
    return motion


def lain(record: Any, last: dict[str, float], luck: np.random.Generator, takes_s: float) -> Motion:
    """Return a model that hits the ground, slides, and lies until somebody stops the motor."""
    t_s = _times(takes_s)
    motion = _kept(last, t_s)
    motion["t_s"] = t_s
    slide, drop = 1.0 - smooth(t_s / float(luck.uniform(0.25, 0.6))), 1.0 - smooth(t_s / 0.06)
    for name, left in zip(SPEED, (slide, slide, drop), strict=True):
        motion[name] = last[name] * left
    _travelled(motion, last)
    motion["height_m"] = np.full_like(t_s, max(GROUND_M, last["height_m"]))
    lies = (math.radians(luck.normal(0.0, 8.0)), math.radians(luck.normal(2.0, 4.0)))
    turned = float(luck.normal(0.0, 0.5))
    for name, end in zip(ANGLES, (*lies, last["heading_rad"] + turned), strict=True):
        motion[name] = last[name] + (end - last[name]) * smooth(t_s / 0.5)
    cut = float(luck.uniform(0.6, 2.0))
    motion["throttle"] = np.where(t_s < cut, last["throttle"], 0.0)
    motion["spin_radps"] = last["spin_radps"] * np.exp(-t_s / 0.1)
    motion["current_a"] = np.where(t_s < cut, last["current_a"] * np.exp(-t_s / 0.1), 0.0)
    motion["volts_v"] = record.pack.open_volts - record.pack.resistance_ohm * motion["current_a"]
    motion["airspeed_mps"] = last["airspeed_mps"] * slide
    return motion


def held_on(record: Any, last: dict[str, float], takes_s: float) -> Motion:
    """Return a model that nobody throws: held as it was, the motor stopped after a second."""
    t_s = _times(takes_s)
    motion = _kept(last, t_s)
    motion["t_s"] = t_s
    for name in (*PLACE, *ANGLES):
        motion[name] = np.full_like(t_s, last[name])
    for name in SPEED:
        motion[name] = last[name] * (1.0 - smooth(t_s / 0.2))
    stopping = 1.0 - smooth((t_s - 0.8) / 0.4)
    for name in ("throttle", "spin_radps", "current_a"):
        motion[name] = last[name] * stopping
    motion["volts_v"] = record.pack.open_volts - record.pack.resistance_ohm * motion["current_a"]
    return motion


def _travelled(motion: Motion, last: dict[str, float]) -> None:
    for place, speed, sign in zip(PLACE, SPEED, (1.0, 1.0, -1.0), strict=True):
        motion[place] = last[place] + sign * np.cumsum(motion[speed]) * STEP_S

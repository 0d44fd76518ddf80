"""The other instruments of a synthetic recording: satellite, air pressure, airspeed, drive and state."""

from __future__ import annotations

import math

import numpy as np

from overarm.earth import Ground, to_spots
from overarm.specimens.motion import Motion, Numbers, at
from overarm.specimens.options import Rates
from overarm.specimens.table import Series

DEGREES = 180.0 / math.pi
RPM_PER_RADPS = 30.0 / math.pi
SPEED_NOISE_MPS = 0.12
PLACE_NOISE_M, HEIGHT_NOISE_M = 0.05, 0.25
BARO_NOISE_M, BARO_DRIFT_M = 0.12, 0.03  # drift: a random walk, by the root of a second
PITOT_NOISE_PA, PITOT_CORNER_S = 1.2, 0.05
IDLE_A, AMPS_NOISE, VOLTS_NOISE = 0.35, 0.12, 0.015


def times_of(motion: Motion, rate_hz: float, luck: np.random.Generator) -> Numbers:
    """Return the times [s] at which an instrument reports; each instrument has a phase of its own."""
    begin, end = float(motion["t_s"][0]), float(motion["t_s"][-1])
    first = begin + float(luck.uniform(0.0, 1.0)) / rate_hz
    return np.arange(first, end, 1.0 / rate_hz)


def wandering(t_s: Numbers, step_of_root_s: float, luck: np.random.Generator) -> Numbers:
    """Return a random walk over time, 0 at first."""
    steps = np.sqrt(np.diff(t_s, prepend=t_s[0])) * step_of_root_s
    return np.cumsum(steps * luck.standard_normal(t_s.size))


def satellite(
    motion: Motion,
    rate_hz: float,
    ground: Ground,
    lag_s: float,
    elevation_m: float,
    luck: np.random.Generator,
) -> list[Series]:
    """Return speed, course, climb, place and height by satellite, all of them ``lag_s`` [s] late."""
    t_s = times_of(motion, rate_hz, luck)
    then = t_s - lag_s
    ahead, right, down = (
        at(motion, name, then) + SPEED_NOISE_MPS * luck.standard_normal(t_s.size)
        for name in ("ahead_mps", "right_mps", "down_mps")
    )
    speed = np.hypot(ahead, right)
    course = (np.arctan2(right, ahead) + ground.direction_rad) % (2.0 * math.pi)
    wander = [wandering(t_s, 0.1, luck) + PLACE_NOISE_M * luck.standard_normal(t_s.size) for _ in range(2)]
    latitude, longitude = to_spots(
        ground, at(motion, "ahead_m", then) + wander[0], at(motion, "right_m", then) + wander[1]
    )
    height = at(motion, "height_m", then) + elevation_m + luck.normal(0.0, 4.0)
    height = height + wandering(t_s, 0.15, luck) + HEIGHT_NOISE_M * luck.standard_normal(t_s.size)
    return [
        Series("ground_speed_mps", t_s, speed, 2),
        Series("course_deg", t_s, course * DEGREES, 1),
        Series("climb_mps", t_s, -down, 2),
        Series("latitude_deg", t_s, latitude, 7),
        Series("longitude_deg", t_s, longitude, 7),
        Series("satellite_height_m", t_s, height, 2),
    ]


def baro(motion: Motion, rate_hz: float, luck: np.random.Generator) -> list[Series]:
    """Return the height by air pressure over a reference of its own, with noise and drift."""
    t_s = times_of(motion, rate_hz, luck)
    height = at(motion, "height_m", t_s) + float(luck.normal(0.0, 1.0)) + wandering(t_s, BARO_DRIFT_M, luck)
    return [Series("baro_height_m", t_s, height + BARO_NOISE_M * luck.standard_normal(t_s.size), 2)]


def pitot(
    motion: Motion, rate_hz: float, density_kgpm3: float, offset_pa: float, luck: np.random.Generator
) -> list[Series]:
    """Return the airspeed of a pressure probe: noise below 4 to 5 m/s, and an offset of its zero.

    Equation: ``V = sign(q) sqrt(2 |q| / rho)`` of a noisy dynamic pressure, never below 0.
    """
    t_s = times_of(motion, rate_hz, luck)
    felt = at(motion, "airspeed_mps", t_s - PITOT_CORNER_S)
    q = 0.5 * density_kgpm3 * felt * felt + offset_pa + PITOT_NOISE_PA * luck.standard_normal(t_s.size)
    return [Series("airspeed_mps", t_s, np.sqrt(2.0 * np.maximum(0.0, q) / density_kgpm3), 2)]


def drive(motion: Motion, rates: Rates, luck: np.random.Generator) -> list[Series]:
    """Return throttle, surfaces, volts, current and the speed of the propeller."""
    made = []
    if rates.throttle_hz > 0.0:
        t_s = times_of(motion, rates.throttle_hz, luck)
        made.append(Series("throttle_pct", t_s, 100.0 * at(motion, "throttle", t_s), 1))
        made += [
            Series(f"{side}_surface_deg", t_s, DEGREES * at(motion, f"{side}_surface_rad", t_s), 1)
            for side in ("left", "right")
        ]
    if rates.power_hz > 0.0:
        t_s = times_of(motion, rates.power_hz, luck)
        amps = at(motion, "current_a", t_s) + IDLE_A + AMPS_NOISE * luck.standard_normal(t_s.size)
        volts = at(motion, "volts_v", t_s) + VOLTS_NOISE * luck.standard_normal(t_s.size)
        made += [Series("volts_v", t_s, volts, 2), Series("current_a", t_s, np.maximum(0.0, amps), 2)]
    if rates.propeller_hz > 0.0:
        t_s = times_of(motion, rates.propeller_hz, luck)
        rpm = RPM_PER_RADPS * at(motion, "spin_radps", t_s) * (1.0 + 0.004 * luck.standard_normal(t_s.size))
        made.append(Series("propeller_rpm", t_s, np.where(rpm < 200.0, 0.0, rpm), 0))
    return made


def state(motion: Motion, rate_hz: float, luck: np.random.Generator) -> list[Series]:
    """Return the number of the autopilot's state, a period of its log late."""
    t_s = times_of(motion, rate_hz, luck)
    k = np.searchsorted(motion["t_s"], t_s - 1.0 / rate_hz, side="right") - 1
    return [Series("state", t_s, motion["state"][np.maximum(0, k)], 0)]

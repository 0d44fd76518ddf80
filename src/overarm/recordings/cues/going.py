"""The cues of flight from the outside: speed over the ground, airspeed, height and vertical speed.

What a hand and legs can do bounds them: a walk is 1.5 m/s, a run 4 to 5 m/s, stairs 0.3 m/s up (common
practice, no source). A slow ground speed says little against flight, for the wind may be as fast.
"""

from __future__ import annotations

import numpy as np

from overarm.recordings.cues.drive import motor_on
from overarm.recordings.cues.grid import Flags, Grid, Numbers, rolling_mean, sampled
from overarm.recordings.recording import Recording
from overarm.recordings.states import AIRBORNE, COUNT, IN_THE_HAND, State

GROUND_SPEED = (3.8, 1.2, -2.0, 5.0)  # level [m/s], score a second for each m/s over it, least, most
AIRSPEED = (6.0, 0.8, -1.0, 3.0)
VERTICAL = (0.9, 3.0, -0.3, 4.0)
HIGH = (5.0, 0.6, 0.0, 4.0)
CARRIED_PER_S = 8.0  # low, level and without a motor for four seconds: something carries it


def _evidence(excess: Numbers, known: Flags, how: tuple[float, float, float, float]) -> Numbers:
    level, slope, least, most = how
    found: Numbers = np.where(known, np.clip(slope * (excess - level), least, most), 0.0)
    return found


def vertical_speed(grid: Grid, recording: Recording) -> tuple[Numbers, Flags] | None:
    """Return the vertical speed over a second around each time [m/s, up], and where it is known."""
    for name in ("baro_height_m", "satellite_height_m"):
        height = sampled(grid, recording.channel(name))
        if height is None or height.period_s > 1.5:
            continue
        window = grid.steps(max(1.0, 2.0 * height.period_s))
        level = rolling_mean(height.values, max(1, window // 2))
        ahead = np.minimum(np.arange(grid.size) + window // 2, grid.size - 1)
        behind = np.maximum(np.arange(grid.size) - window // 2, 0)
        rise = (level[ahead] - level[behind]) / (np.maximum(1, ahead - behind) * grid.step_s)
        return rise, height.known & (grid.part[ahead] == grid.part[behind])
    climb = sampled(grid, recording.channel("climb_mps"))
    if climb is None:
        return None
    return rolling_mean(climb.values, grid.steps(1.0)), climb.known


def height_over_ground(grid: Grid, recording: Recording) -> tuple[Numbers, Flags, bool] | None:
    """Return height over the low part of the recording [m], where it is known, and if it is by pressure."""
    for name in ("baro_height_m", "satellite_height_m"):
        height = sampled(grid, recording.channel(name))
        if height is None:
            continue
        smooth = rolling_mean(height.values, grid.steps(1.0))
        return smooth - float(np.quantile(smooth, 0.03)), height.known, name == "baro_height_m"
    return None


def seen_from_outside(recording: Recording) -> bool:
    """Return True if speed or height is recorded."""
    names = ("ground_speed_mps", "airspeed_mps", "climb_mps", "baro_height_m", "satellite_height_m")
    return any(recording.channel(name) is not None for name in names)


def in_the_air(grid: Grid, recording: Recording) -> Numbers:
    """Return how much speaks for flight at each time, a second, shape (n,)."""
    total = np.zeros(grid.size)
    for name, how in (("ground_speed_mps", GROUND_SPEED), ("airspeed_mps", AIRSPEED)):
        speed = sampled(grid, recording.channel(name))
        if speed is not None:
            total += _evidence(speed.values, speed.known, how)
    rise = vertical_speed(grid, recording)
    if rise is not None:
        total += _evidence(np.abs(rise[0]), rise[1], VERTICAL)
    height = height_over_ground(grid, recording)
    if height is not None:
        total += _evidence(height[0], height[1], HIGH)
    motor = motor_on(grid, recording)
    if height is not None and rise is not None and motor is not None and height[2]:
        level = motor[1] & ~motor[0] & rise[1] & (np.abs(rise[0]) < 0.4) & (height[0] < HIGH[0])
        total -= CARRIED_PER_S * (rolling_mean(level.astype(float), grid.steps(4.0)) > 0.95)
    return total


def going_scores(grid: Grid, recording: Recording) -> Numbers:
    """Return the scores of speed and height, shape (n, S)."""
    score = np.zeros((grid.size, COUNT))
    flight = in_the_air(grid, recording) * grid.step_s
    for state in AIRBORNE:
        score[:, state] += 0.5 * flight
    for state in (*IN_THE_HAND, State.DOWN):
        if state not in (State.STROKE, State.ABORTED):
            score[:, state] -= 0.5 * flight
    rise = vertical_speed(grid, recording)
    if rise is not None:
        up = np.where(rise[1], np.clip(2.5 * (rise[0] - 0.5), -2.0, 1.5), 0.0) * grid.step_s
        score[:, State.CLIMB] += up
        level = np.where(rise[1], np.clip(1.0 * (0.5 - rise[0]), -0.7, 0.7), 0.0) * grid.step_s
        score[:, State.HANDED_OVER] += level
    return score

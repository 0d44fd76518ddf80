"""The cues of how restless the model is: held still, carried in steps, shaken, flying, or lying.

The levels are the trade's (common practice, no source): steps of 1.5 to 2.5 m/s2, a shake of two
alternations or more at 1.5 to 4 Hz.
"""

from __future__ import annotations

import numpy as np

from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.cues.drive import motor_on
from overarm.recordings.cues.grid import Flags, Grid, Numbers, rolling_mean, rolling_spread, sampled
from overarm.recordings.recording import Recording
from overarm.recordings.states import AIRBORNE, COUNT, State

WINDOW_S = 0.8
HAND_S = 0.1  # a hand does nothing faster
FLOOR = -3.0
MOTOR_SHARE = 0.2  # of the cue is left where the motor is on
PER_S = 2.5  # how much a second of restlessness counts: the square of a two-sigma surprise, so often
# State: usual unrest of the forces [m/s2], its spread as a factor of e.
UNREST: dict[State, tuple[float, float]] = {
    State.CARRIED: (1.5, 0.7),
    State.HELD: (0.35, 0.9),
    State.SHAKEN: (12.0, 0.7),
    State.DOWN: (0.12, 0.8),
}
# The same for the turn rates [rad/s].
TURNING: dict[State, tuple[float, float]] = {
    State.CARRIED: (0.4, 0.9),
    State.HELD: (0.1, 1.0),
    State.DOWN: (0.01, 1.0),
}
FLIGHT_LOSS = 0.04  # flight may be rough or smooth: it is never the best answer of this cue, nor a bad one
STILL_LOSS = 1.5  # but it is never as still as the ground
STILL_TIMES = 2.0  # of the stillest time of the recording
SHAKE_MPS2 = 4.0  # a swing of a shake goes over this either way
SHAKE_LEAST_HZ = 12.0
SHAKE_PER_S = 10.0


def unrest(grid: Grid, recording: Recording, names: tuple[str, ...]) -> tuple[Numbers, Flags] | None:
    """Return the standard deviation of a vector over `WINDOW_S` on the grid, and where it is known.

    What is faster than a hand is averaged out first: a motor shakes the board.
    """
    found = [s for name in names if (s := sampled(grid, recording.channel(name))) is not None]
    if not found or found[0].period_s > 0.15:
        return None
    total = np.zeros(grid.size)
    known = np.ones(grid.size, bool)
    for part in found:
        slow = rolling_mean(part.values, grid.steps(HAND_S))
        total += rolling_spread(slow, grid.steps(WINDOW_S)) ** 2
        known &= part.known
    return np.sqrt(total), known


def _scores(grid: Grid, found: tuple[Numbers, Flags], usual: dict[State, tuple[float, float]]) -> Numbers:
    level = np.log(np.maximum(found[0], 1e-3))
    score = np.zeros((grid.size, COUNT))
    for state, (middle, width) in usual.items():
        away = (level - np.log(middle)) / width
        score[:, state] = np.maximum(FLOOR, -0.5 * away * away) - np.log(width)
    score[:, State.HELD] = np.maximum(score[:, State.HELD], score[:, State.DOWN])  # lying counts as held
    calm = np.maximum(score[:, State.CARRIED], score[:, State.HELD])
    top = score[:, list(usual)].max(axis=1)
    still = found[0] < STILL_TIMES * float(np.quantile(found[0], 0.05))
    for state in State:
        if state not in usual:
            flies = calm - np.where(still, STILL_LOSS, FLIGHT_LOSS)
            score[:, state] = flies if state in AIRBORNE else top
    score[~found[1]] = 0.0
    return score * (PER_S * grid.step_s)


def unrest_scores(grid: Grid, recording: Recording) -> Numbers:
    """Return the scores of the unrest of forces and turn rates, shape (n, S)."""
    score = np.zeros((grid.size, COUNT))
    forces = unrest(grid, recording, FORCES)
    if forces is not None:
        score += _scores(grid, forces, UNREST)
    rates = unrest(grid, recording, RATES)
    if rates is not None:
        score += _scores(grid, rates, TURNING)
    motor = motor_on(grid, recording)
    if motor is not None:
        score[motor[0] & motor[1]] *= MOTOR_SHARE
    return score


def swings(grid: Grid, recording: Recording) -> Flags | None:
    """Return where the model is swung to and fro along the body: 3 reversals or more in 1.1 s around.

    A motor shakes all axes alike; a hand shakes along the body. None where the forces come too seldom.
    """
    force = sampled(grid, recording.channel("force_x_mps2"))
    if force is None or 1.0 / grid.step_s < SHAKE_LEAST_HZ or force.period_s > 1.0 / SHAKE_LEAST_HZ:
        return None
    slow = rolling_mean(force.values, grid.steps(HAND_S))
    away = slow - rolling_mean(slow, grid.steps(1.2))
    side = np.where(away > SHAKE_MPS2, 1, np.where(away < -SHAKE_MPS2, -1, 0))
    places = np.flatnonzero(side)
    reversals = np.zeros(grid.size)
    if places.size > 1:
        turned = np.flatnonzero(np.diff(side[places]) != 0)
        apart_s = (places[turned + 1] - places[turned]) * grid.step_s
        reversals[places[turned + 1][apart_s < 0.35]] = 1.0
    within = rolling_mean(reversals, grid.steps(1.1)) * grid.steps(1.1)
    shaken = (within >= 2.9) & (within <= 10.0) & force.known
    across = sampled(grid, recording.channel("force_z_mps2"))
    if across is not None:
        wide = grid.steps(1.1)
        other = rolling_spread(rolling_mean(across.values, grid.steps(HAND_S)), wide)
        shaken &= rolling_spread(slow, wide) > 1.5 * other
    return shaken


def shake_scores(grid: Grid, recording: Recording) -> Numbers:
    """Return the scores of the shake, shape (n, S): where nothing swings, nothing is shaken."""
    score = np.zeros((grid.size, COUNT))
    score[:, State.SHAKEN] = -SHAKE_PER_S * grid.step_s
    shaken = swings(grid, recording)
    if shaken is None:
        return score
    score[shaken, State.SHAKEN] = SHAKE_PER_S * grid.step_s
    for state in AIRBORNE:
        score[shaken, state] = -0.3 * SHAKE_PER_S * grid.step_s
    return score

"""The hidden states of a recording: which phase each stands for, how long it lasts and what can follow.

The durations are the trade's (common practice, no source): they say what is plausible, and evidence of a
second or two outweighs them. A rate is one over a mean duration; the chance of a move within a step of dt
is ``1 - exp(-rate dt)``.
"""

from __future__ import annotations

import math
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.launch import Phase

Numbers = NDArray[np.float64]


class State(IntEnum):
    """Hidden states. Drawing back belongs to the phase held, an aborted stroke to the phase stroke."""

    CARRIED = 0
    HELD = 1
    SHAKEN = 2
    DRAWN = 3
    STROKE = 4
    ABORTED = 5
    FREE = 6
    POWERED = 7
    CLIMB = 8
    HANDED_OVER = 9
    DOWN = 10


COUNT = len(State)

PHASES: dict[State, Phase] = {
    State.CARRIED: Phase.CARRIED,
    State.HELD: Phase.HELD,
    State.SHAKEN: Phase.SHAKEN,
    State.DRAWN: Phase.HELD,
    State.STROKE: Phase.STROKE,
    State.ABORTED: Phase.STROKE,
    State.FREE: Phase.FREE,
    State.POWERED: Phase.POWERED,
    State.CLIMB: Phase.CLIMB,
    State.HANDED_OVER: Phase.HANDED_OVER,
    State.DOWN: Phase.DOWN,
}

IN_THE_HAND = (State.CARRIED, State.HELD, State.SHAKEN, State.DRAWN, State.STROKE, State.ABORTED)
AIRBORNE = (State.FREE, State.POWERED, State.CLIMB, State.HANDED_OVER)

# From a state: its mean duration [s] and the shares of what follows.
FOLLOWS: dict[State, tuple[float, dict[State, float]]] = {
    State.CARRIED: (
        20.0,
        {State.HELD: 0.85, State.SHAKEN: 0.05, State.DRAWN: 0.06, State.STROKE: 0.02, State.ABORTED: 0.02},
    ),
    State.HELD: (
        8.0,
        {State.CARRIED: 0.4, State.SHAKEN: 0.15, State.DRAWN: 0.25, State.STROKE: 0.15, State.ABORTED: 0.05},
    ),
    State.SHAKEN: (
        2.0,
        {State.HELD: 0.8, State.CARRIED: 0.1, State.DRAWN: 0.05, State.STROKE: 0.04, State.ABORTED: 0.01},
    ),
    State.DRAWN: (0.7, {State.STROKE: 0.6, State.ABORTED: 0.2, State.HELD: 0.2}),
    State.STROKE: (0.4, {State.FREE: 0.7, State.POWERED: 0.25, State.CLIMB: 0.03, State.DOWN: 0.02}),
    State.ABORTED: (0.4, {State.HELD: 0.7, State.CARRIED: 0.3}),
    State.FREE: (1.5, {State.POWERED: 0.68, State.CLIMB: 0.1, State.HANDED_OVER: 0.02, State.DOWN: 0.2}),
    State.POWERED: (1.5, {State.CLIMB: 0.72, State.HANDED_OVER: 0.03, State.DOWN: 0.25}),
    State.CLIMB: (10.0, {State.HANDED_OVER: 0.9, State.DOWN: 0.1}),
    State.HANDED_OVER: (300.0, {State.DOWN: 1.0}),
    State.DOWN: (30.0, {State.CARRIED: 0.6, State.HELD: 0.395, State.STROKE: 0.004, State.DRAWN: 0.001}),
}

# How a recording can start: mostly in the hand or lying, which counts as held, now and then in the air.
START: dict[State, float] = {
    State.CARRIED: 0.4,
    State.HELD: 0.5,
    State.SHAKEN: 0.005,
    State.DRAWN: 0.005,
    State.STROKE: 0.002,
    State.ABORTED: 0.001,
    State.FREE: 0.001,
    State.POWERED: 0.001,
    State.CLIMB: 0.002,
    State.HANDED_OVER: 0.003,
    State.DOWN: 0.0,
}
THROUGH_A_BREAK = 0.02  # chance of each way on through time that was not recorded


def start_shares(*, from_outside: bool) -> Numbers:
    """Return the probabilities of the first state, shape (S,).

    ``from_outside``: speed or height is recorded; nothing else can tell that a recording starts in the air.
    """
    shares: Numbers = np.array([START[state] for state in State])
    if not from_outside:
        shares[list(AIRBORNE)] = 0.0
    total: Numbers = shares / shares.sum()
    return total


def step_table(step_s: float) -> Numbers:
    """Return the probabilities of every move within a step of ``step_s`` [s], shape (S, S)."""
    table = np.zeros((COUNT, COUNT))
    for state, (mean_s, follows) in FOLLOWS.items():
        leaves = -math.expm1(-step_s / mean_s)
        table[state, state] = 1.0 - leaves
        for after, share in follows.items():
            table[state, after] += leaves * share
    return table


def break_table(step_s: float) -> Numbers:
    """Return the same for a step over a time that was not recorded: any number of moves may have passed."""
    table = step_table(step_s)
    reach = np.linalg.matrix_power(table + np.eye(COUNT), COUNT) > 0.0
    table = table + THROUGH_A_BREAK * reach
    shares: Numbers = table / table.sum(axis=1, keepdims=True)
    return shares

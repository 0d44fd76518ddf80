"""The cues of the motor: throttle asked for, current, speed of the propeller.

A motor that is off speaks against powered flight; one that is on speaks only mildly against the hand, for
a model may spin up in the hand.
"""

from __future__ import annotations

import numpy as np

from overarm.recordings.cues.grid import Flags, Grid, Numbers, sampled
from overarm.recordings.recording import Recording
from overarm.recordings.states import COUNT, State

THROTTLE_ON = 0.04
CURRENT_ON_A = 0.5
SPIN_ON_RADPS = 130.0  # a propeller that the air turns stays below
OFF_PER_S = 5.0
ON_PER_S = 5.0
ON_IN_HAND_PER_S = 0.6
ON_DOWN_PER_S = 1.5


def idle_current(recording: Recording) -> float:
    """Return the current [A] that the pack gives with the motor off: the low part of what is recorded."""
    channel = recording.channel("current_a")
    return float(np.quantile(channel.values, 0.05)) if channel is not None else 0.0


def motor_on(grid: Grid, recording: Recording) -> tuple[Flags, Flags] | None:
    """Return where the motor is on, and where that is known; None without a channel that tells."""
    for name, level in (
        ("throttle", THROTTLE_ON),
        ("current_a", idle_current(recording) + CURRENT_ON_A),
        ("propeller_radps", SPIN_ON_RADPS),
    ):
        channel = sampled(grid, recording.channel(name))
        if channel is not None:
            return channel.values > level, channel.known
    return None


def drive_scores(grid: Grid, recording: Recording, *, in_hand: bool) -> Numbers:
    """Return the scores of the motor, shape (n, S); ``in_hand``: the setup spins up in the hand."""
    score = np.zeros((grid.size, COUNT))
    found = motor_on(grid, recording)
    if found is None:
        return score
    on, known = found
    off = known & ~on
    on = known & on
    score[off, State.POWERED] -= OFF_PER_S
    score[off, State.CLIMB] -= OFF_PER_S
    score[off, State.HANDED_OVER] -= 0.02
    score[on, State.FREE] -= ON_PER_S
    score[on, State.DOWN] -= ON_DOWN_PER_S
    score[on, State.CARRIED] -= ON_IN_HAND_PER_S * (1.0 if in_hand else 2.0)
    if not in_hand:
        score[on, State.HELD] -= ON_IN_HAND_PER_S
    return score * grid.step_s

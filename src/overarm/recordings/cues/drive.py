"""The cues of the motor: throttle asked for, current, speed of the propeller.

A motor that is off speaks against powered flight; one that is on speaks only mildly against the hand, for
a model may spin up in the hand.
"""

from __future__ import annotations

import numpy as np

from overarm.recordings.cues.grid import Flags, Grid, Numbers, rolling_mean, sampled
from overarm.recordings.recording import Recording
from overarm.recordings.states import COUNT, State

THROTTLE_ON = 0.04
CURRENT_ON_A = 0.5
SPIN_ON_RADPS = 130.0  # a propeller that the air turns stays below
VIBRATION_LEAST_HZ = 45.0
VIBRATION_S = 0.25
VIBRATION_HOLDS_S = 0.6  # a blow is over sooner
VIBRATION_LEAST_MPS2 = 0.05
VIBRATION_TIMES = 3.0
OFF_PER_S = 5.0
ON_PER_S = 5.0
ON_IN_HAND_PER_S = 0.6
ON_DOWN_PER_S = 1.5


def idle_current(recording: Recording) -> float:
    """Return the current [A] that the pack gives with the motor off: the low part of what is recorded."""
    channel = recording.channel("current_a")
    return float(np.quantile(channel.values, 0.05)) if channel is not None else 0.0


def motor_on(grid: Grid, recording: Recording) -> tuple[Flags, Flags] | None:
    """Return where the motor is on, and where that is known; None without a channel that tells.

    Told by throttle, else current, else the speed of the propeller, else vibration.
    """
    for name, level in (
        ("throttle", THROTTLE_ON),
        ("current_a", idle_current(recording) + CURRENT_ON_A),
        ("propeller_radps", SPIN_ON_RADPS),
    ):
        channel = sampled(grid, recording.channel(name))
        if channel is not None:
            return channel.values > level, channel.known
    return _told_by_vibration(grid, recording)


def vibration(recording: Recording) -> tuple[Numbers, Numbers, float] | None:
    """Return (times, level of the quick part of the forces, that level at rest) [s, m/s2, m/s2].

    The quick part is the fourth difference over root 70, which leaves white noise as it is and takes out
    what a hand does. The level is the lower of those before and after, so that a blow leaves none. None
    where the forces come too seldom.
    """
    channel = recording.channel("force_z_mps2") or recording.channel("force_x_mps2")
    if channel is None or channel.rate_hz < VIBRATION_LEAST_HZ or channel.t_s.size < 100:
        return None
    wide = max(4, round(VIBRATION_S * channel.rate_hz))
    level = rolling_mean(np.abs(np.diff(channel.values, 4)) / 70.0**0.5, wide)
    half = wide // 2 + 2
    lower = np.minimum(level[np.maximum(np.arange(level.size) - half, 0)], np.roll(level, -half))
    lower[-half:] = level[-half:]
    rest = max(VIBRATION_LEAST_MPS2, float(np.quantile(level, 0.2)))
    return channel.t_s[2:-2], lower, rest


def shaken_by_motor(level: Numbers, rest: float, rate_hz: float) -> Flags:
    """Return where the level of vibration is that of a motor, and stays so for a while."""
    loud = (level > VIBRATION_TIMES * rest).astype(float)
    found: Flags = rolling_mean(loud, max(1, round(VIBRATION_HOLDS_S * rate_hz))) > 0.6
    return found


def _told_by_vibration(grid: Grid, recording: Recording) -> tuple[Flags, Flags] | None:
    """Return the same from vibration, which tells only that a motor is on: what it shakes may be aliased."""
    found = vibration(recording)
    if found is None:
        return None
    t_s, level, rest = found
    on = shaken_by_motor(level, rest, (t_s.size - 1) / float(t_s[-1] - t_s[0]))
    place = np.clip(np.searchsorted(t_s, grid.t_s), 0, t_s.size - 1)
    return on[place], on[place]


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

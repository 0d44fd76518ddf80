"""False starts, early starts and missed gestures, for one level and dwell or for all of a grid."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.errors import Cancelled
from overarm.recordings.recording import Numbers
from overarm.trigger.hear import Heard
from overarm.trigger.runs import NONE
from overarm.trigger.settings import Listening

LEVELS_MPS2: Numbers = np.concatenate([np.arange(1, 40) * 0.5, np.arange(20.0, 61.0)])  # 0.5 to 60
DWELLS_S: Numbers = np.arange(2, 41, dtype=np.float64) / 100.0  # 0.02 to 0.40

Whole = NDArray[np.int64]


class Counts(NamedTuple):
    """What happens for each level and dwell; arrays of shape (levels, dwells) unless said otherwise."""

    levels_mps2: Numbers
    dwells_s: Numbers
    false: Whole  # starts while carried
    carry_s: Numbers  # how long it listened to carries
    other: Whole  # starts in recordings of other things
    other_s: Numbers
    early: Whole  # gestures that started it before they began
    missed: Whole  # gestures that did not start it
    early_by_s: Numbers  # the longest time before its gesture at which one of these started it
    gestures: int
    carry_longest_s: Numbers  # (levels,) longest time over the level while carried
    gesture_longest_s: Numbers  # (gestures, levels) the same in each gesture


def _wanted(heard: Heard, listening: Listening) -> bool:
    """Return whether the gestures of a recording have to start the motor."""
    return listening.starts in ("either", heard.label.label)


def count(
    heard: Sequence[Heard],
    listening: Listening,
    levels_mps2: Numbers,
    dwells_s: Numbers,
    tick: Callable[[float], None] = lambda _share: None,
    cancelled: Callable[[], bool] = lambda: False,
) -> Counts:
    """Count over recordings; those of gestures that do not start this style are passed over.

    Raises Cancelled between two recordings if that is asked for.
    """
    shape = (levels_mps2.size, dwells_s.size)
    false, other, early, missed = (np.zeros(shape, dtype=np.int64) for _ in range(4))
    carry_s, other_s, early_by_s = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    carry_longest, lasts = np.zeros(levels_mps2.size), []
    for place, one in enumerate(heard):
        if cancelled():
            raise Cancelled
        series, label = one.series, one.label.label
        size = series.cue.t_s.size
        if label in ("carry", "other") and size:
            found = series.grid(levels_mps2, dwells_s, 0, size)
            total, time = (false, carry_s) if label == "carry" else (other, other_s)
            total += found.starts
            time += one.heard_s - found.held_s
            if label == "carry":
                carry_longest = np.maximum(carry_longest, found.longest_s)
        for gesture in one.gestures if _wanted(one, listening) else ():
            first = series.grid(levels_mps2, dwells_s, gesture.listens, gesture.ends).first
            missed += first == NONE
            too_early = (first != NONE) & (first < gesture.begins)
            early += too_early
            before_s = series.cue.t_s[gesture.begins] - series.cue.t_s[np.maximum(first, 0)]
            early_by_s = np.maximum(early_by_s, np.where(too_early, before_s, 0.0))
            lasts.append(series.grid(levels_mps2, dwells_s[:1], gesture.begins, gesture.ends).longest_s)
        tick((place + 1) / len(heard))
    longest = np.stack(lasts) if lasts else np.zeros((0, levels_mps2.size))
    return Counts(
        levels_mps2, dwells_s, false, carry_s, other, other_s, early, missed, early_by_s, len(lasts),
        carry_longest, longest,
    )  # fmt: skip

"""Several samples with one time: the first one is kept."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overarm.odds.finding import Word
from overarm.recordings.mend.parts import Clock, changed, clocks, counted, kept, places, whose
from overarm.recordings.recording import Channel, Recording, Repair

SHORTEST_S = 1e-6  # samples closer than this have one time


def leave_out_duplicates(recording: Recording) -> Recording:
    """Keep the first of the samples with one time; say how many of the others said something else."""
    channels: dict[str, Channel] = {}
    repairs = []
    for clock in clocks(recording):
        again = np.concatenate(([False], np.diff(clock.t_s) < SHORTEST_S))
        if not again.any():
            continue
        keep = ~again
        t_s = clock.t_s[keep]
        for name in clock.names:
            channel = kept(recording.channels[name], keep, "samples of equal times left out")
            channels[name] = Channel(t_s, channel.values, channel.source)
        repairs.append(_told(recording, clock, np.flatnonzero(again), np.flatnonzero(keep)))
    return changed(recording, channels, repairs)


def _told(recording: Recording, clock: Clock, again: NDArray[np.int64], first: NDArray[np.int64]) -> Repair:
    kept_one = first[np.searchsorted(first, again, side="right") - 1]
    unlike = np.zeros(again.size, dtype=np.bool_)
    for name in clock.names:
        values = recording.channels[name].values
        unlike |= values[again] != values[kept_one]
    filed, said = whose(recording, clock.names)
    at_s = clock.t_s[again]
    sentence = f"{counted(again.size, 'sample')} of {said} had the time of the one before and were left out"
    if unlike.any():
        sentence += f"; {int(unlike.sum())} of them held other values than the one that is kept"
    word: Word = "watch" if unlike.any() else "good"
    return Repair(
        "duplicate",
        filed,
        int(again.size),
        f"{sentence}. First {places(at_s)}.",
        word,
        float(at_s.min()),  # a time may lie a hair before the one that it repeats
        float(at_s.max()),
    )

"""What the steps share: clocks that several channels have in common, cuts, and words for places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.recording import Channel, Numbers, Recording, Repair

Mask = NDArray[np.bool_]
NAMED_PLACES = 3
LOOKED_AT = 64  # times that tell clocks apart before all of them are compared
LONGEST_STEP_AHEAD_S = 3600.0  # a clock that goes further in one step has jumped
LATEST_S = 1e10  # three hundred years: no clock of a recorder counts that far
MOST_STEPS = 20_000


class Clock(NamedTuple):
    """The times [s] of some channels that were sampled together."""

    t_s: Numbers
    names: tuple[str, ...]


def clocks(recording: Recording) -> list[Clock]:
    """Return the channels that have a sample, put together by equal times, in the order of the channels."""
    alike: dict[tuple[int, bytes], list[tuple[Numbers, list[str]]]] = {}
    found: list[tuple[Numbers, list[str]]] = []
    for name, channel in recording.channels.items():
        if not channel.t_s.size:
            continue
        some = channel.t_s[:: 1 + channel.t_s.size // LOOKED_AT].tobytes()
        candidates = alike.setdefault((channel.t_s.size, some), [])
        for t_s, names in candidates:
            if t_s is channel.t_s or np.array_equal(t_s, channel.t_s):
                names.append(name)
                break
        else:
            candidates.append((channel.t_s, [name]))
            found.append(candidates[-1])
    return [Clock(t_s, tuple(names)) for t_s, names in found]


def usual_step(t_s: Numbers) -> float:
    """Return the median of the steps that lead forward [s], of some if there are many; 0 if there is none."""
    steps = np.diff(t_s)
    ahead = steps[:: (steps.size // MOST_STEPS) | 1]
    ahead = ahead[(ahead > 0.0) & (ahead <= LONGEST_STEP_AHEAD_S)]
    return float(np.median(ahead)) if ahead.size else 0.0


def kept(channel: Channel, keep: Mask, done: str) -> Channel:
    """Return a channel without the samples for which ``keep`` (n,) is False, and what was done to it."""
    return Channel(channel.t_s[keep], channel.values[keep], f"{channel.source}; {done}")


def changed(
    recording: Recording, channels: Mapping[str, Channel], repairs: Iterable[Repair] = ()
) -> Recording:
    """Return the recording with some channels changed, and with those repairs that it does not list yet."""
    new = tuple(repair for repair in dict.fromkeys(repairs) if repair not in recording.repairs)
    if not channels and not new:
        return recording
    return replace(
        recording,
        channels={**recording.channels, **channels},
        repairs=(*recording.repairs, *new),
    )


def listed(recording: Recording, defect: str, channel: str) -> bool:
    """Return True if this defect of this channel was found before."""
    return any(repair.defect == defect and repair.channel == channel for repair in recording.repairs)


def whose(recording: Recording, names: tuple[str, ...]) -> tuple[str, str]:
    """Return the channel that a repair of a clock is filed under, and how a sentence names its channels."""
    if len(names) == 1:
        return names[0], names[0]
    with_samples = sum(1 for channel in recording.channels.values() if channel.t_s.size)
    if len(names) == with_samples:
        return "", "all channels"
    return names[0], f"{names[0]} and the {counted(len(names) - 1, 'channel')} of the same times"


def counted(number: int, thing: str) -> str:
    """Return a number with its thing, in the plural where it must be."""
    plural = thing if number == 1 else f"{thing}s"
    return f"{number:,} {plural}"


def often(number: int) -> str:
    """Return in words how often something happened."""
    return {1: "once", 2: "twice"}.get(number, f"{number:,} times")


def places(times_s: Numbers) -> str:
    """Return in words where something is: its first times, and how many more there are."""
    first = ", ".join(f"{t:.2f}" for t in times_s[:NAMED_PLACES])
    more = times_s.size - NAMED_PLACES
    return f"at {first} s" + (f" and {more} more" if more > 0 else "")


def runs(true: Mask) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the first index of each run of True, and the index after its last; both of shape (runs,)."""
    edge = np.diff(np.concatenate(([False], true, [False])).astype(np.int8))
    return np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)

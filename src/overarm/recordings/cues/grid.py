"""The common grid of times of the cues, and channels brought onto it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.channels import FORCES
from overarm.recordings.recording import Channel, Recording

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.int64]

MOST_HZ = 50.0
LEAST_HZ = 10.0
MOST_STEPS = 1_500_000  # eight hours at 50 Hz; longer recordings get a coarser grid
STEPS_A_SAMPLE = 60  # of the channel with the most samples; a few samples over days need no fine grid
FEW_STEPS = 10_000  # that any recording may have
HOLE_LEAST_S = 3.0  # a time without any sample that the model is taken to have spent unseen
HOLE_S = 0.25  # a channel says nothing at times farther than this, or 1.5 of its steps, from a sample


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Times of even step but for long holes, which it leaves out.

    ``part`` counts the breaks of the recording and the holes before each time, ``hole`` the holes alone.
    """

    t_s: Numbers
    step_s: float
    part: Places
    hole: Places
    _timings: list[_Timing] = field(default_factory=list, init=False, repr=False)  # met so far
    _sampled: dict[int, tuple[Channel, Sampled]] = field(default_factory=dict, init=False, repr=False)

    @property
    def size(self) -> int:
        """Return how many times there are."""
        return int(self.t_s.size)

    def place(self, t_s: float) -> int:
        """Return the place of the grid that is nearest to a time."""
        return int(np.clip(np.searchsorted(self.t_s, t_s - 0.5 * self.step_s), 0, self.size - 1))

    def steps(self, time_s: float) -> int:
        """Return how many steps a time is, one at least."""
        return max(1, round(time_s / self.step_s))


def grid_of(recording: Recording) -> Grid:
    """Return the grid of a recording with at least one sample."""
    rates = [channel.rate_hz for name in FORCES if (channel := recording.channel(name)) is not None]
    rate = min(MOST_HZ, max([LEAST_HZ, *rates]))
    from_s, to_s = recording.from_s, recording.to_s
    samples = max(channel.t_s.size for channel in recording.channels.values())
    most = min(MOST_STEPS, max(FEW_STEPS, STEPS_A_SAMPLE * samples))
    rate = min(rate, most / max(1.0, to_s - from_s))
    t_s = from_s + np.arange(int((to_s - from_s) * rate + 1e-6) + 1) / rate
    part = np.searchsorted(np.sort(np.asarray(recording.breaks_s, float)), t_s, side="right")
    hole = np.zeros(t_s.size, np.int64)
    kept = np.ones(t_s.size, bool)
    for begin_s, end_s in holes_of(recording):
        kept &= (t_s <= begin_s) | (t_s >= end_s)
        hole += t_s >= end_s
    return Grid(t_s[kept], 1.0 / rate, (part + hole)[kept].astype(np.int64), hole[kept])


def holes_of(recording: Recording) -> list[tuple[float, float]]:
    """Return the times in which no channel has a sample for `HOLE_LEAST_S`, where that is not usual [s]."""
    times = [channel.t_s for channel in recording.channels.values() if channel.t_s.size]
    usual = min(
        (1.0 / channel.rate_hz for channel in recording.channels.values() if channel.rate_hz), default=0
    )
    if not times:
        return []
    least = max(HOLE_LEAST_S, 4.0 * usual)
    t_s = np.sort(np.concatenate(_unlike(times)), kind="stable")  # runs that rise are merged, not sorted
    long = np.flatnonzero(np.diff(t_s) > least)
    return [(float(t_s[k]), float(t_s[k + 1])) for k in long]


def _unlike(times: list[Numbers]) -> list[Numbers]:
    """Return the times of channels without those that are the same: those of one table often are."""
    found: list[Numbers] = []
    for one in times:
        if not any(one.size == other.size and np.array_equal(one, other) for other in found):
            found.append(one)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Sampled:
    """A channel on a grid: its values, and where it says anything. Elsewhere it holds the nearest."""

    values: Numbers
    known: Flags
    period_s: float


@dataclass(frozen=True, slots=True, eq=False)
class _Timing:
    """What follows from the times of a channel alone: channels of one table share it."""

    t_s: Numbers
    period_s: float
    place: Places | None  # of the grid, each sample; None where the samples are not denser than the grid
    count: Numbers  # of samples around each time of the grid, where there is any
    at_s: Numbers  # mean time of these, or the times as they are
    known: Flags


def sampled(grid: Grid, channel: Channel | None) -> Sampled | None:
    """Return a channel on the grid, averaged over a step if it is denser than the grid; None for None.

    The same channel is worked out once; its arrays are not to be written to.
    """
    if channel is None or channel.t_s.size < 2 or channel.rate_hz <= 0.0:
        return None
    if id(channel) not in grid._sampled:
        timing = _timing_of(grid, channel)
        values = channel.values
        if timing.place is not None:
            total = np.bincount(timing.place, weights=values, minlength=grid.size)
            values = total[_there(timing.place, grid)] / timing.count
        on_grid = np.interp(grid.t_s, timing.at_s, values)
        on_grid.setflags(write=False)
        grid._sampled[id(channel)] = channel, Sampled(on_grid, timing.known, timing.period_s)
    return grid._sampled[id(channel)][1]


def _there(place: Places, grid: Grid) -> Flags:
    found = np.zeros(grid.size, np.bool_)
    found[place] = True
    return found


def _timing_of(grid: Grid, channel: Channel) -> _Timing:
    """Return what was worked out for the same times, or work it out."""
    t_s = channel.t_s
    for one in grid._timings:
        if one.t_s is t_s or (one.t_s.size == t_s.size and np.array_equal(one.t_s, t_s)):
            return one
    found = _timing(grid, t_s, 1.0 / channel.rate_hz)
    grid._timings.append(found)
    return found


def _timing(grid: Grid, t_s: Numbers, period_s: float) -> _Timing:
    """Return where the samples lie on the grid: the means of those around each time of it that has any."""
    place, count, at_s = None, np.zeros(0), t_s
    if period_s < 0.75 * grid.step_s:
        place = np.searchsorted(grid.t_s, t_s - 0.5 * grid.step_s)
        place = np.clip(place, 0, grid.size - 1).astype(np.int64)
        there = _there(place, grid)
        count = np.bincount(place, minlength=grid.size)[there].astype(np.float64)
        at_s = np.bincount(place, weights=t_s, minlength=grid.size)[there] / count
    after = np.searchsorted(at_s, grid.t_s)
    before_s = np.abs(grid.t_s - at_s[np.clip(after - 1, 0, at_s.size - 1)])
    after_s = np.abs(at_s[np.clip(after, 0, at_s.size - 1)] - grid.t_s)
    known: Flags = np.minimum(before_s, after_s) <= max(HOLE_S, 1.5 * period_s)
    known.setflags(write=False)
    return _Timing(t_s, period_s, place, count, at_s, known)


def rolling_mean(values: Numbers, steps: int) -> Numbers:
    """Return the mean over ``steps`` values around each one; fewer at the ends."""
    sums = np.concatenate(([0.0], np.cumsum(values)))
    half = steps // 2
    place = np.arange(values.size)
    low = np.maximum(0, place - half)
    high = np.minimum(values.size, place - half + steps)
    high = np.maximum(high, low + 1)
    mean: Numbers = (sums[high] - sums[low]) / (high - low)
    return mean


def rolling_spread(values: Numbers, steps: int) -> Numbers:
    """Return the standard deviation over ``steps`` values around each one."""
    centred = values - float(np.mean(values)) if values.size else values
    mean = rolling_mean(centred, steps)
    spread: Numbers = np.sqrt(np.maximum(0.0, rolling_mean(centred * centred, steps) - mean * mean))
    return spread

"""How often a cue fires for many levels and dwells at once.

The times over a level are found once; every dwell is then answered by looking at those times alone. The
counts are those of `overarm.recordings.replay.walk_through`, which a test compares on noise.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.jit import over_samples
from overarm.physics.trigger import Trigger, in_pose, still_credit
from overarm.recordings.cue import Cue
from overarm.recordings.recording import Numbers
from overarm.recordings.replay import REARM_S, arrays_of, walk_through

_SLACK_S = 1e-9
NONE = -1


class Grid(NamedTuple):
    """What a part of a recording does for each level and dwell; arrays of shape (levels, dwells)."""

    starts: NDArray[np.int64]  # how often it fires
    held_s: Numbers  # how long it did not listen, having fired
    first: NDArray[np.int64]  # the sample that fires first; NONE
    longest_s: Numbers  # (levels,) longest time over the level at which a jerk may count


@over_samples
def _admitted(trigger: Trigger, cue: Any) -> Any:
    """Return 1 where a jerk may count: in the pose window, and armed by having been still."""
    _, pitch, bank, _, still, step, begins = cue
    out = np.zeros(step.size)
    credit, armed = 0.0, 0.0
    for i in range(step.size):
        if begins[i]:
            credit, armed = 0.0, 0.0
        credit, armed = still_credit(trigger, credit, armed, still[i], step[i])
        out[i] = 1.0 if armed > 0.5 and in_pose(trigger, pitch[i], bank[i]) else 0.0
    return out


@over_samples
def _runs(series: Any, level: float, first: int, last: int) -> Any:
    """Return (starts, ends, longest time over the level at which a jerk may count) of each time over it."""
    metric, admitted, step, begins = series[:4]
    most = last - first
    starts, ends = np.zeros(most, dtype=np.int64), np.zeros(most, dtype=np.int64)
    best = np.zeros(most)
    n, running, above = 0, False, 0.0
    for i in range(first, last):
        if metric[i] <= level:
            running = False
            continue
        if not running or begins[i]:
            running, above = True, 0.0
            starts[n] = i
            best[n] = -1.0
            n += 1
        above += step[i]
        ends[n - 1] = i
        if admitted[i] > 0.5:
            best[n - 1] = above
    return starts[:n], ends[:n], best[:n]


@over_samples
def _fires_at(series: Any, start: int, dwell_s: float) -> int:
    """Return the sample of a time over the level, begun at ``start``, at which it fires."""
    _, admitted, step = series[:3]
    above, i = step[start], start
    while not (admitted[i] > 0.5 and above >= dwell_s - _SLACK_S):
        i += 1
        above += step[i]
    return i


@over_samples
def _listens_at(series: Any, ends_at: int, last: int) -> int:
    """Return the last sample that is not listened to after a time over the level that ends at ``ends_at``."""
    step, begins = series[2], series[3]
    under, i = 0.0, ends_at
    while i + 1 < last and not begins[i + 1] and under < REARM_S - _SLACK_S:
        i += 1
        under += step[i]
    return i


@over_samples
def _grid(series: Any, levels: Any, dwells: Any, first: int, last: int) -> Any:
    """Return (counts, held times [s], first firing samples, longest times [s])."""
    total, broken = series[4], series[5]
    shape = (levels.size, dwells.size)
    count, held = np.zeros(shape, dtype=np.int64), np.zeros(shape)
    first_at, longest = np.full(shape, NONE), np.zeros(levels.size)
    for a in range(levels.size):
        starts, ends, best = _runs(series, levels[a], first, last)
        for k in range(starts.size):
            longest[a] = max(longest[a], best[k])
        for b in range(dwells.size):
            k = 0
            while k < starts.size:
                if best[k] < dwells[b] - _SLACK_S or best[k] < 0.0:
                    k += 1
                    continue
                at = _fires_at(series, starts[k], dwells[b])
                count[a, b] += 1
                first_at[a, b] = at if first_at[a, b] == NONE else first_at[a, b]
                while (
                    k + 1 < starts.size
                    and broken[starts[k + 1]] == broken[ends[k]]
                    and total[starts[k + 1] - 1] - total[ends[k]] < REARM_S - _SLACK_S
                ):
                    k += 1
                held[a, b] += total[_listens_at(series, ends[k], last)] - total[at]
                k += 1
    return count, held, first_at, longest


def by_runs(trigger: Trigger) -> bool:
    """Return whether one jerk alone decides: no pair of jerks and no speed gate."""
    return trigger.jerks < 1.5 and trigger.speed_gate_mps <= 0.0


class Series(NamedTuple):
    """A cue, made ready for many levels and dwells of one trigger."""

    trigger: Trigger
    cue: Cue
    admitted: Numbers

    def grid(self, levels: Numbers, dwells: Numbers, first: int, last: int) -> Grid:
        """Return what samples ``first`` to ``last`` (not in it) do for levels [m/s2] and dwells [s]."""
        cue = self.cue
        series = (
            cue.metric_mps2, self.admitted, cue.step_s, cue.begins,
            np.cumsum(cue.step_s), np.cumsum(cue.begins),
        )  # fmt: skip
        if by_runs(self.trigger):
            return Grid(*_grid(series, levels, dwells, first, last))
        longest = _grid(series, levels, dwells[:1], first, last)[3]
        return self._walked(levels, dwells, (first, last), longest)

    def _walked(self, levels: Numbers, dwells: Numbers, span: tuple[int, int], longest: Numbers) -> Grid:
        """Return the same for pairs of jerks and speed gates, sample by sample for each level and dwell."""
        shape = (levels.size, dwells.size)
        found = Grid(
            np.zeros(shape, dtype=np.int64), np.zeros(shape), np.full(shape, NONE, dtype=np.int64), longest
        )
        for a, level in enumerate(levels):
            for b, dwell in enumerate(dwells):
                trigger = self.trigger._replace(level_mps2=float(level), dwell_s=float(dwell))
                at, _, _, held = walk_through(trigger, arrays_of(self.cue), *span)
                found.starts[a, b], found.held_s[a, b] = at.size, held
                if at.size:
                    found.first[a, b] = at[0]
        return found


def series_of(trigger: Trigger, cue: Cue) -> Series:
    """Return a cue made ready; the trigger is the one that the recording can answer for (`asked`)."""
    return Series(trigger, cue, _admitted(trigger, arrays_of(cue)))

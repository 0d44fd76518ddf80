"""From the most likely order of hidden states to stretches of time, and from those to launches."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.cues.grid import Grid
from overarm.recordings.launch import Kind
from overarm.recordings.states import AIRBORNE, IN_THE_HAND, State


class Stretch(NamedTuple):
    """Time in one hidden state [s]."""

    state: State
    from_s: float
    to_s: float


class Rough(NamedTuple):
    """A launch, or an attempt, or a flight that was under way, as stretches in the order of time."""

    kind: Kind
    stretches: tuple[Stretch, ...]
    broken: bool  # the recording breaks in flight

    @property
    def from_s(self) -> float:
        """Return when it starts [s]."""
        return self.stretches[0].from_s

    @property
    def to_s(self) -> float:
        """Return when it ends [s]."""
        return self.stretches[-1].to_s

    def first(self, *states: State) -> Stretch | None:
        """Return the first stretch in one of some states."""
        return next((s for s in self.stretches if s.state in states), None)


def stretches_of(grid: Grid, path: NDArray[np.int64], to_s: float) -> list[Stretch]:
    """Return the stretches of a path over the grid, the last one up to the end of the recording."""
    changes = np.flatnonzero(np.diff(path)) + 1
    firsts = np.concatenate(([0], changes))
    starts = grid.t_s[firsts] - np.where(firsts > 0, 0.5 * grid.step_s, 0.0)
    ends = np.concatenate((starts[1:], [to_s]))
    return [
        Stretch(State(int(path[k])), float(a), float(b)) for k, a, b in zip(firsts, starts, ends, strict=True)
    ]


def launches_of(stretches: list[Stretch], holes: list[tuple[float, float]]) -> list[Rough]:
    """Return the launches among stretches. ``holes``: long times without a sample [s]."""
    found: list[Rough] = []
    waiting: list[Stretch] = []
    k = 0
    while k < len(stretches):
        stretch = stretches[k]
        if stretch.state == State.ABORTED:
            found.append(Rough("aborted throw", (*waiting, stretch), False))
            waiting, k = [], k + 1
        elif stretch.state == State.STROKE or stretch.state in AIRBORNE:
            rough, k = _flight(stretches, k, waiting, holes)
            found.append(rough)
            waiting = []
        else:
            waiting = [*waiting, stretch] if stretch.state in IN_THE_HAND else []
            k += 1
    return found


def _flight(
    stretches: list[Stretch], k: int, waiting: list[Stretch], holes: list[tuple[float, float]]
) -> tuple[Rough, int]:
    follows = bool(waiting) and not any(a <= waiting[-1].to_s <= b for a, b in holes)
    kind: Kind = "launch" if stretches[k].state == State.STROKE or follows else "already in the air"
    used = list(waiting)
    while k < len(stretches) and stretches[k].state in (State.STROKE, *AIRBORNE):
        if stretches[k].state == State.STROKE and used and used[-1].state in AIRBORNE:
            break
        used.append(stretches[k])
        k += 1
        hole = next((h for h in holes if used[-1].from_s < h[0] < used[-1].to_s), None)
        if hole is not None:
            used[-1] = used[-1]._replace(to_s=hole[0])
            rest = stretches[k - 1]._replace(from_s=hole[1])
            stretches[k - 1 : k] = [stretches[k - 1], rest]
            return Rough(kind, tuple(used), True), k
    if k < len(stretches) and stretches[k].state == State.DOWN:
        used.append(stretches[k])
        k += 1
    return Rough(kind, tuple(used), False), k

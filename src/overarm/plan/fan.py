"""The launch fan: how high and how far to the side the launches are over distance ahead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overarm.flight.paths import Paths
from overarm.plan.result import Fan

Floats = NDArray[np.float64]

COLUMNS = 121
SHOWN_PATHS = 40
TAIL_POINTS = 150
COURSE_POINTS = 10
FEWEST_THERE = 10
LEAST_REACH_M = 50.0
MOST_REACH_M = 800.0


@dataclass(frozen=True, slots=True, eq=False)
class Tracks:
    """Paths that go on after the handover: level, straight, the way they were flying."""

    points_m: Floats  # (n, m, 3): ahead, right, height; a path that ended stays at its last place
    handed_over: NDArray[np.bool_]  # (n,)

    @property
    def count(self) -> int:
        """Return how many launches were released."""
        return len(self.points_m)


def continued(paths: Paths, tail_m: float) -> Tracks:
    """Return the paths with a level, straight tail after the handover.

    The course of the tail is that of the last moments before it; launches that were not handed over end
    where the engine ended them.
    """
    points, goes_on = paths.points_m, paths.handed_over
    last = points[:, -1, :]
    course = last[:, :2] - points[:, -1 - COURSE_POINTS, :2]
    length = np.maximum(np.hypot(course[:, 0], course[:, 1]), 1e-9)[:, None]
    steps = np.linspace(0.0, 1.0, TAIL_POINTS + 1)[1:] * tail_m
    along = np.where(goes_on[:, None], course / length, 0.0)
    tail = np.repeat(last[:, None, :], TAIL_POINTS, axis=1)
    tail[:, :, :2] += along[:, None, :] * steps[None, :, None]
    return Tracks(np.concatenate([points, tail], axis=1), goes_on)


def reach_of(paths: Paths, farthest_m: float) -> float:
    """Return how far ahead [m] the fan is looked at: past the handover and past the farthest obstacle."""
    ahead = paths.points_m[:, -1, 0]
    usual = float(np.quantile(ahead, 0.95)) if len(ahead) else 0.0
    return float(min(MOST_REACH_M, max(LEAST_REACH_M, 1.2 * usual, farthest_m + 20.0)))


def _first_passages(tracks: Tracks, grid: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return (right, height, is there) of each launch when it first is so far ahead, shape (n, k)."""
    shape = (tracks.count, len(grid))
    right, height, there = np.empty(shape), np.empty(shape), np.empty(shape, np.bool_)
    for k, track in enumerate(tracks.points_m):
        ahead = np.maximum.accumulate(track[:, 0])
        right[k] = np.interp(grid, ahead, track[:, 1])
        height[k] = np.interp(grid, ahead, track[:, 2])
        there[k] = grid <= ahead[-1]
    return right, height, there


def handover_place(paths: Paths) -> tuple[float, float, float]:
    """Return the median handover: ahead, right [m] and time from release [s]; of all ends if none was."""
    chosen = paths.handed_over if paths.handed_over.any() else np.ones(len(paths.launch), np.bool_)
    if not chosen.any():
        return 0.0, 0.0, 0.0
    ends = np.median(paths.points_m[chosen, -1, :], axis=0)
    rows = paths.table[paths.launch[chosen]]
    time_s = float(np.median(rows["end_s"] - rows["release_s"]))
    return float(ends[0]), float(ends[1]), time_s


def fan_of(paths: Paths, tracks: Tracks, reach_m: float) -> Fan:
    """Return the percentiles over distance ahead, as far as ten launches get.

    A launch that came down before counts as height 0; one that is still up but turned away is left out.
    """
    grid = np.linspace(0.0, reach_m, COLUMNS)
    right, height, there = _first_passages(tracks, grid)
    enough = np.flatnonzero(there.sum(axis=0) >= min(FEWEST_THERE, max(1, tracks.count)))
    grid = grid[: int(enough[-1]) + 1] if len(enough) else grid[:1]
    columns = np.zeros((6, len(grid)))
    for k in range(len(grid)):
        here = there[:, k]
        if here.any():
            columns[:3, k] = np.quantile(right[here, k], (0.05, 0.5, 0.95))
            down = int(np.count_nonzero(~here & ~tracks.handed_over))
            heights = np.concatenate([height[here, k], np.zeros(down)])
            columns[3:, k] = np.quantile(heights, (0.05, 0.5, 0.95))
    flown = max(1, len(paths.table))
    ahead_m, right_m, time_s = handover_place(paths)
    shown = tracks.points_m[:: max(1, tracks.count // SHOWN_PATHS)][:SHOWN_PATHS]
    names = tuple(f"{what}_{part}_m" for what in ("right", "height") for part in ("p5", "p50", "p95"))
    return Fan(
        ahead_m=grid,
        **dict(zip(names, columns, strict=True)),
        share_there=there[:, : len(grid)].sum(axis=0) / flown,
        paths=tuple(_trimmed(track, reach_m) for track in shown),
        handover_ahead_m=ahead_m,
        handover_right_m=right_m,
        handover_time_s=time_s,
        handed_over_share=float(paths.handed_over.sum()) / flown,
    )


def _trimmed(track: Floats, reach_m: float) -> Floats:
    """Return every second point of a path, as far as the fan goes and without standing still."""
    moves = np.concatenate([[True], np.any(np.diff(track, axis=0) != 0.0, axis=1)])
    within = track[:, 0] <= reach_m
    return np.ascontiguousarray(track[moves & within][::2])

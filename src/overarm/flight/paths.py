"""The ground paths of many launches: ahead, to the right and up, evenly spaced from release to the end.

The launches are those of a campaign of the same seed, number by number. Memory: 24 bytes a point
and 3 MB for the samples of one launch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numba
import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import Inputs, blank_summary, fly_one
from overarm.flight.draw import draw
from overarm.flight.trace import COLUMNS, blank_trace

POINTS = 200
CHUNK = 100
TIME = COLUMNS.index("t_s")
PLACE = tuple(COLUMNS.index(name) for name in ("x_m", "y_m", "height_m"))
NEVER = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Paths:
    """Paths of launches that were released, and the summaries of all that were flown."""

    points_m: NDArray[np.float64]  # (n, POINTS, 3): ahead, right, height
    launch: NDArray[np.int64]  # (n,) number of the launch
    table: NDArray[np.void]  # SUMMARY of every launch, released or not
    cancelled: bool

    @property
    def handed_over(self) -> NDArray[np.bool_]:
        """Return which of the paths end with the handover, shape (n,)."""
        return np.asarray(self.table["handover_s"][self.launch] > NEVER)


def _evenly(samples: NDArray[np.float64], release_s: float) -> NDArray[np.float64]:
    """Return `POINTS` places evenly spaced in time from release to the last sample."""
    written = samples[: int(np.count_nonzero(np.isfinite(samples[:, TIME])))]
    times = written[:, TIME]
    wanted = np.linspace(min(release_s, times[-1]), times[-1], POINTS)
    return np.column_stack([np.interp(wanted, times, written[:, column]) for column in PLACE])


@contextmanager
def _one_thread() -> Iterator[None]:
    """Fly single launches on one thread: to gather several for each takes longer than the flight."""
    before = numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        yield
    finally:
        numba.set_num_threads(before)


def _flown(
    inputs: Inputs, record: NDArray[np.void], who: tuple[int, int], samples: NDArray[np.float64]
) -> tuple[NDArray[np.void], NDArray[np.float64] | None]:
    """Return the summary and the path of one launch; no path if it was never released."""
    samples[:, TIME] = np.nan
    row = fly_one(inputs, record, *who, samples)
    release_s = float(row["release_s"][0])
    return row, _evenly(samples, release_s) if release_s > NEVER else None


def fly_paths(
    inputs: Inputs,
    launches: int,
    seed: int,
    *,
    progress: Callable[[int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Paths:
    """Fly launches 0 to ``launches - 1`` and return their paths.

    ``progress`` is told how many are done, ``cancelled`` is asked, after each hundred; what was flown
    by then is returned.
    """
    samples = blank_trace()
    found: list[NDArray[np.float64]] = []
    numbers: list[int] = []
    tables = [blank_summary(0, 0)]
    done = 0
    while done < launches and not (cancelled is not None and cancelled()):
        size = min(CHUNK, launches - done)
        records, _ = draw(inputs.base, inputs.rules, size, seed, done)
        with _one_thread():
            rows = [_flown(inputs, records[k : k + 1], (seed, done + k), samples) for k in range(size)]
        tables += [row for row, _ in rows]
        found += [path for _, path in rows if path is not None]
        numbers += [done + k for k, (_, path) in enumerate(rows) if path is not None]
        done += size
        if progress is not None:
            progress(done)
    points = np.stack(found) if found else np.empty((0, POINTS, 3))
    return Paths(points, np.array(numbers, dtype=np.int64), np.concatenate(tables), done < launches)

"""Launches flown with their samples: their quantities over time on one grid, and their figures."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, NamedTuple

import numba
import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import fly_one
from overarm.flight.outcomes import SUMMARY
from overarm.flight.trace import blank_trace
from overarm.review.day import OneAWorld
from overarm.review.figures import AT, figures_of

if TYPE_CHECKING:
    from overarm.flight.campaign import Inputs
    from overarm.recordings.recording import Numbers

_NUMBA: Any = numba
BEFORE_S, STEP_S = 1.0, 0.05
BLOCK = 25  # launches that one thread flies before it takes the next
MOST_THREADS = 4  # more only wait for the figures, which are Python
SHARED_LAYERS = ("omp", "tbb")  # of Numba, which more than one thread may call at once


class Lane(NamedTuple):
    """One quantity over time: its channel in recordings and its column in traces."""

    name: str
    unit: str
    channel: str
    column: str


THROTTLE = Lane("throttle", "", "throttle", "throttle")
AIRSPEED = Lane("airspeed", "m/s", "airspeed_mps", "airspeed_mps")
GROUND_SPEED = Lane("ground speed", "m/s", "ground_speed_mps", "groundspeed_mps")
PITCH = Lane("pitch", "rad", "pitch_rad", "pitch_rad")
FORCE = Lane("forward force", "m/s2", "force_x_mps2", "felt_mps2")
HEIGHT = Lane("height", "m", "", "height_m")


class Flown(NamedTuple):
    """Launches with their summaries, their quantities on one grid of time, and their figures."""

    table: NDArray[np.void]  # summaries
    grid_s: Numbers
    courses: dict[str, Numbers]  # (launches, grid) each; infinite where it was not flying
    figures: dict[str, Numbers]


class _Task(NamedTuple):
    """What all threads share: each writes rows of its own."""

    inputs: Inputs
    drawn: OneAWorld
    records: NDArray[np.void]
    thrust_n: float
    table: NDArray[np.void]
    grid_s: Numbers
    courses: dict[str, Numbers]


def fly_traced(
    inputs: Inputs,
    drawn: OneAWorld,
    wanted: tuple[tuple[Lane, ...], float, float],
    tell: Callable[[float], None],
) -> Flown:
    """Fly launches with their samples, several at once.

    Parameters: campaign inputs; which launches; wanted: which quantities, until when after release [s], and
    static thrust at the centre [N]. ``tell`` hears the share that is done, and may raise Cancelled.
    """
    lanes, to_s, thrust_n = wanted
    launches = len(drawn)
    grid = np.arange(-BEFORE_S, to_s + 0.5 * STEP_S, STEP_S)
    courses = {lane.column: np.full((launches, grid.size), np.inf) for lane in lanes}
    records = drawn.records(inputs)
    task = _Task(inputs, drawn, records, thrust_n, np.zeros(launches, SUMMARY), grid, courses)
    figures: list[dict[str, float]] = []
    for found in _blocks(task):
        figures += found
        tell(len(figures) / launches)
    names = {name for one in figures for name in one}
    return Flown(
        task.table,
        grid,
        courses,
        {n: np.array([one[n] for one in figures if n in one]) for n in sorted(names)},
    )


def _blocks(task: _Task) -> Iterator[list[dict[str, float]]]:
    """Yield the figures of the launches, block by block in their order."""
    starts, threads = range(0, len(task.drawn), BLOCK), _threads()
    rooms: SimpleQueue[Numbers] = SimpleQueue()  # for samples, one a thread
    for _ in range(threads):
        rooms.put(blank_trace())

    def work(first: int) -> list[dict[str, float]]:
        samples = rooms.get()
        found = _fly_block(task, first, samples)
        rooms.put(samples)
        return found

    pool = ThreadPoolExecutor(threads, initializer=_NUMBA.set_num_threads, initargs=(1,))
    try:
        yield from pool.map(work, starts)
    finally:
        pool.shutdown(cancel_futures=True)


def _threads() -> int:
    """Return how many threads may fly at once; the records were drawn, so that the layer is known."""
    shared = _NUMBA.threading_layer() in SHARED_LAYERS
    return min(MOST_THREADS, _NUMBA.get_num_threads()) if shared else 1


def _fly_block(task: _Task, first: int, samples: Numbers) -> list[dict[str, float]]:
    figures = []
    for k in range(first, min(first + BLOCK, len(task.drawn))):
        number = int(task.drawn.numbers[k])
        row = fly_one(task.inputs, task.records[k : k + 1], task.drawn.seed, number, samples)[0]
        task.table[k] = row
        used = bisect_left(range(len(samples)), True, key=lambda row: math.isnan(samples[row, 0]))
        trace = samples[:used]
        figures.append(figures_of(task.records[k], row, trace, task.thrust_n))
        release = float(row["release_s"])
        if release >= 0.0:
            t = trace[:, 0] - release
            here = (task.grid_s >= t[0]) & (task.grid_s <= t[-1])
            for column, course in task.courses.items():
                course[k, here] = np.interp(task.grid_s[here], t, trace[:, AT[column]])
        samples[:used] = np.nan
    return figures

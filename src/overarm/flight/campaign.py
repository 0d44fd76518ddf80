"""Many launches: drawn, flown and summed up chunk by chunk.

The numbers of launch ``i`` depend only on (setup, seed, i). Memory: about 1.2 kB a launch for the
records of one chunk, and 0.2 kB a launch for the summaries that are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import get_num_threads, prange
from numpy.typing import NDArray

from overarm.flight.abreast import (
    end_all,
    end_all_on_line,
    fly_abreast,
    fly_row,
    half_all,
    half_all_on_line,
)
from overarm.flight.draw import WORLD_SIZE, Rules, draw
from overarm.flight.outcomes import SUMMARY
from overarm.flight.record import STYLE_LINE_LAUNCHED
from overarm.flight.trace import as_columns, blank_trace, empty_trace
from overarm.jit import over_launches

CHUNK = 2000
# Launches are flown in blocks: some for each core, so that none waits long for the last, none too small to
# fill the lanes.
BLOCKS_A_CORE = 4
LEAST_BLOCK = 16
NOT_HAPPENED = -1.0
FAR = 1e3


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that a campaign needs: the central launch record, how it varies, tables, obstacles."""

    base: NDArray[np.void]  # LAUNCH, shape (1,)
    rules: Rules
    table: NDArray[np.float64]  # propeller, shape (2, 65)
    obstacles: NDArray[np.float64]  # walls x1, y1, x2, y2, height [m], shape (n, 5)


@dataclass(frozen=True, slots=True)
class Chunk:
    """Some launches in a row."""

    first: int
    table: NDArray[np.void]  # SUMMARY, shape (n,)
    scores: NDArray[np.float64]  # standard normal numbers, shape (n, n_input)


@over_launches
def _fly_rows(rows: Any, table: Any, obstacles: Any, trace: Any, place: Any, out: Any) -> None:
    seed, numbers = place
    for i in prange(rows.shape[0]):
        fly_row(rows, i, table, obstacles, (seed, numbers[i]), out[i], trace)


@over_launches
def _fly_blocks(given: Any, obstacles: Any, cuts: Any) -> None:
    for k in prange(cuts.shape[0] - 1):
        fly_abreast(given, obstacles, half_all, end_all, cuts[k], cuts[k + 1])


@over_launches
def _fly_blocks_on_line(given: Any, obstacles: Any, cuts: Any) -> None:
    for k in prange(cuts.shape[0] - 1):
        fly_abreast(given, obstacles, half_all_on_line, end_all_on_line, cuts[k], cuts[k + 1])


def _rows_of(records: NDArray[np.void]) -> NDArray[np.float64]:
    """Return launch records as rows of numbers, shape (n, fields)."""
    return np.ascontiguousarray(records).view(np.float64).reshape(len(records), -1)


def blank_summary(launches: int, first: int) -> NDArray[np.void]:
    """Return summaries in which nothing has happened yet."""
    out = np.zeros(launches, SUMMARY)
    for name in ("detection_s", "release_s", "first_spin_s", "clear_s", "thrust_match_s", "handover_s"):
        out[name] = NOT_HAPPENED
    out["world"] = (first + np.arange(launches)) // WORLD_SIZE
    out["low_speed_ratio"] = FAR
    out["lowest_volts_v"] = FAR
    out["obstacle_gap_m"] = FAR
    return out


def fly_records(inputs: Inputs, records: NDArray[np.void], seed: int, first: int = 0) -> NDArray[np.void]:
    """Fly given launch records and return their summaries, shape (n,)."""
    return fly_numbered(inputs, records, seed, first + np.arange(len(records)))


def fly_numbered(
    inputs: Inputs, records: NDArray[np.void], seed: int, numbers: NDArray[np.int64]
) -> NDArray[np.void]:
    """Fly each record in the gusts and sensor noise of the launch whose number it is given."""
    out = blank_summary(len(records), 0)
    out["world"] = numbers // WORLD_SIZE
    if len(records) == 0:
        return out
    blocks = max(1, min(len(records) // LEAST_BLOCK, BLOCKS_A_CORE * get_num_threads()))
    cuts = np.linspace(0, len(records), blocks + 1).astype(np.int64)
    any_line = np.any(records["logic"]["style"] == STYLE_LINE_LAUNCHED)
    given = (_rows_of(records), inputs.table, seed, numbers, out, empty_trace())
    fly_blocks = _fly_blocks_on_line if any_line else _fly_blocks
    fly_blocks(given, inputs.obstacles, cuts)
    return out


def trace_launch(inputs: Inputs, seed: int, launch: int) -> dict[str, NDArray[np.float64]]:
    """Fly one launch again and return its samples, one array a column."""
    records, _ = draw(inputs.base, inputs.rules, 1, seed, launch)
    return trace_record(inputs, records, seed, launch)


def trace_record(
    inputs: Inputs, record: NDArray[np.void], seed: int, launch: int = 0
) -> dict[str, NDArray[np.float64]]:
    """Fly one given record (shape (1,)) and return its samples, one array a column."""
    samples = blank_trace()
    fly_one(inputs, record, seed, launch, samples)
    return as_columns(samples)


def fly_one(
    inputs: Inputs, record: NDArray[np.void], seed: int, launch: int, samples: NDArray[np.float64]
) -> NDArray[np.void]:
    """Fly one given record (shape (1,)), write its samples, and return its summary, shape (1,)."""
    out = blank_summary(1, launch)
    _fly_rows(_rows_of(record), inputs.table, inputs.obstacles, samples, (seed, np.array([launch])), out)
    return out


def run(
    inputs: Inputs,
    launches: int,
    seed: int,
    *,
    first: int = 0,
    chunk: int = CHUNK,
    cancelled: Callable[[], bool] | None = None,
) -> Iterator[Chunk]:
    """Fly launches ``first .. first + launches - 1`` and yield them chunk by chunk.

    The chunk size changes nothing but memory and how often the caller hears. ``cancelled`` is asked
    before each chunk; what was yielded stays valid.
    """
    done = 0
    while done < launches and not (cancelled is not None and cancelled()):
        size = min(chunk, launches - done)
        records, scores = draw(inputs.base, inputs.rules, size, seed, first + done)
        yield Chunk(first + done, fly_records(inputs, records, seed, first + done), scores)
        done += size

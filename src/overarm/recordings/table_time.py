"""The times of a table: numbers in a unit, or ISO 8601, as seconds from the first row."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError
from overarm.recordings.limits import MOST_TOLD
from overarm.recordings.recording import Numbers

if TYPE_CHECKING:
    import polars as pl

# Seconds since 1970 (POSIX.1-2017, section 4.16) of the years 2000 to 2100; no clock of a board runs so long.
FEWEST_STILL = 3  # rows of one time are no recording
_EPOCH_S = (946_684_800.0, 4_102_444_800.0)


class Times(NamedTuple):
    """The times of the rows of a table."""

    t_s: Numbers  # (n,) from the first row; NaN for a row without a time
    there: NDArray[np.bool_]  # (n,)
    start_utc: str
    remarks: dict[str, str]


class _Lines(Protocol):
    file: str
    heads: tuple[str, ...]

    def line_of(self, row: int) -> int: ...


def times_from_numbers(table: _Lines, column: int, numbers: Numbers, factor: float) -> Times:
    """Return times of numbers [1/factor s], (n,). Raises InputError if one is endless, or none differs."""
    there = ~np.isnan(numbers)
    with np.errstate(all="ignore"):
        first = numbers[there][0]
        t_s = (numbers - first) * factor
        start_s = float(first * factor)
    if np.isinf(t_s).any() or np.isinf(numbers).any():
        row = int(np.flatnonzero(np.isinf(t_s) | np.isinf(numbers))[0])
        raise _wrong(table, column, row, "is no time", "Write a finite number", f"{numbers[row]:g}")
    if int(there.sum()) >= FEWEST_STILL and not t_s[there].any():
        cure = "Name another column of times in a mapping"
        reason = "stands still: every row has the same time"
        raise _wrong(table, column, int(np.flatnonzero(there)[0]), reason, cure, f"{first:g}")
    start_utc, remarks = "", {}
    if _EPOCH_S[0] <= start_s <= _EPOCH_S[1]:
        start_utc = _iso(start_s)
        remarks["clock"] = "the times are read as seconds since 1970-01-01 UTC"
    elif start_s != 0.0:
        remarks["clock at the first row"] = f"{start_s:.9g} s"
    return Times(t_s, there, start_utc, remarks)


def times_from_utc(table: _Lines, column: int, cells: pl.Series) -> Times:
    """Return times of ISO 8601 texts; one without an offset is UTC. Raises InputError for what is none."""
    import polars as pl

    texts = cells.str.strip_chars().str.replace(" ", "T", literal=True).str.replace("Z$", "+00:00")
    texts = texts.str.replace(r"^(.*T[0-9:.]+)$", "$1+00:00")
    moments = texts.str.to_datetime("%Y-%m-%dT%H:%M:%S%.f%#z", time_unit="us", time_zone="UTC", strict=False)
    there = cells.is_not_null() & (cells.str.strip_chars() != "")
    told = moments.dt.year().is_between(1, 9_999).fill_null(False)  # the years that a calendar here has
    wrong = (~told & there).arg_true().head(MOST_TOLD).to_list()
    if wrong:
        cure = "Write ISO 8601, such as 2026-05-01T09:30:00.25Z"
        raise InputError(
            problem
            for row in wrong
            for problem in _wrong(table, column, row, "is no time of day", cure, str(cells[row])).problems
        )
    micro = moments.cast(pl.Int64).drop_nulls()
    first = int(micro[0])
    t_s = (moments.cast(pl.Int64) - first).cast(pl.Float64).to_numpy() * 1e-6
    return Times(t_s, there.to_numpy(), _iso(first * 1e-6), {})


def _iso(seconds: float) -> str:
    moment = datetime.fromtimestamp(round(seconds, 3), UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _wrong(table: _Lines, column: int, row: int, reason: str, cure: str, value: str) -> InputError:
    place = Place(table.file, table.line_of(row), column + 1)
    return InputError([trouble(reason, cure, place, table.heads[column], value)])

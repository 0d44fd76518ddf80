"""The table that a synthetic recording is written as: a row a time, blanks where a channel has no sample."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.specimens.motion import Numbers

TICKS_PER_S = 10_000  # times are written to a tenth of a millisecond


class Series(NamedTuple):
    """One column: its samples at their own times [s]."""

    name: str  # with the unit, as it stands in the file
    t_s: Numbers
    values: Numbers
    digits: int  # after the point


@dataclass(slots=True, eq=False)
class Table:
    """Rows of a file: times [s] of shape (n,), columns of shape (n,) with NaN for a blank, and notes."""

    t_s: Numbers
    columns: dict[str, Numbers]
    digits: dict[str, int]
    notes: list[str]
    time_name: str = "time_s"
    time_scale: float = 1.0  # of what is written over seconds

    def keep(self, rows: NDArray[np.signedinteger[Any]]) -> None:
        """Keep the rows of these numbers, in this order."""
        chosen = np.asarray(rows, dtype=np.int64)
        self.t_s = self.t_s[chosen]
        self.columns = {name: values[chosen] for name, values in self.columns.items()}
        self.notes = [self.notes[k] for k in chosen]


def merged(series: list[Series], notes: list[tuple[float, str]]) -> Table:
    """Return one table of series that have times of their own, and notes with theirs."""
    ticks = [np.round(one.t_s * TICKS_PER_S).astype(np.int64) for one in series]
    said = np.array([round(t * TICKS_PER_S) for t, _ in notes], dtype=np.int64)
    rows = np.unique(np.concatenate([*ticks, said]))
    columns, digits = {}, {}
    for one, tick in zip(series, ticks, strict=True):
        column = np.full(rows.size, np.nan)
        column[np.searchsorted(rows, tick)] = one.values
        columns[one.name], digits[one.name] = column, one.digits
    words = [""] * rows.size
    for k, (_, text) in zip(np.searchsorted(rows, said), notes, strict=True):
        words[int(k)] = text
    return Table(rows / TICKS_PER_S, columns, digits, words)


def written(table: Table) -> bytes:
    """Return the table as the bytes of a CSV file."""
    import polars as pl

    data: dict[str, pl.Series] = {}
    scaled = table.t_s * table.time_scale
    whole = table.time_scale >= TICKS_PER_S
    data[table.time_name] = pl.Series(np.round(scaled).astype(np.int64) if whole else np.round(scaled, 4))
    for name, values in table.columns.items():
        data[name] = pl.Series(np.round(values, table.digits[name])).fill_nan(None)
    if any(table.notes):
        data["note"] = pl.Series([note or None for note in table.notes], dtype=pl.String)
    out = io.BytesIO()
    pl.DataFrame(data).write_csv(out)
    return out.getvalue()

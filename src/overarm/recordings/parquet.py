"""A Parquet file as a table: the same heads and suffixes as a text table."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.limits import (
    LONGEST_SETTING,
    MOST_COLUMNS,
    MOST_ROWS,
    MOST_SETTINGS,
    MOST_TOLD,
)
from overarm.recordings.parquet_pages import check_pages
from overarm.recordings.reading_bytes import AGAIN, Source
from overarm.recordings.table_sample import MOST_LOOKED_AT, Sample, sample_of
from overarm.recordings.thrift import Broken

if TYPE_CHECKING:
    import polars as pl


class ParquetTable:
    """The columns of a Parquet file, read when they are asked for."""

    def __init__(self, source: Source) -> None:
        """Read what the file says of itself. Raises InputError for a broken file or one that is too large."""
        import polars as pl

        self.file, self.raw = source.file, source.raw
        self.head_line = 0
        try:
            check_pages(self.raw)
            with _quiet():
                self.schema = pl.read_parquet_schema(BytesIO(self.raw))
                height = int(pl.scan_parquet(BytesIO(self.raw)).select(pl.len()).collect().item())
                about = pl.read_parquet_metadata(BytesIO(self.raw))
        except (Broken, pl.exceptions.PolarsError, OSError, pl.exceptions.PanicException) as error:
            raise self._broken(error) from None
        self.heads = tuple(self.schema)
        place = Place(self.file, 0, 0)
        if len(self.heads) > MOST_COLUMNS or height > MOST_ROWS:
            reason = f"has {len(self.heads):,} columns and {height:,} rows"
            cure = f"Leave out what no launch needs; {MOST_COLUMNS} columns and {MOST_ROWS:,} rows are read"
            raise InputError([trouble(reason, cure, place)])
        if height == 0:
            raise InputError([trouble("has no rows", AGAIN, place)])
        folded = [head.strip().casefold() for head in self.heads]
        twice = next(
            (head for head, low in zip(self.heads, folded, strict=True) if folded.count(low) > 1), None
        )
        if twice is not None:
            reason = "has two columns of this name, upper and lower case apart"
            raise InputError([trouble(reason, "Rename one or take it out", place, twice)])
        told = {key: value for key, value in about.items() if not key.startswith(("ARROW:", "pandas"))}
        self.settings = {
            one_line(key.casefold(), 60): one_line(value, LONGEST_SETTING)
            for key, value in list(told.items())[:MOST_SETTINGS]
        }

    def columns(self, numbers: Sequence[int], texts: Sequence[int] = ()) -> dict[int, pl.Series]:
        """Return columns by their places from 0: numbers as Float64, texts as String; null for no sample.

        Raises InputError with row and value of each cell that is no number.
        """
        import polars as pl

        wanted = sorted({*numbers, *texts})
        try:
            with _quiet():
                frame = pl.read_parquet(BytesIO(self.raw), columns=[self.heads[k] for k in wanted])
        except (pl.exceptions.PolarsError, OSError, pl.exceptions.PanicException) as error:
            raise self._broken(error) from None
        found = {}
        for k in wanted:
            series = frame[self.heads[k]]
            found[k] = self._numbers(series, k) if k in numbers else _texts(series)
        return found

    def begin(self, column: int) -> pl.Series:
        """Return the first rows of a column as String. Raises InputError as `columns`."""
        return self.columns([], [column])[column].head(MOST_LOOKED_AT)

    def sample(self) -> Sample:
        """Return what the columns hold in the first rows. Raises InputError as `columns`."""
        numbers = [k for k, head in enumerate(self.heads) if self.schema[head].is_numeric()]
        texts = [k for k in range(len(self.heads)) if k not in numbers]
        found = self.columns(numbers, texts)
        return sample_of({k: series.head(MOST_LOOKED_AT) for k, series in found.items()})

    def line_of(self, row: int) -> int:
        """Return 0: a Parquet file has no lines."""
        del row
        return 0

    def _numbers(self, series: pl.Series, k: int) -> pl.Series:
        import polars as pl

        if series.dtype.is_numeric() or series.dtype == pl.Boolean:
            return series.cast(pl.Float64)
        if series.dtype.is_temporal() and not isinstance(series.dtype, pl.Date):
            fault = "holds times of day; name the column time_utc, or give its unit as utc in the mapping"
        elif series.dtype == pl.String:
            cells = series.str.strip_chars()
            cells = cells.set(cells == "", None)
            numbers = cells.cast(pl.Float64, strict=False)
            wrong = (numbers.is_null() & cells.is_not_null()).arg_true().head(MOST_TOLD).to_list()
            if not wrong:
                return numbers
            place = Place(self.file, 0, k + 1)
            raise InputError(
                trouble(
                    f"is not a number in row {row + 1}", "Write a number", place, self.heads[k], series[row]
                )
                for row in wrong
            )
        else:
            fault = f"holds {series.dtype}; give a column of numbers"
        reason, _, cure = fault.partition("; ")
        raise InputError([trouble(reason, cure.capitalize(), Place(self.file, 0, k + 1), self.heads[k])])

    def _broken(self, error: BaseException) -> InputError:
        said = one_line(str(error).splitlines()[0] if str(error) else type(error).__name__, 120)
        return InputError([Problem(f"is no whole Parquet file: {said}", AGAIN, self.file)])


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what the reader of broken files writes past Python, straight to the screen, from being seen."""
    kept = os.dup(2)
    try:
        with Path(os.devnull).open("wb") as nowhere:
            os.dup2(nowhere.fileno(), 2)
            yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def _texts(series: pl.Series) -> pl.Series:
    import polars as pl

    if isinstance(series.dtype, pl.Datetime):
        utc = series.dt.convert_time_zone("UTC") if series.dtype.time_zone else series
        return utc.dt.strftime("%Y-%m-%dT%H:%M:%S%.6f")
    return series.cast(pl.String, strict=False)

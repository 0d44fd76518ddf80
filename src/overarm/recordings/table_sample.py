"""What the columns of a table hold, from its first rows: for guessing what they are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from overarm.describe.document import one_line
from overarm.recordings.recording import Numbers

if TYPE_CHECKING:
    import polars as pl

MOST_LOOKED_AT = 100_000  # rows
# A column of which this share of the cells is numbers holds numbers. Own estimate.
_MOSTLY = 0.9


class Sample(NamedTuple):
    """What columns hold, by their places: numbers, NaN for no sample; of texts the first."""

    numbers: dict[int, Numbers]
    texts: dict[int, str]


def sample_of(columns: Mapping[int, pl.Series]) -> Sample:
    """Return what columns of String or of numbers hold; blank cells are null already."""
    import polars as pl

    numbers: dict[int, Numbers] = {}
    texts: dict[int, str] = {}
    for k, cells in columns.items():
        parsed = cells.cast(pl.Float64, strict=False)
        if parsed.count() and parsed.count() >= _MOSTLY * cells.count():
            numbers[k] = parsed.to_numpy()
        elif cells.count():
            texts[k] = one_line(str(cells.drop_nulls()[0]), 40)
    return Sample(numbers, texts)

"""The tables of a book. How they are made stands in the migrations; a test holds the two together.

Times are ISO 8601 in UTC. Every table has an ``id`` of text: a hash of what the row holds, so that the
same thing from two places is one row; only imports are named by their time.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import JSON, BigInteger, Column, Double, ForeignKey, MetaData, String, Table, Text

from overarm.logbook.ids import content_id

Row = dict[str, Any]

metadata = MetaData()

book = Table(
    "book",
    metadata,
    Column("id", String, primary_key=True),
    Column("made_utc", String, nullable=False),
)

setups = Table(
    "setups",
    metadata,
    Column("id", String, primary_key=True),  # `Setup.hash()`
    Column("name", Text, nullable=False),
    Column("style", String, nullable=False),
    Column("thrower", Text, nullable=False),
    Column("yaml", Text, nullable=False),  # one file, with its cards written in
    Column("parts", JSON, nullable=False),  # files that it names: name -> SHA-256
    Column("words", Text, nullable=False),
    Column("added_utc", String, nullable=False),
)

recordings = Table(
    "recordings",
    metadata,
    Column("id", String, primary_key=True),  # SHA-256 of the original bytes
    Column("name", Text, nullable=False),
    Column("form", String, nullable=False),
    Column("start_utc", String, nullable=False),  # "" if it is not known
    Column("bytes", BigInteger, nullable=False),
    Column("cleaned", String, nullable=False),  # SHA-256 of the Parquet file
    Column("channels", JSON, nullable=False),
    Column("repairs", JSON, nullable=False),
    Column("about", JSON, nullable=False),  # notes, breaks, label, settings, unused columns, mapping
    Column("version", String, nullable=False),
    Column("words", Text, nullable=False),
    Column("added_utc", String, nullable=False),
)

predictions = Table(
    "predictions",
    metadata,
    Column("id", String, primary_key=True),
    Column("setup", ForeignKey("setups.id"), nullable=False, index=True),
    Column("seed", BigInteger, nullable=False),
    Column("version", String, nullable=False),
    Column("launches", BigInteger, nullable=False),
    Column("clean_low", Double, nullable=False),
    Column("clean_share", Double, nullable=False),
    Column("clean_high", Double, nullable=False),
    Column("quantiles", JSON, nullable=False),
    Column("day", JSON, nullable=False),
    Column("added_utc", String, nullable=False),
)

launches = Table(
    "launches",
    metadata,
    Column("id", String, primary_key=True),
    Column("recording", ForeignKey("recordings.id"), nullable=False, index=True),
    Column("number", BigInteger, nullable=False),
    Column("setup", ForeignKey("setups.id"), nullable=True, index=True),
    Column("prediction", ForeignKey("predictions.id"), nullable=True, index=True),
    Column("kind", String, nullable=False),
    Column("from_s", Double, nullable=False),
    Column("to_s", Double, nullable=False),
    Column("ended", String, nullable=False),
    Column("phases", JSON, nullable=False),
    Column("events", JSON, nullable=False),
    Column("estimates", JSON, nullable=False),
    Column("verdict", JSON, nullable=False),
    Column(
        "outcome", String, nullable=False, index=True
    ),  # as in `overarm.review.result.Verdict`; "" without a review
    Column("more", JSON, nullable=False),  # whatever else the review said
    Column("flown_utc", String, nullable=False, index=True),
    Column("thrower", Text, nullable=False),
    Column("version", String, nullable=False),
    Column("throw_speed_mps", Double, nullable=True),
    Column("start_delay_s", Double, nullable=True),
    Column("words", Text, nullable=False),
    Column("added_utc", String, nullable=False),
)

evidence = Table(
    "evidence",
    metadata,
    Column("id", String, primary_key=True),
    Column("input", String, nullable=False, index=True),
    Column("value", Double, nullable=False),
    Column("error", Double, nullable=False),
    Column("kind", String, nullable=False),
    Column("method", Text, nullable=False),
    Column("source", String, nullable=False, index=True),
    Column("day", String, nullable=False),
    Column("nth", BigInteger, nullable=False),  # of readings that are alike in all else, from 1
    Column("added_utc", String, nullable=False),
)

notes = Table(
    "notes",
    metadata,
    Column("id", String, primary_key=True),
    Column("text", Text, nullable=False),
    Column("about", String, nullable=False, index=True),  # the id of something; "" for the book
    Column("written_utc", String, nullable=False),
    Column("words", Text, nullable=False),
    Column("added_utc", String, nullable=False),
)

imports = Table(
    "imports",
    metadata,
    Column("id", String, primary_key=True),
    Column("number", BigInteger, nullable=False, unique=True),
    Column("made_utc", String, nullable=False),
    Column("what", String, nullable=False),
    Column("source", Text, nullable=False),
    Column("version", String, nullable=False),
    Column("added", JSON, nullable=False),  # table -> ids
    Column("already", JSON, nullable=False),  # table -> ids that it brought too, and that were there before
)

# What a book holds, in an order in which no row comes before one that it names.
CONTENT: dict[str, Table] = {
    table.name: table for table in (setups, recordings, predictions, launches, evidence, notes)
}
# What is worked out from the rest of a row, and never taken from anybody.
DERIVED = {"words", "throw_speed_mps", "start_delay_s"}
# What an id does not depend on: when it was added is no part of a thing.
_OUTSIDE = DERIVED | {"id", "added_utc"}


def kept_columns(table: Table) -> tuple[Column[Any], ...]:
    """Return the columns that are given, not worked out."""
    return tuple(column for column in table.columns if column.name not in DERIVED)


def id_of(table: Table, row: Mapping[str, Any]) -> str | None:
    """Return the id that follows from what a row holds; None where the id is the hash of something else."""
    if table.name in ("setups", "recordings"):
        return None
    return content_id(
        table.name, {column.name: row[column.name] for column in table.columns if column.name not in _OUTSIDE}
    )


def files_of(kind: str, row: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the hashes of the files that a row of a table names."""
    if kind == "setups":
        return tuple(row["parts"].values())
    return (row["id"], row["cleaned"]) if kind == "recordings" else ()


def whole_row(table: Table, row: Mapping[str, Any]) -> Row:
    """Return a row with the columns that are worked out filled in."""
    filled = dict(row)
    names = {column.name for column in table.columns}
    if "words" in names:
        said = (row.get(key) for key in _SEARCHED[table.name])
        filled["words"] = "\n".join(_texts(said)).casefold()
    for name in ("throw_speed_mps", "start_delay_s"):
        if name in names:
            filled[name] = _estimated(row["estimates"], name)
    return filled


_SEARCHED = {
    "setups": ("name", "style", "thrower"),
    "recordings": ("name", "form", "about"),
    "launches": ("kind", "ended", "outcome", "thrower", "verdict", "more"),
    "notes": ("text",),
}


def _texts(data: Any) -> list[str]:
    """Return every text inside plain data, in an order that does not depend on that of keys."""
    if isinstance(data, str):
        return [data]
    if isinstance(data, Mapping):
        return [text for key in sorted(data) for text in _texts(data[key])]
    if data is None or isinstance(data, bool | int | float):
        return []
    return [text for value in data for text in _texts(value)]


def _estimated(estimates: Any, name: str) -> float | None:
    """Return the value of an estimate that was told without a bound, or None."""
    found = estimates.get(name) if isinstance(estimates, Mapping) else None
    if not isinstance(found, Mapping) or found.get("bound"):
        return None
    value = found.get("value")
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None

"""Rows from outside, held against the tables before they go into a book."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from sqlalchemy import JSON, BigInteger, Column, Double, Table

from overarm.errors import InputError, Problem
from overarm.logbook.plain import clean_text, plain
from overarm.logbook.tables import Row, id_of, kept_columns

_SHA256 = re.compile(r"[0-9a-f]{64}")
_SETUP = re.compile(r"[0-9a-f]{16}")
_UTC = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")
# Inside columns of JSON, what the code that reads them counts on.
_TABLES = {"parts", "about", "events", "estimates", "quantiles", "day", "more", "verdict"}


def checked_row(table: Table, row: Any) -> Row:
    """Return a row fit for a table.

    Raises InputError, with the key, for a row with other columns than the table, a value of another kind, an
    id that does not follow from what the row holds, or what is no plain data.
    """
    if not isinstance(row, Mapping):
        raise _wrong("is no table of keys and values")
    columns = {column.name: column for column in kept_columns(table)}
    for key in set(row) ^ set(columns):
        raise _wrong("lacks a column or has one too many", key[:40])
    found: Row = {name: _checked(column, row[name]) for name, column in columns.items()}
    _check_ids(table, found)
    if not _UTC.fullmatch(found["added_utc"]):
        raise _wrong("has no time in UTC", "added_utc")
    return found


def _checked(column: Column[Any], value: Any) -> Any:
    """Return a value as its column takes it."""
    name = column.name
    if isinstance(column.type, JSON):
        # A bare number would not come back as it was written: to SQLite such a column is one of numbers.
        if not isinstance(value, Mapping if name in _TABLES else list):
            raise _wrong("has no table, or no list", name)
        kept = plain(value, name)
        if kept != value:
            raise _wrong("has letters that no database keeps", name)
        return kept
    if value is None and column.nullable:
        return None
    if isinstance(column.type, Double):
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _wrong("has no number", name)
        return plain(float(value), name)
    if isinstance(column.type, BigInteger):
        if isinstance(value, bool) or not isinstance(value, int):
            raise _wrong("has no whole number", name)
        return plain(value, name)
    if not isinstance(value, str) or clean_text(value) != value:
        raise _wrong("has no text", name)
    return value


def _check_ids(table: Table, row: Row) -> None:
    expected = id_of(table, row)
    if expected is not None and row["id"] != expected:
        raise _wrong("does not have the id that follows from it", "id")
    if table.name == "setups":
        if not _SETUP.fullmatch(row["id"]):
            raise _wrong("has no hash of a setup", "id")
        for name, sha256 in row["parts"].items():
            if "/" in name or name.startswith(".") or not _is_sha256(sha256):
                raise _wrong("names a file that no setup has", "parts")
    elif table.name == "recordings":
        for key in ("id", "cleaned"):
            if not _is_sha256(row[key]):
                raise _wrong("has no hash of a file", key)


def _is_sha256(value: Any) -> bool:
    return isinstance(value, str) and _SHA256.fullmatch(value) is not None


def _wrong(message: str, key: str = "") -> InputError:
    return InputError([Problem(message, "", key=key)])

"""What a Parquet file says of its pages, held against the file before anything is unpacked.

The decoder trusts these numbers and asks for as much memory as they say; where that is not to be had, the
whole process ends. Source of the structures and their field numbers: the Apache Parquet format
(github.com/apache/parquet-format, parquet.thrift); from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from overarm.recordings.limits import MOST_BYTES, MOST_COLUMNS, MOST_ROWS
from overarm.recordings.thrift import Broken, Reader

MARK = b"PAR1"
MOST_UNPACKED = 2 * MOST_BYTES
_END = 8  # bytes: length of what the file says of itself, and the mark
_DATA, _DICTIONARY, _DATA_2 = 5, 7, 8  # fields of a page's head: one for each kind of page
_LARGEST = 2**63


def check_pages(raw: bytes) -> None:
    """Raise Broken if a Parquet file says of its rows or pages what cannot be, or unpacks to too much."""
    size = int.from_bytes(raw[-_END:-4], "little")
    if not raw.endswith(MARK) or not 0 < size <= len(raw) - _END - len(MARK):
        raise Broken("is cut off")
    whole = Reader(raw[-_END - size : -_END]).struct()
    groups = _structs(whole.get(4, []))
    rows = _count(whole, 3, _LARGEST)
    if sum(_count(group, 3, rows) for group in groups) != rows:
        raise Broken("says another number of rows than its parts")
    if rows > MOST_ROWS or sum(len(group.get(1, ())) for group in groups) > MOST_COLUMNS * max(
        1, len(groups)
    ):
        return  # refused in other words, before anything is unpacked
    unpacked = 0
    for group in groups:
        for column in _structs(group.get(1, [])):
            unpacked += sum(_pages(raw, column.get(3)))
            if unpacked > MOST_UNPACKED:
                raise Broken(f"unpacks to more than {MOST_UNPACKED:,} bytes")


def _pages(raw: bytes, told: Any) -> Iterator[int]:
    """Yield the unpacked size of every page of a column's part. Raises Broken."""
    if not isinstance(told, dict):
        raise Broken("says nothing of a column")
    values = _count(told, 5, MOST_ROWS)
    begin = _count(told, 9, len(raw))
    first = told.get(11)
    if isinstance(first, int) and 0 < first < begin:
        begin = first  # a dictionary comes before the data
    end = begin + _count(told, 7, len(raw) - begin)
    reader, found = Reader(raw, begin), 0
    while reader.at < end:
        head = reader.struct()
        unpacked = _count(head, 2, MOST_UNPACKED)
        found += _values(head, values)
        if found > values:
            raise Broken("has more values in a column's pages than the column")
        reader.at += _count(head, 3, end - reader.at)
        yield unpacked


def _values(head: dict[int, Any], most: int) -> int:
    """Return how many values of a column a page holds; a dictionary holds none of them."""
    for kind in (_DATA, _DATA_2):
        page = head.get(kind)
        if isinstance(page, dict):
            count = _count(page, 1, most)
            if kind == _DATA_2:
                for part in (2, 3, 5, 6):
                    _count(page, part, _LARGEST)
            return count
    if isinstance(head.get(_DICTIONARY), dict):
        _count(head[_DICTIONARY], 1, MOST_ROWS)
    return 0


def _count(told: dict[int, Any], field: int, most: int) -> int:
    """Return a number of things that a structure tells. Raises Broken for one that cannot be."""
    value = told.get(field)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise Broken("tells a number of rows or bytes that cannot be")
    return value


def _structs(told: Any) -> list[dict[int, Any]]:
    if not isinstance(told, list) or not all(isinstance(item, dict) for item in told):
        raise Broken("has no list where one belongs")
    return told

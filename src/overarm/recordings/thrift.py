"""Thrift's compact protocol, as far as a Parquet file speaks of itself in it.

Source: the Apache Thrift compact protocol specification (github.com/apache/thrift,
doc/specs/thrift-compact-protocol.md); from memory. Only read, never written; every length is held against the
bytes that are there.
"""

from __future__ import annotations

from typing import Any

DEEPEST = 20
TRUE, FALSE, BYTE, DOUBLE, BINARY, LIST, SET, MAP, STRUCT = 1, 2, 3, 7, 8, 9, 10, 11, 12
_WHOLE = (4, 5, 6)  # of 16, 32 and 64 bits: all written as one varint
_LONGEST_VARINT = 10


class Broken(ValueError):
    """Bytes that are not the compact protocol."""


class Reader:
    """Reads structures one after the other."""

    def __init__(self, raw: bytes, at: int = 0) -> None:
        self.raw, self.at = raw, at

    def struct(self, depth: int = 0) -> dict[int, Any]:
        """Return the fields of a structure by their numbers. Raises Broken."""
        if depth > DEEPEST:
            raise Broken("is nested too deep")
        found: dict[int, Any] = {}
        number = 0
        while head := self._byte():
            number = number + (head >> 4) if head >> 4 else self._zigzag()
            kind = head & 15
            found[number] = kind == TRUE if kind in (TRUE, FALSE) else self._value(kind, depth + 1)
        return found

    def _value(self, kind: int, depth: int) -> Any:
        if kind in _WHOLE:
            return self._zigzag()
        if kind == BINARY:
            return self._taken(self._varint())
        if kind in (LIST, SET):
            return self._list(depth)
        if kind == STRUCT:
            return self.struct(depth)
        if kind in (TRUE, FALSE, BYTE):  # inside of lists a truth is a byte
            return self._byte()
        if kind == DOUBLE:
            return self._taken(8)
        if kind == MAP:
            return self._map(depth)
        raise Broken("holds a kind of field that there is not")

    def _list(self, depth: int) -> list[Any]:
        if depth > DEEPEST:
            raise Broken("is nested too deep")
        head = self._byte()
        size = self._varint() if head >> 4 == 15 else head >> 4
        if size > len(self.raw) - self.at:  # each has a byte at least
            raise Broken("holds a list that is longer than the file")
        return [self._value(head & 15, depth + 1) for _ in range(size)]

    def _map(self, depth: int) -> list[tuple[Any, Any]]:
        size = self._varint()
        if size > len(self.raw) - self.at:
            raise Broken("holds a table that is longer than the file")
        kinds = self._byte() if size else 0
        return [(self._value(kinds >> 4, depth + 1), self._value(kinds & 15, depth + 1)) for _ in range(size)]

    def _byte(self) -> int:
        return self._taken(1)[0]

    def _taken(self, size: int) -> bytes:
        found = self.raw[self.at : self.at + size]
        if len(found) < size:
            raise Broken("is cut off")
        self.at += size
        return found

    def _varint(self) -> int:
        value = 0
        for k in range(_LONGEST_VARINT):
            byte = self._byte()
            value |= (byte & 127) << 7 * k
            if byte < 128:
                return value
        raise Broken("holds a number that is too long")

    def _zigzag(self) -> int:
        value = self._varint()
        return (value >> 1) ^ -(value & 1)

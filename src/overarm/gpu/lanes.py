"""Records of 32 launches side by side, so that the threads of a warp read neighbouring numbers.

One field of 32 launches lies in 32 neighbouring words, then comes the next field. A record of one launch
then has the fields of a plain record at offsets 32 times as large, and the compiled functions read it by
name as they read a plain one.
"""

from __future__ import annotations

from typing import Any

import numpy as np

LANES = 32  # threads in a warp: CUDA C++ Programming Guide, section "SIMT architecture"


def leaves(record: np.dtype[np.void]) -> int:
    """Return how many numbers a record holds, those of its groups counted one by one."""
    assert record.fields is not None
    return sum(leaves(sub) if sub.fields else 1 for sub, *_ in record.fields.values())


def spread_out(record: np.dtype[np.void], number: type[np.floating[Any]]) -> np.dtype[np.void]:
    """Return a record type with the same names whose fields, all ``number``, lie `LANES` words apart."""
    assert record.fields is not None
    size = np.dtype(number).itemsize
    stride = LANES * size
    formats: list[Any] = []
    offsets: list[int] = []
    place = 0
    for sub, *_ in record.fields.values():
        nested = bool(sub.fields)
        formats.append(spread_out(sub, number) if nested else number)
        offsets.append(place * stride)
        place += leaves(sub) if nested else 1
    # A record ends with its last number, amid those of its neighbours.
    whole = (place - 1) * stride + size
    fields = {"names": list(record.fields), "formats": formats, "offsets": offsets, "itemsize": whole}
    return np.dtype(fields, align=True)  # type: ignore[call-overload, no-any-return]


def in_lanes(columns: int, number: type[np.floating[Any]]) -> tuple[int, int, int]:
    """Return the strides [bytes] of numbers in lanes seen as (block, lane, column)."""
    size = np.dtype(number).itemsize
    return LANES * columns * size, size, LANES * size


def record_lanes(record: np.dtype[np.void], number: type[np.floating[Any]]) -> tuple[int, int]:
    """Return the strides [bytes] of the records of `spread_out` seen as (block, lane)."""
    return in_lanes(leaves(record), number)[:2]

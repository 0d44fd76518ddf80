"""Nested records of numbers, eight of a kind side by side in one array, for loops that become vectors.

A compiler turns a loop over launches into vector instructions only if the same number of neighbouring
launches lies side by side, and if it can tell that what is written is not what is read: so all of a
block of launches lies in one array, in slots of `ABREAST` numbers, number ``k`` of launch ``l`` at
``ABREAST k + l``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_type_hints

from numba.core import cgutils, types
from numba.core.errors import TypingError
from numba.extending import intrinsic

ABREAST = 8


def blank(kind: Any) -> Any:
    """Return a nested tuple of a kind, all zero: what tells the compiler the shape of a slot."""
    if kind is float:
        return 0.0
    if hasattr(kind, "_fields"):
        return kind(*(blank(part) for part in get_type_hints(kind).values()))
    return tuple(blank(part) for part in kind.__args__)


def size(value: Any) -> int:
    """Return how many slots a nested tuple of numbers takes."""
    return sum(size(part) for part in value) if isinstance(value, tuple) else 1


def _leaves(kind: Any) -> int:
    """Return how many numbers a nested tuple holds; TypingError if one is not a double."""
    if kind == types.float64:
        return 1
    parts: Any = getattr(kind, "types", None)
    if isinstance(kind, types.BaseTuple) and parts is not None:
        return sum(_leaves(part) for part in parts)
    raise TypingError(f"only doubles have a slot, not {kind}")


def _place(builder: Any, start: Any, number: int) -> Any:
    return builder.gep(start, [cgutils.intp_t(number * ABREAST)], inbounds=True)


def _start(context: Any, builder: Any, array_type: Any, given: tuple[Any, Any, Any]) -> Any:
    """Return the place of the first number: ``given`` are array, first slot and lane."""
    array, first, lane = given
    data = context.make_array(array_type)(context, builder, array).data
    index = builder.add(builder.mul(first, cgutils.intp_t(ABREAST)), lane)
    return builder.gep(data, [index], inbounds=True)


def _load(context: Any, builder: Any, kind: Any, start: Any, number: int) -> tuple[Any, int]:
    if kind == types.float64:
        return builder.load(_place(builder, start, number)), number + 1
    parts = []
    for part in kind.types:
        value, number = _load(context, builder, part, start, number)
        parts.append(value)
    return context.make_tuple(builder, kind, parts), number


def _store(builder: Any, kind: Any, value: Any, start: Any, number: int) -> int:
    if kind == types.float64:
        builder.store(value, _place(builder, start, number))
        return number + 1
    for index, part in enumerate(kind.types):
        number = _store(builder, part, builder.extract_value(value, index), start, number)
    return number


@intrinsic
def _loaded(typing_context: Any, like: Any, array: Any, first: Any, lane: Any) -> Any:
    """Return the nested tuple of a lane, of the kind of ``like``, that begins at slot ``first``."""
    _leaves(like)

    def work(context: Any, builder: Any, signature: Any, given: Any) -> Any:
        return _load(context, builder, like, _start(context, builder, array, given[1:]), 0)[0]

    return like(like, array, types.intp, types.intp), work


@intrinsic
def _stored(typing_context: Any, value: Any, array: Any, first: Any, lane: Any) -> Any:
    """Write a nested tuple of numbers into the slots of a lane that begin at ``first``."""
    _leaves(value)

    def work(context: Any, builder: Any, signature: Any, given: Any) -> Any:
        _store(builder, value, given[0], _start(context, builder, array, given[1:]), 0)
        return context.get_dummy_value()

    return types.void(value, array, types.intp, types.intp), work


# What a person calls has one argument less than what Numba is told.
loaded: Callable[..., Any] = _loaded
stored: Callable[..., None] = _stored

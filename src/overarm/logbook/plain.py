"""Plain data from elsewhere, made fit to be kept, or refused with the key that is wrong."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from overarm.errors import InputError, Problem

DEEPEST = 40
LARGEST = 2**63 - 1


def plain(data: Any, key: str = "", depth: int = 0) -> Any:
    """Return data as JSON can hold it; letters that no database keeps become a mark.

    Tuples become lists and numbers of numpy those of Python. Raises InputError for a number that is not
    finite or does not fit into 64 bits, for what is no data, and for nesting deeper than 40.
    """
    if depth > DEEPEST:
        raise _wrong("is nested too deep", "Give the answer of a command of Overarm", key)
    if data is None or isinstance(data, bool | str):
        return clean_text(data) if isinstance(data, str) else data
    if isinstance(data, Mapping):
        return {
            clean_text(str(k)): plain(value, f"{key}.{k}".strip("."), depth + 1) for k, value in data.items()
        }
    if isinstance(data, list | tuple):
        return [plain(value, f"{key}.{k}".strip("."), depth + 1) for k, value in enumerate(data)]
    if hasattr(data, "tolist"):  # of numpy
        return plain(data.tolist(), key, depth + 1)
    return _number(data, key)


def _number(data: Any, key: str) -> int | float:
    if isinstance(data, int):
        if -LARGEST <= data <= LARGEST:
            return int(data)
        raise _wrong("does not fit into 64 bits", "Give a smaller number", key, str(data)[:40])
    if isinstance(data, float):
        if math.isfinite(data):
            return float(data) + 0.0  # SQLite does not keep the sign of zero
        raise _wrong("is not finite", "Give a number, or null with the reason beside it", key, str(data))
    raise _wrong("is no plain data", "Give numbers, texts, lists and tables", key, type(data).__name__)


def clean_text(text: str) -> str:
    """Return text that every database keeps: no NUL, no half characters."""
    return text.replace("\0", "�").encode("utf-8", "replace").decode("utf-8")


def text_in(data: Mapping[str, Any], key: str, default: str | None = None) -> str:
    """Return a text; raises InputError if it is missing and there is no default, or is something else."""
    value = data.get(key, default)
    if not isinstance(value, str):
        raise _wrong("is missing or no text", "Give the answer of a command of Overarm", key, _shown(value))
    return clean_text(value)


def float_in(data: Mapping[str, Any], key: str) -> float:
    """Return a finite number; raises InputError for anything else."""
    value = data.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _wrong("is missing or no number", "Give the answer of a command of Overarm", key, _shown(value))
    return float(_number(float(value), key))


def int_in(data: Mapping[str, Any], key: str) -> int:
    """Return a whole number of at most 64 bits; raises InputError for anything else."""
    value = data.get(key)
    if isinstance(value, bool) or not isinstance(value, int):
        cure = "Give the answer of a command of Overarm"
        raise _wrong("is missing or no whole number", cure, key, _shown(value))
    return int(_number(value, key))


def table_in(data: Any, key: str) -> Mapping[str, Any]:
    """Return what must be a table of keys and values; raises InputError for anything else."""
    if not isinstance(data, Mapping):
        raise _wrong("is no table of keys and values", "Give the answer of a command of Overarm", key)
    return data


def _shown(value: Any) -> str:
    return "" if value is None else str(value)[:60]


def _wrong(message: str, cure: str, key: str, value: str = "") -> InputError:
    return InputError([Problem(message, cure, key=key, value=value)])

"""The two precisions in which the card flies."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

Precision = Literal["double", "single"]
PRECISIONS: tuple[Precision, ...] = ("double", "single")


def number_of(precision: Precision) -> type[np.floating[Any]]:
    """Return the type of the numbers of a precision."""
    return np.float64 if precision == "double" else np.float32

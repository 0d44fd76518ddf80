"""A comparison with something outside the project that is kept for the verification report.

``agrees("density at 1000 m [kg/m3]", "ISO 2533:1975", ours, theirs, rel=1e-5)`` fails like a comparison with
`pytest.approx`, and leaves a row that docs/make_report.py writes down.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import NamedTuple, Protocol

import numpy as np
import pytest

PROPERTY = "agreement"
MOST_DIGITS = 12.0  # more are chance, and differ from machine to machine


class Agrees(Protocol):
    """What the fixture of the same name is."""

    def __call__(
        self,
        name: str,
        source: str,
        ours: object,
        theirs: object,
        *,
        rel: float | None = None,
        abs: float | None = None,
    ) -> None: ...


class Row(NamedTuple):
    """One line of the report: of several values the one that agrees least."""

    name: str
    source: str
    theirs: float
    ours: float
    digits: float | None  # None: the reference is zero, so there are no digits to count
    values: int


def digits_of(ours: float, theirs: float) -> float | None:
    """Count the decimal digits that two values share: -log10 of the relative difference."""
    if theirs == 0.0:
        return None
    difference = math.fabs(ours - theirs) / math.fabs(theirs)
    return MOST_DIGITS if difference == 0.0 else min(MOST_DIGITS, max(0.0, -math.log10(difference)))


def numbers(value: object) -> list[float]:
    """Return one number or many as a list."""
    return [float(each) for each in np.ravel(np.asarray(value, dtype=np.float64))]


def row_of(name: str, source: str, ours: object, theirs: object) -> Row:
    """Return the row of a comparison."""
    pairs = list(zip(numbers(ours), numbers(theirs), strict=True))

    def rank(pair: tuple[float, float]) -> tuple[float, float]:
        digits = digits_of(*pair)
        return (MOST_DIGITS + 1.0 if digits is None else digits, -math.fabs(pair[0] - pair[1]))

    worst = min(pairs, key=rank)
    return Row(name, source, worst[1], worst[0], digits_of(*worst), len(pairs))


def agreement(keep: Callable[[Row], None]) -> Agrees:
    """Return the comparison, which keeps its rows there."""

    def agrees(
        name: str,
        source: str,
        ours: object,
        theirs: object,
        *,
        rel: float | None = None,
        abs: float | None = None,
    ) -> None:
        expected = theirs if isinstance(theirs, int | float) else numbers(theirs)
        found = ours if isinstance(expected, int | float) else numbers(ours)
        assert found == pytest.approx(expected, rel=rel, abs=abs), f"{name}: {source}"
        keep(row_of(name, source, ours, theirs))

    return agrees


def rows_in(properties: Iterable[tuple[str, object]]) -> list[Row]:
    """Return the rows that a test has left."""
    return [Row(*value) for key, value in properties if key == PROPERTY and isinstance(value, list | tuple)]

"""How errors of readings become the error of what is computed from them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

STEP = 1e-3  # of an error: small against what the formula bends, large against rounding


class Figure(NamedTuple):
    """A figure with one standard deviation of its error."""

    value: float
    error: float


def propagated(function: Callable[[Sequence[float]], float], readings: Sequence[Figure]) -> Figure:
    """Return a figure of several readings whose errors know nothing of each other, to first order.

    Equation: ``s^2 = sum (df/dx_i s_i)^2``, the slopes by central differences of a thousandth of an error.
    Source: JCGM 100:2008, *Guide to the expression of uncertainty in measurement*, section 5.1.2.
    """
    values = [item.value for item in readings]
    variance = 0.0
    for k, item in enumerate(readings):
        if item.error > 0.0:
            step = STEP * item.error
            above, below = list(values), list(values)
            above[k] += step
            below[k] -= step
            variance += ((function(above) - function(below)) / (2.0 * STEP)) ** 2
    return Figure(function(values), math.sqrt(variance))


def mean_of(figures: Sequence[Figure]) -> Figure:
    """Return the mean of repeated figures; its error is what they scatter by, or what each claims, if more.

    Equation: ``max(s/sqrt(n), sqrt(sum e^2)/n)``, s the standard deviation of the figures.
    Source: JCGM 100:2008, sections 4.2.3 and 5.1.2. Raises ValueError without a figure.
    """
    count = len(figures)
    if not count:
        raise ValueError("a mean of nothing")
    mean = sum(item.value for item in figures) / count
    claimed = math.sqrt(sum(item.error**2 for item in figures)) / count
    seen = 0.0
    if count > 1:
        seen = math.sqrt(sum((item.value - mean) ** 2 for item in figures) / (count - 1) / count)
    return Figure(mean, max(claimed, seen))

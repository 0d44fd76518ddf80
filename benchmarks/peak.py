"""What one core of this machine can do: compiled loops of nothing but one operation.

A multiplication and an addition in one instruction count as two operations, as usual.
"""

from __future__ import annotations

import math
from typing import Any

import numba
import numpy as np

from benchmarks.rows import median_s

CONTRACT = {"contract"}


@numba.njit(fastmath=CONTRACT)
def twelve_chains(count: int, x: float, y: float) -> float:
    """Run twelve chains of a*x + y that do not wait for each other, one number at a time."""
    a, b, c, d, e, f = 0.1, 0.2, 0.3, 0.4, 0.5, 0.6
    g, h, i, j, k, m = 0.7, 0.8, 0.9, 1.0, 1.1, 1.2
    for _ in range(count):
        a, b, c, d = a * x + y, b * x + y, c * x + y, d * x + y
        e, f, g, h = e * x + y, f * x + y, g * x + y, h * x + y
        i, j, k, m = i * x + y, j * x + y, k * x + y, m * x + y
    return a + b + c + d + e + f + g + h + i + j + k + m


@numba.njit(fastmath=CONTRACT)
def one_chain(count: int, x: float, y: float) -> float:
    """Run one chain of a*x + y: each waits for the one before."""
    a = 0.1
    for _ in range(count):
        a = a * x + y
    return a


@numba.njit(fastmath=CONTRACT, inline="always")
def _eight(v: Any, x: Any, y: Any) -> Any:
    v = (v * x + y) * x + y
    v = (v * x + y) * x + y
    v = (v * x + y) * x + y
    return (v * x + y) * x + y


@numba.njit(fastmath=CONTRACT)
def many_numbers(values: Any, count: int, x: Any, y: Any) -> None:
    """Do 32 times a*x + y to each of many numbers: the compiler takes several in one instruction."""
    for _ in range(count):
        for i in range(values.shape[0]):
            values[i] = _eight(_eight(_eight(_eight(values[i], x, y), x, y), x, y), x, y)


@numba.njit(error_model="numpy")
def divisions(values: Any, out: Any, count: int) -> None:
    """Divide."""
    for _ in range(count):
        for i in range(values.shape[0]):
            out[i] = 1.5 / values[i]


@numba.njit
def roots(values: Any, out: Any, count: int) -> None:
    """Take roots."""
    for _ in range(count):
        for i in range(values.shape[0]):
            out[i] = math.sqrt(values[i])


@numba.njit
def exponentials(values: Any, out: Any, count: int) -> None:
    """Take exponentials of the library."""
    for _ in range(count):
        for i in range(values.shape[0]):
            out[i] = math.exp(-values[i])


def measured(repeats: int) -> dict[str, float]:
    """Return the seconds of one operation of each kind on one core."""
    count, size = 2_000_000, 4096
    x, y = 0.999, 1e-3
    found = {
        "free": median_s(lambda: twelve_chains(count, x, y), repeats) / (24.0 * count),
        "waiting": median_s(lambda: one_chain(count, x, y), repeats) / (2.0 * count),
    }
    for name, kind in (("vector", np.float64), ("vector, float32", np.float32)):
        values, one, two = np.ones(size, kind), kind(x), kind(y)
        taken = median_s(lambda v=values, a=one, b=two: many_numbers(v, 200, a, b), repeats)
        found[name] = taken / (64.0 * size * 200)
    # Beside each other, the compiler takes several in one instruction; with gaps between them it does not.
    for prefix, gap in (("", 2), ("vector, ", 1)):
        given = np.linspace(1.0, 2.0, gap * size)[::gap]
        out = np.empty(gap * size)[::gap]
        for name, work in (
            ("divisions", divisions),
            ("roots", roots),
            ("elementary functions", exponentials),
        ):
            taken = median_s(lambda w=work, v=given, o=out: w(v, o, 100), repeats)
            found[prefix + name] = taken / (100.0 * size)
    return found

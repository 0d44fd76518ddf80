"""How an estimate is told: with its error and how it was found, or why it cannot be told."""

from __future__ import annotations

import math
from typing import Literal

from overarm.recordings.launch import Estimate

Bound = Literal["", "at least", "at most"]


def told(name: str, value: float, error: float, method: str, bound: Bound = "") -> Estimate:
    """Return an estimate; without a finite value and error, the reason that it cannot be told."""
    if not (math.isfinite(value) and math.isfinite(error)):
        return cannot(name, "The samples give no finite figure.")
    return Estimate(name, float(value), float(max(error, 0.0)), method, "", bound)


def cannot(name: str, why: str) -> Estimate:
    """Return an estimate without a value, and why."""
    return Estimate(name, None, 0.0, "", why)


def together(*errors: float) -> float:
    """Return the standard error of a sum of independent errors: the root of the sum of squares."""
    return math.sqrt(sum(error * error for error in errors))

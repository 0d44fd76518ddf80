"""Several measurements of one number brought together."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.recording import Numbers


class Measured(NamedTuple):
    """A number with its standard error, in any unit."""

    value: float
    error: float


def fused(parts: list[Measured]) -> Measured:
    """Return the mean weighted by inverse variance, and its error.

    Where the parts are further apart than their errors allow, the error grows with them.
    Equation: ``x = sum(x/s^2)/sum(1/s^2)``, ``s^2 = 1/sum(1/s^2)`` times ``max(1, chi^2/(n-1))``.
    Source: Birge, Phys. Rev. 40 (1932) 207 (the ratio of the errors); weights any textbook.
    """
    if len(parts) == 1:
        return parts[0]
    weights = [1.0 / (part.error * part.error) for part in parts]
    whole = sum(weights)
    value = sum(w * part.value for w, part in zip(weights, parts, strict=True)) / whole
    apart = sum(w * (part.value - value) ** 2 for w, part in zip(weights, parts, strict=True))
    return Measured(value, math.sqrt(max(1.0, apart / (len(parts) - 1)) / whole))


def common_value(values: Numbers, covariance: Numbers) -> Measured:
    """Return the best single value of correlated measurements, shapes (n,) and (n, n), and its error.

    Equation: ``x = (1' C^-1 y)/(1' C^-1 1)``. Source: Aitken, Proc. R. Soc. Edinburgh 55 (1936) 42.
    """
    ones = np.ones(values.size)
    solved = np.linalg.solve(covariance, np.stack([values, ones], axis=1))
    whole = float(ones @ solved[:, 1])
    value = float(ones @ solved[:, 0]) / whole
    left = values - value
    apart = float(left @ (solved[:, 0] - value * solved[:, 1]))
    return Measured(value, math.sqrt(max(1.0, apart / max(1, values.size - 1)) / whole))

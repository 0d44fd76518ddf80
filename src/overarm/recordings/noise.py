"""The noise of a series."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.recording import Numbers


def noise_of(values: Numbers) -> float:
    """Return the noise of samples [their unit] from the differences of neighbours, little moved by trends.

    Equation: ``1.4826 median |d - median d| / sqrt(2)``, d the differences.
    """
    if values.size < 4:
        return 0.0
    d = np.diff(values)
    return float(1.4826 * np.median(np.abs(d - np.median(d))) / math.sqrt(2.0))

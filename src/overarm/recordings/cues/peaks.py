"""Peaks of samples, the higher first: as `scipy.signal.find_peaks`, without half a second of import."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.recording import Numbers


def peaks_of(values: Numbers, least: float, apart: int) -> NDArray[np.int64]:
    """Return the places of local maxima of at least a value that are some samples apart; of two, the higher.

    The middle of a flat top stands for it. Held against ``scipy.signal.find_peaks(values, height=least,
    distance=apart)`` in ``tests/unit/test_review_peaks.py``.
    """
    steps = np.diff(values)
    moves = np.flatnonzero(steps != 0.0)
    rises = steps[moves] > 0.0
    tops = np.flatnonzero(rises[:-1] & ~rises[1:])
    places = (moves[tops] + 1 + moves[tops + 1]) // 2
    places = places[values[places] >= least]
    kept: NDArray[np.int64] = places[_apart(places, values[places], apart)]
    return kept


def _apart(places: NDArray[np.int64], heights: Numbers, apart: int) -> NDArray[np.bool_]:
    """Return which places stay: from the highest on, each clears those nearer than ``apart`` samples."""
    kept = np.ones(places.size, np.bool_)
    near = places.tolist()
    for k in np.argsort(heights)[::-1].tolist():
        if not kept[k]:
            continue
        for step in (-1, 1):
            j = k + step
            while 0 <= j < len(near) and abs(near[j] - near[k]) < apart:
                kept[j] = False
                j += step
    return kept

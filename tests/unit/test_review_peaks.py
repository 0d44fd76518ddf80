"""Peaks against `scipy.signal.find_peaks`."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import find_peaks

from overarm.recordings.cues.peaks import peaks_of


@pytest.mark.parametrize("apart", [1, 2, 12, 60])
@pytest.mark.parametrize("kind", ["noise", "walk", "steps", "flat", "short", "empty"])
def test_peaks_are_those_of_scipy(kind: str, apart: int) -> None:
    rng = np.random.default_rng(5)
    values = {
        "noise": rng.normal(0.0, 3.0, 3000),
        "walk": 2.0 * np.sin(np.arange(4000) * 0.12) + rng.normal(0.0, 0.3, 4000),
        "steps": np.repeat(rng.permutation(900).astype(float) / 100.0, rng.integers(1, 6, 900)),
        "flat": np.full(50, 4.0),
        "short": np.array([1.0, 5.0]),
        "empty": np.zeros(0),
    }[kind]
    expected, _ = find_peaks(values, height=1.5, distance=apart)
    assert peaks_of(values, 1.5, apart).tolist() == expected.tolist()

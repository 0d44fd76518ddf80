"""Sounds of propellers made here: lines at the blade pass and the shaft, in noise of a known strength.

The truth is the speed that was written in; nothing of the listening code is used.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

Floats = NDArray[np.float64]
RATE_HZ = 44_100
DROPS = 0.8  # of each blade line against the one before
LINES = 7


def clock(seconds: float) -> Floats:
    """Return the times of the samples [s]."""
    return np.arange(int(seconds * RATE_HZ)) / RATE_HZ


def propeller(turns_hz: Floats, blades: int, snr_db: float, *, shaft: float = 0.2, seed: int = 1) -> Floats:
    """Return a sound, peak 0.5: lines at ``m B n`` and softer ones at ``k n``, in white noise.

    ``turns_hz`` (n,) is the speed at each sample, 0 for silence; ``snr_db`` the power of all lines while it
    turns over that of the noise in the whole band up to 22 kHz.
    """
    phase = 2.0 * np.pi * np.cumsum(turns_hz) / RATE_HZ
    lines = sum((DROPS**m) * np.cos(m * blades * phase + m) for m in range(1, LINES + 1))
    lines += sum(shaft * 0.5**k * np.cos(k * phase) for k in range(1, 3 * blades) if k % blades)
    turning = turns_hz > 0.0
    sound = np.where(turning, lines, 0.0)
    power = float(np.mean(sound[turning] ** 2))
    noise = np.random.default_rng(seed).standard_normal(sound.size)
    sound = sound + noise * np.sqrt(power / 10.0 ** (snr_db / 10.0))
    return np.asarray(0.5 * sound / np.max(np.abs(sound)))


def wav(file: Path, samples: Floats, *, form: str = "WAV", rate_hz: int = RATE_HZ) -> Path:
    """Write a sound file and return its path."""
    data = io.BytesIO()
    soundfile.write(data, samples, rate_hz, format=form, subtype="PCM_16")
    file.write_bytes(data.getvalue())
    return file

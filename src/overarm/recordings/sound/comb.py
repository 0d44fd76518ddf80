"""How well a row of harmonics fits a short piece of sound, for every speed of the propeller.

A propeller of B blades at n rev/s sounds at B n and its multiples, and where blades differ or it is out of
balance also, more softly, at n and its multiples. The comb asks for the first and takes the second as it
comes, so that neither half nor twice the speed fits as well.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.signal import decimate

Floats = NDArray[np.float64]

WINDOW_S = 0.093
HOP_S = 0.02
LEAST_TURNS_HZ, MOST_TURNS_HZ = 10.0, 700.0  # 600 to 42 000 rpm
RATIO = 1.004  # between neighbouring speeds of the grid
HARMONICS = 8  # of the blade pass
TOP_HZ = 6_000.0
PRICE_DB = 7.0  # what every line that is asked for must stand above the floor
MOST_DB = 30.0  # what one line can count
SHAFT_WEIGHT = 0.3
FLOOR_HZ = 250.0  # width of the blocks whose medians are the floor
ENOUGH_HZ = 13_000.0  # rate that TOP_HZ needs; a faster sound is decimated
# Relative changes of speed [1/s] within one piece, for which it is unwarped: a rise blurs the lines.
PACES = (-8.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0)


class Pieces(NamedTuple):
    """Comb scores of every piece of a sound."""

    t_s: Floats  # (p,) middle of each piece
    turns_hz: Floats  # (g,) speeds of the grid [rev/s]
    scores: Floats  # (p, g) [dB], the best over all paces
    level_db: Floats  # (p, f) above the floor, without unwarping
    line_hz: float  # distance of the rows of a spectrum [Hz]


def grid(rate_hz: float, blades: int) -> Floats:
    """Return the speeds that are tried [rev/s]; two blade harmonics must lie below the Nyquist frequency."""
    top = min(MOST_TURNS_HZ, 0.9 * rate_hz / (4.0 * blades))
    count = int(np.log(top / LEAST_TURNS_HZ) / np.log(RATIO)) + 1
    return np.asarray(LEAST_TURNS_HZ * RATIO ** np.arange(count))


def warped(length: int, rate_hz: float, pace_per_s: float) -> Floats:
    """Return where to sample a piece so that a speed that changes by ``pace`` a second stands still.

    Equation: phase ``t + r t^2/2`` is made even: ``t = (sqrt(1 + 2 r u) - 1)/r``. Positions are in samples.
    """
    u = (np.arange(length) - 0.5 * (length - 1)) / rate_hz
    if pace_per_s == 0.0:
        return np.arange(length, dtype=float)
    inside = np.maximum(0.0, 1.0 + 2.0 * pace_per_s * u)
    return np.asarray((np.sqrt(inside) - 1.0) / pace_per_s * rate_hz + 0.5 * (length - 1))


def levels_db(pieces: Floats, rate_hz: float) -> tuple[Floats, float]:
    """Return spectra in dB above their floor, (p, f), and the distance of their rows [Hz].

    The floor lies straight between medians of the power over 250 Hz: lines do not raise it.
    """
    length = pieces.shape[1]
    size = 1 << int(np.ceil(np.log2(2 * length)))
    power = np.abs(np.fft.rfft(pieces * np.hanning(length), size, axis=1)) ** 2
    line_hz = rate_hz / size
    power = power[:, : int(min(TOP_HZ + FLOOR_HZ, 0.5 * rate_hz) / line_hz)]
    floor = _floor(power, max(3, int(FLOOR_HZ / line_hz)))
    least = max(1e-12 * float(power.max(initial=0.0)), 1e-300)
    return np.asarray(10.0 * np.log10((power + least) / (floor + least))), line_hz


def _floor(power: Floats, wide: int) -> Floats:
    """Return straight lines between the medians of blocks of rows, (p, f)."""
    count = max(1, power.shape[1] // wide)
    blocks = power[:, : count * wide].reshape(power.shape[0], count, -1)
    medians = np.median(blocks, axis=2)
    place = np.clip((np.arange(power.shape[1]) + 0.5) / wide - 0.5, 0.0, count - 1.0)
    low = np.minimum(place.astype(np.intp), max(0, count - 2))
    share = place - low
    return np.asarray(medians[:, low] * (1.0 - share) + medians[:, np.minimum(low + 1, count - 1)] * share)


def _gain(level_db: Floats, at_hz: Floats, line_hz: float) -> Floats:
    """Return levels (p, g) at frequencies (g,), the higher of the two nearest rows."""
    rows = at_hz / line_hz
    low = np.minimum(rows.astype(np.intp), level_db.shape[1] - 2)
    return np.clip(np.maximum(level_db[:, low], level_db[:, low + 1]), 0.0, MOST_DB)


def scores_of(level_db: Floats, line_hz: float, turns_hz: Floats, blades: int) -> Floats:
    """Return the comb score (p, g) of each piece and speed.

    Equation: ``sum over m of (g(m B n) - 7 dB)`` for the harmonics of the blade pass below 6 kHz, plus 0.3
    times what other multiples of n up to the second blade harmonic stand above 7 dB. Source: penalised
    harmonic sum, after Noll, *Pitch determination by the harmonic product spectrum, the harmonic sum
    spectrum and a maximum likelihood estimate* (1969), which has neither price nor shaft lines.
    """
    top_hz = min(TOP_HZ, (level_db.shape[1] - 2) * line_hz)
    total = np.zeros((level_db.shape[0], turns_hz.size))
    for k in range(1, HARMONICS * blades + 1):
        at_hz = k * turns_hz
        inside = at_hz <= top_hz
        if not inside.any():
            break
        over = _gain(level_db, np.minimum(at_hz, top_hz), line_hz) - PRICE_DB
        if k % blades == 0:
            total += np.where(inside, over, 0.0)
        elif k < 2 * blades:
            total += np.where(inside, SHAFT_WEIGHT * np.maximum(0.0, over), 0.0)
    return total


def comb(samples: Floats, rate_hz: float, blades: int) -> Pieces:
    """Return the comb scores of a sound, piece by piece of 93 ms, every 20 ms.

    Each piece is unwarped for nine paces of change, and the best counts: within 93 ms a fast rise spreads
    its eighth harmonic over hundreds of hertz.
    """
    fewer = int(rate_hz / ENOUGH_HZ)
    if fewer > 1:
        samples, rate_hz = decimate(samples, fewer, ftype="fir"), rate_hz / fewer
    length, hop = int(WINDOW_S * rate_hz), int(HOP_S * rate_hz)
    starts = np.arange(0, max(1, samples.size - length + 1), hop)
    turns_hz = grid(rate_hz, blades)
    best = np.full((starts.size, turns_hz.size), -np.inf)
    plain, line_hz = np.empty((0, 0)), 1.0
    for pace in PACES:
        at = warped(length, rate_hz, pace)
        for first in range(0, starts.size, 256):
            some = starts[first : first + 256]
            pieces = _sampled(samples, some, at)
            level, line_hz = levels_db(pieces, rate_hz)
            if pace == 0.0:
                plain = level if first == 0 else np.concatenate([plain, level])
            found = scores_of(level, line_hz, turns_hz, blades)
            best[first : first + 256] = np.maximum(best[first : first + 256], found)
    middle = (starts + 0.5 * length) / rate_hz
    return Pieces(np.asarray(middle), turns_hz, best, plain, line_hz)


def _sampled(samples: Floats, starts: NDArray[np.intp], at: Floats) -> Floats:
    """Return pieces (p, length) read at fractional places, by straight lines between samples."""
    low = np.clip(np.floor(at).astype(np.intp), 0, None)
    share = at - low
    first = np.minimum(starts[:, None] + low[None, :], samples.size - 1)
    second = np.minimum(first + 1, samples.size - 1)
    return np.asarray(samples[first] * (1.0 - share) + samples[second] * share)

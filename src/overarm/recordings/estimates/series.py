"""Pure arithmetic on samples over time: parts, noise, integrals, straight lines, crossings."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.recording import Numbers

# A normal distribution has its quartiles here.
QUARTILE = 0.6745


class Series(NamedTuple):
    """Samples over time, both of shape (n,)."""

    t_s: Numbers
    values: Numbers

    @property
    def step_s(self) -> float:
        """Return the usual step between samples [s]; 0 for fewer than two."""
        return float(np.median(np.diff(self.t_s))) if self.t_s.size > 1 else 0.0


class Line(NamedTuple):
    """A straight line fitted to samples: value at ``at_s``, slope, and their standard errors."""

    at_s: float
    value: float
    slope: float
    value_error: float
    slope_error: float
    scatter: float  # of the samples about the line


def part(series: Series, from_s: float, to_s: float) -> Series:
    """Return the samples from a time to a time [s], both included."""
    first = int(np.searchsorted(series.t_s, from_s, side="left"))
    last = int(np.searchsorted(series.t_s, to_s, side="right"))
    return Series(series.t_s[first:last], series.values[first:last])


def at(series: Series, t_s: Numbers) -> Numbers:
    """Return the values at other times, straight between samples, held beyond the ends."""
    return np.asarray(np.interp(t_s, series.t_s, series.values))


def noise_of(values: Numbers) -> float:
    """Return the noise (1 sd) of samples of something that changes slowly; 0 for fewer than four.

    Equation: the median of ``|x[i-1] - 2 x[i] + x[i+1]|`` over ``0.6745 sqrt(6)``: the second
    difference takes off any straight line, the median any rare jump.
    """
    if values.size < 4:
        return 0.0
    bent = np.abs(np.diff(values, 2))
    return float(np.median(bent)) / (QUARTILE * math.sqrt(6.0))


def integral(t_s: Numbers, values: Numbers) -> Numbers:
    """Return the running integral by the trapezoidal rule, 0 at the first sample; shape (n,)."""
    out = np.zeros(t_s.size)
    if t_s.size > 1:
        np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(t_s), out=out[1:])
    return out


def sampling_error(t_s: Numbers, values: Numbers) -> float:
    """Return how far the integral over samples may be off because they are far apart.

    Equation: a third of the difference between the trapezoidal rule on all samples and on every other
    one (Richardson). Source: Press et al., *Numerical Recipes*, 3rd ed. (2007), section 4.2.
    """
    if t_s.size < 5:
        return abs(float(integral(t_s, values)[-1])) * 0.3 if t_s.size > 1 else 0.0
    odd = t_s.size if t_s.size % 2 else t_s.size - 1
    fine = float(integral(t_s[:odd], values[:odd])[-1])
    coarse = float(integral(t_s[:odd:2], values[:odd:2])[-1])
    return abs(fine - coarse) / 3.0


def straight(series: Series, at_s: float) -> Line:
    """Return the least-squares line through at least two samples.

    The errors come from the scatter about the line; with two samples they are infinite.
    """
    t = series.t_s - float(np.mean(series.t_s))
    spread = float(t @ t)
    mean = float(np.mean(series.values))
    slope = float(t @ series.values) / spread
    left = series.values - mean - slope * t
    freedom = t.size - 2
    scatter = math.sqrt(float(left @ left) / freedom) if freedom > 0 else math.inf
    ahead = at_s - float(np.mean(series.t_s))
    return Line(
        at_s,
        mean + slope * ahead,
        slope,
        scatter * math.sqrt(1.0 / t.size + ahead * ahead / spread),
        scatter / math.sqrt(spread),
        scatter,
    )


def smoothed(series: Series, width_s: float) -> Series:
    """Return a running mean of this width [s], without delay; at the ends over what there is."""
    step = series.step_s
    half = round(0.5 * width_s / step) if step > 0.0 else 0
    if half < 1:
        return series
    total = np.concatenate([[0.0], np.cumsum(series.values)])
    place = np.arange(series.values.size)
    low, high = np.maximum(0, place - half), np.minimum(series.values.size, place + half + 1)
    return Series(series.t_s, (total[high] - total[low]) / (high - low))


def in_blocks(t_s: Numbers, values: Numbers, width_s: float) -> tuple[Numbers, Numbers]:
    """Return (means, counts) of the columns of values (k, n) over blocks of time of this width [s].

    Means have shape (k + 1, blocks), the time first; only blocks with samples are there.
    """
    rows = np.concatenate([t_s[None, :], values])
    block = np.floor((t_s - t_s[0]) / width_s).astype(np.int64)
    counts = np.bincount(block).astype(np.float64)
    sums = np.stack([np.bincount(block, weights=row) for row in rows])
    used = counts > 0
    return sums[:, used] / counts[used], counts[used]


def first_rise_through(series: Series, level: float) -> float | None:
    """Return when the samples first pass a level upwards [s], straight between samples; None if never."""
    over = series.values >= level
    places = np.flatnonzero(over[1:] & ~over[:-1])
    if not places.size:
        return None
    i = int(places[0])
    low, high = float(series.values[i]), float(series.values[i + 1])
    share = (level - low) / (high - low)
    return float(series.t_s[i] + share * (series.t_s[i + 1] - series.t_s[i]))

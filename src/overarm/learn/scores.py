"""Predictions scored against what happened: Brier with its parts, log score, calibration, few launches.

Sources: G. W. Brier (1950), Mon. Weather Rev. 78, 1; A. H. Murphy (1973), J. Appl. Meteorol. 12, 595 (the
parts); D. B. Stephenson et al. (2008), Weather and Forecasting 23, 752 (what grouping leaves over);
I. J. Good (1952), J. R. Stat. Soc. B 14, 107 (log score); D. J. Spiegelhalter (1986), Statistics in
Medicine 5, 421 (the z test); J. A. Hanley & A. Lippman-Hand (1983), JAMA 249, 1743 (the rule of three).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.odds.intervals import Interval, exact

Floats = NDArray[np.float64]
GROUPS = 10
# Odds are shown between 1 and 99 %, so that is what a prediction is held to.
LOWEST, HIGHEST = 0.01, 0.99


class Group(NamedTuple):
    """Launches with about the same predicted odds: how many, mean prediction, how many clean, interval."""

    launches: int
    predicted: float
    clean: int
    happened: Interval


class BrierParts(NamedTuple):
    """The Brier score and its parts: ``score = reliability - resolution + uncertainty + within``.

    Reliability: how far the predicted odds are from what happened at those odds (0 is best). Resolution:
    how well they tell launches apart (large is best). Uncertainty: what guessing the mean share scores.
    ``within``: what is left over because odds that differ a little stand in one group.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float


def brier(predicted: Floats, clean: NDArray[np.bool_]) -> float:
    """Return the mean square of prediction less outcome; 0 is best, always saying half gives 0.25."""
    return float(np.mean((predicted - clean) ** 2))


def log_score(predicted: Floats, clean: NDArray[np.bool_]) -> float:
    """Return the mean of minus the log of the odds that were given to what happened; 0 is best.

    Predictions are held between 1 and 99 %, as odds are shown; always saying half gives ln 2.
    """
    held = np.clip(predicted, LOWEST, HIGHEST)
    return float(np.mean(-np.log(np.where(clean, held, 1.0 - held))))


def groups_of(predicted: Floats, clean: NDArray[np.bool_], groups: int = GROUPS) -> tuple[Group, ...]:
    """Return the launches grouped by predicted odds, in equal steps; empty groups are left out."""
    place = np.minimum((predicted * groups + 1e-9).astype(np.int64), groups - 1)
    found = []
    for k in range(groups):
        here = place == k
        count, hits = int(here.sum()), int(clean[here].sum())
        if count:
            found.append(Group(count, float(predicted[here].mean()), hits, exact(hits, count)))
    return tuple(found)


def brier_parts(predicted: Floats, clean: NDArray[np.bool_], groups: int = GROUPS) -> BrierParts:
    """Return the Brier score in its parts.

    Equations: ``REL = sum n_k (f_k - o_k)^2/n``, ``RES = sum n_k (o_k - o)^2/n``, ``UNC = o (1 - o)``.
    Exact if all predictions of a group are equal; else ``within`` is what is left.
    """
    rate, count = float(np.mean(clean)), len(clean)
    reliability = resolution = 0.0
    for item in groups_of(predicted, clean, groups):
        reliability += item.launches * (item.predicted - item.happened.share) ** 2 / count
        resolution += item.launches * (item.happened.share - rate) ** 2 / count
    score, uncertainty = brier(predicted, clean), rate * (1.0 - rate)
    return BrierParts(
        score, reliability, resolution, uncertainty, score - reliability + resolution - uncertainty
    )


def calibration_z(predicted: Floats, clean: NDArray[np.bool_]) -> float | None:
    """Return how many standard deviations the Brier score lies from what true odds would give.

    Equation: ``z = sum (o - f)(1 - 2 f)/sqrt(sum (1 - 2 f)^2 f (1 - f))``. Positive: worse than true odds
    would score, so they were too sure, of a clean launch or of none. None if all odds are 0, 1 or one half.
    """
    slope = 1.0 - 2.0 * predicted
    variance = float(np.sum(slope**2 * predicted * (1.0 - predicted)))
    if variance <= 1e-12:
        return None
    return float(np.sum((clean - predicted) * slope)) / math.sqrt(variance)


def rule_of_three(launches: int, level: float = 0.95) -> float:
    """Return the largest share of failures that n launches without one still allow, one-sided.

    Equation: ``1 - (1 - level)^(1/n)``, about ``3/n`` at 95 %.
    """
    return 1.0 - math.pow(1.0 - level, 1.0 / launches)


class Band(NamedTuple):
    """One predicted figure: its 5th, 50th and 95th percentile, and what it came to."""

    name: str
    p5: float
    p50: float
    p95: float
    was: float


class Coverage(NamedTuple):
    """How many figures fell into their 90 % interval, with the exact interval of that share."""

    inside: int
    figures: int
    share: Interval
    expected: float = 0.90

    @property
    def agrees(self) -> bool:
        """Return True if what was promised lies within the interval."""
        return self.share.low <= self.expected <= self.share.high


def coverage(bands: Sequence[Band]) -> Coverage | None:
    """Return how many figures lie within p5 to p95; None without one."""
    if not bands:
        return None
    inside = sum(item.p5 <= item.was <= item.p95 for item in bands)
    return Coverage(inside, len(bands), exact(inside, len(bands)))


def transformed(band: Band) -> float:
    """Return where in its prediction a figure fell, 0 to 1 (probability integral transform).

    Between and beyond the three percentiles the normal scores run straight: a normal with two widths.
    Source: A. P. Dawid (1984), J. R. Stat. Soc. A 147, 278.
    """
    from scipy.special import ndtr

    side = band.p95 - band.p50 if band.was > band.p50 else band.p50 - band.p5
    gap = band.was - band.p50
    if side <= 0.0:
        return 0.5 if gap == 0.0 else float(gap > 0.0)
    return float(ndtr(min(max(1.6448536 * gap / side, -37.0), 37.0)))


def evenness_p(values: Sequence[float]) -> float | None:
    """Return how likely values that should lie evenly between 0 and 1 lie as unevenly as these, or more.

    Twice the exact one-sided probability of Kolmogorov and Smirnov, at most 1. None without a value.
    Source: Z. W. Birnbaum & F. H. Tingey (1951), Ann. Math. Stat. 22, 592.
    """
    from scipy.special import smirnov

    if not len(values):
        return None
    ranked, count = np.sort(np.asarray(values, dtype=np.float64)), len(values)
    steps = np.arange(1, count + 1) / count
    gap = float(max(np.max(steps - ranked), np.max(ranked - steps + 1.0 / count)))
    return min(1.0, 2.0 * float(smirnov(count, gap)))

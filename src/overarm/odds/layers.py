"""The odds as a distribution over what we do not know.

Each world is one way the unknowns may be. Its share of clean launches is its odds, seen through the
noise of only 25 launches. A beta distribution takes that noise out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.odds.intervals import Worlds

QUANTILES = (0.05, 0.50, 0.95)
NOT_ALIKE = 1e-9
MOST_ALIKE = 0.999


class OddsSpread(NamedTuple):
    """Odds at the 5th, 50th and 95th percentile of the worlds, and their standard deviation."""

    p5: float
    p50: float
    p95: float
    sd: float
    likeness: float  # intraclass correlation: 0 no world differs, 1 each world always ends alike


def likeness(worlds: Worlds) -> float:
    """Return the correlation of two launches of one world, by analysis of variance.

    Equation: ``(B - W)/(B + (n0 - 1) W)`` with the mean squares B between and W within worlds and
    ``n0 = (n - sum n_i^2/n)/(m - 1)``; below zero it is taken as zero.
    Source: M. S. Ridout, C. G. B. Demétrio & D. Firth (1999), Biometrics 55, 137, the ANOVA estimator.
    """
    count = len(worlds.launches)
    total = float(worlds.launches.sum())
    if count < 2 or total <= count:
        return 0.0
    share = float(worlds.clean.sum()) / total
    each = worlds.clean / worlds.launches
    between = float(worlds.launches @ (each - share) ** 2) / (count - 1.0)
    within = float(worlds.launches @ (each * (1.0 - each))) / (total - count)
    size = (total - float(worlds.launches @ worlds.launches) / total) / (count - 1.0)
    below = between + (size - 1.0) * within
    return max(0.0, (between - within) / below) if below > 0.0 else 0.0


def spread_of_odds(worlds: Worlds) -> OddsSpread:
    """Return the odds over the worlds, with the noise of finitely many launches taken out.

    A beta distribution with the mean and the likeness of the launches:
    ``a = p (1/rho - 1)``, ``b = (1 - p)(1/rho - 1)``.
    Source: beta-binomial by moments, J. G. Skellam (1948), J. R. Stat. Soc. B 10, 257.
    """
    from scipy.special import betaincinv

    share = float(worlds.clean.sum() / worlds.launches.sum())
    alike = min(likeness(worlds), MOST_ALIKE)
    if alike < NOT_ALIKE or share in (0.0, 1.0):
        return OddsSpread(share, share, share, 0.0, 0.0)
    weight = 1.0 / alike - 1.0
    p5, p50, p95 = (float(betaincinv(share * weight, (1.0 - share) * weight, q)) for q in QUANTILES)
    sd = float(np.sqrt(share * (1.0 - share) * alike))
    return OddsSpread(p5, p50, p95, sd, alike)

"""Intervals of a share: for launches on their own, and for launches that come in worlds.

Launches of one world share everything that we do not know, so they resemble each other. A share over
all of them is known less well than its number of launches suggests; the *design effect* says by how
much. `scipy.special` gives the quantiles (it loads in half the time of ``scipy.stats``); the tests
hold both intervals against ``scipy.stats.binomtest`` and against published values.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

LEVEL = 0.95
# With fewer failures (or successes) than this the likeness within worlds cannot be seen in them; each
# world then counts as one launch, unless a figure behind the event shows the likeness.
FEWEST_TO_SEE_LIKENESS = 10
FEW_WORLDS = 100  # with fewer an interval is rough


class Interval(NamedTuple):
    """A share with its two-sided interval at a level."""

    share: float
    low: float
    high: float
    level: float = LEVEL

    @property
    def width(self) -> float:
        """Return the full width of the interval."""
        return self.high - self.low


def _checked(successes: float, trials: float, level: float) -> float:
    """Return the share of successes. ValueError for impossible numbers."""
    if not (trials > 0.0 and 0.0 <= successes <= trials):
        raise ValueError(
            f"{successes} of {trials}: successes must lie within 0 and the trials, of at least one trial"
        )
    if not 0.0 < level < 1.0:
        raise ValueError(f"the level {level} must lie between 0 and 1")
    return successes / trials


def wilson(successes: float, trials: float, level: float = LEVEL) -> Interval:
    """Return the score interval of a share; trials need not be whole (an effective number is not).

    Equation: ``(p + z^2/2n -+ z sqrt(p (1-p)/n + z^2/4n^2)) / (1 + z^2/n)``.
    Source: E. B. Wilson (1927), J. Am. Stat. Assoc. 22, 209; chosen after R. G. Newcombe (1998),
    Statistics in Medicine 17, 857, method 3.
    """
    from scipy.special import ndtri

    share = _checked(successes, trials, level)
    z = float(ndtri(0.5 + 0.5 * level))
    over = z * z / trials
    middle = (share + 0.5 * over) / (1.0 + over)
    half = z * math.sqrt(share * (1.0 - share) / trials + 0.25 * over / trials) / (1.0 + over)
    low = 0.0 if successes == 0 else max(0.0, min(middle - half, share))
    high = 1.0 if successes == trials else min(1.0, max(middle + half, share))
    return Interval(share, low, high, level)


def exact(successes: float, trials: float, level: float = LEVEL) -> Interval:
    """Return the interval that never covers less often than its level (quantiles of beta functions).

    Source: C. J. Clopper & E. S. Pearson (1934), Biometrika 26, 404. With no failure in n launches
    its one-sided 95 % form is the rule of three: at most about 3/n fail.
    """
    from scipy.special import betaincinv

    share = _checked(successes, trials, level)
    tail = 0.5 * (1.0 - level)
    failures = trials - successes
    low = 0.0 if successes == 0 else float(betaincinv(successes, failures + 1.0, tail))
    high = 1.0 if failures == 0 else float(betaincinv(successes + 1.0, failures, 1.0 - tail))
    return Interval(share, low, high, level)


class Worlds(NamedTuple):
    """Launches and clean launches of each world, shape (n_world,)."""

    clean: NDArray[np.float64]
    launches: NDArray[np.float64]


def by_world(clean: NDArray[np.bool_], world: NDArray[np.integer]) -> Worlds:
    """Count the launches and the clean launches of each world, in the order of their numbers."""
    _, place = np.unique(world, return_inverse=True)
    launches = np.bincount(place).astype(np.float64)
    return Worlds(np.bincount(place, weights=clean.astype(np.float64)).astype(np.float64), launches)


def design_effect(worlds: Worlds) -> float:
    """Return by how much the variance of the share is larger than for as many launches on their own.

    Equation: ``v / (p (1-p)/n)`` with ``v = m/((m-1) n^2) sum (x_i - n_i p)^2`` over m worlds with
    x_i clean of n_i launches.
    Source: J. N. K. Rao & A. J. Scott (1992), Biometrics 48, 577; L. Kish (1965), Survey Sampling.
    Raises ValueError with fewer than two worlds or if all launches ended alike.
    """
    count = len(worlds.launches)
    total = float(worlds.launches.sum())
    share = float(worlds.clean.sum()) / total
    if count < 2 or share in (0.0, 1.0):
        raise ValueError("the design effect needs two worlds and launches that did not all end alike")
    residual = worlds.clean - worlds.launches * share
    variance = count / ((count - 1.0) * total * total) * float(residual @ residual)
    return variance / (share * (1.0 - share) / total)


def effective_launches(worlds: Worlds, level: float = LEVEL, rare_likeness: float = 1.0) -> float:
    """Return the number of launches on their own that tell as much as these launches in worlds.

    ``rare_likeness`` [0..1] is how alike two launches of one world are in an event that is too rare to show
    it: 1, each world counts once, if nobody knows; see `tail_likeness`.

    Equation: ``n/deff (z/t)^2``, t with one degree of freedom fewer than worlds; deff is kept between
    one and the size of a world. Where too few launches failed (or were clean) to see the likeness it is
    ``1 + (size - 1) likeness``, or what little can be seen if that is more.
    Source: E. L. Korn & B. I. Graubard (1998), Survey Methodology 24, 193; L. Kish (1965), Survey Sampling.
    """
    from scipy.special import ndtri, stdtrit

    count = len(worlds.launches)
    if count < 2:
        return 1.0
    total, clean = float(worlds.launches.sum()), float(worlds.clean.sum())
    largest = max(1.0, total / count)
    seen = design_effect(worlds) if 0.0 < clean < total else 1.0
    if min(clean, total - clean) < FEWEST_TO_SEE_LIKENESS:
        seen = max(seen, 1.0 + (largest - 1.0) * rare_likeness)
    z = float(ndtri(0.5 + 0.5 * level))
    t = float(stdtrit(count - 1, 0.5 + 0.5 * level))
    return max(1.0, total / min(max(seen, 1.0), largest) * (z / t) ** 2)


def figure_likeness(values: NDArray[np.float64], world: NDArray[np.integer]) -> float:
    """Return the correlation of a figure in two launches of one world, of its normal scores.

    Equation: each value becomes the normal quantile of its rank; then analysis of variance,
    ``(B - W)/(B + (n0 - 1) W)`` as in `overarm.odds.layers.likeness`; below zero it is taken as zero.
    1 if there is nothing to see it by. Source: R. A. Fisher (1925), Statistical Methods, chapter 7.
    """
    from scipy.special import ndtri

    _, place = np.unique(world, return_inverse=True)
    size = np.bincount(place).astype(np.float64)
    count, total = len(size), float(len(values))
    if count < 2 or total <= count:
        return 1.0
    _, rank, ties = np.unique(values, return_inverse=True, return_counts=True)
    middle = np.cumsum(ties) - 0.5 * ties
    scores = np.asarray(ndtri(middle[rank] / total))
    scores = scores - scores.mean()
    means = np.bincount(place, weights=scores) / size
    between = float(size @ means**2) / (count - 1.0)
    within = float(np.sum((scores - means[place]) ** 2)) / (total - count)
    usual = (total - float(size @ size) / total) / (count - 1.0)
    below = between + (usual - 1.0) * within
    return max(0.0, (between - within) / below) if below > 0.0 else 0.0


def tail_likeness(correlation: float, share: float) -> float:
    """Return how alike two launches are in a rare event, from the figure whose tail it is.

    Parameters: correlation of the figure in two launches of one world [0..1]; share of the launches in
    the tail. Equation: correlation of two events ``x > h`` of a bivariate normal,
    ``(P - q^2)/(q (1 - q))`` with ``P = q - 2 T(h, sqrt((1 - r)/(1 + r)))``, T Owen's function.
    Source: D. B. Owen (1956), Ann. Math. Stat. 27, 1075. The tails of other pairs may be more alike.
    """
    from scipy.special import ndtri, owens_t

    if not 0.0 < share < 1.0:
        raise ValueError(f"the share {share} must lie between 0 and 1")
    r = min(max(correlation, 0.0), 1.0)
    both = share - 2.0 * float(owens_t(-float(ndtri(share)), math.sqrt((1.0 - r) / (1.0 + r))))
    return min(1.0, max(0.0, (both - share * share) / (share * (1.0 - share))))


def clustered(worlds: Worlds, level: float = LEVEL) -> Interval:
    """Return the interval of the share over all launches, for launches in worlds.

    The score interval; with fewer than `FEW_WORLDS` worlds the exact one too, whichever end lies further out.
    """
    trials = effective_launches(worlds, level)
    share = float(worlds.clean.sum()) / float(worlds.launches.sum())
    score = wilson(share * trials, trials, level)
    if len(worlds.launches) >= FEW_WORLDS:
        return score
    sure = exact(share * trials, trials, level)
    return Interval(share, min(score.low, sure.low), max(score.high, sure.high), level)

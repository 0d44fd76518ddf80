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
# With fewer failures (or successes) than this the likeness within worlds cannot be seen; each world
# then counts as one launch.
FEWEST_TO_SEE_LIKENESS = 10


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


def effective_launches(worlds: Worlds, level: float = LEVEL) -> float:
    """Return the number of launches on their own that tell as much as these launches in worlds.

    Equation: ``n/deff (z/t)^2``, t with one degree of freedom fewer than worlds; deff is kept between
    one and the size of a world, and is that size where too few launches failed (or were clean) to
    see the likeness. Source: E. L. Korn & B. I. Graubard (1998), Survey Methodology 24, 193.
    """
    from scipy.special import ndtri, stdtrit

    count = len(worlds.launches)
    if count < 2:
        return 1.0
    total, clean = float(worlds.launches.sum()), float(worlds.clean.sum())
    largest = max(1.0, total / count)
    rare = min(clean, total - clean) < FEWEST_TO_SEE_LIKENESS
    effect = largest if rare else min(max(design_effect(worlds), 1.0), largest)
    z = float(ndtri(0.5 + 0.5 * level))
    t = float(stdtrit(count - 1, 0.5 + 0.5 * level))
    return max(1.0, total / effect * (z / t) ** 2)


def clustered(worlds: Worlds, level: float = LEVEL) -> Interval:
    """Return the score interval of the share over all launches, for launches in worlds."""
    trials = effective_launches(worlds, level)
    share = float(worlds.clean.sum()) / float(worlds.launches.sum())
    return wilson(share * trials, trials, level)

"""How often something happens in an hour, with its exact interval; and what it means to have seen none.

`scipy.special` gives the quantiles; ``tests/verification/test_counts.py`` holds them against published
tables and against ``scipy.stats``.
"""

from __future__ import annotations

from typing import NamedTuple

from overarm.odds.intervals import LEVEL

HOUR_S = 3600.0


class Rate(NamedTuple):
    """A count over a time, and the rate an hour with its two-sided interval; `high`: None without a time."""

    events: int
    time_s: float
    per_hour: float
    low: float
    high: float | None
    level: float = LEVEL


def count_limits(count: int, level: float = LEVEL) -> tuple[float, float]:
    """Return the two-sided limits of the mean of a Poisson count.

    Equation: ``chi2(tail; 2 n)/2`` and ``chi2(1 - tail; 2 n + 2)/2``, ``tail = (1 - level)/2``; by quantiles
    of gamma functions. Source: F. Garwood (1936), Biometrika 28, 437. ValueError for impossible numbers.
    """
    from scipy.special import gammaincinv

    if count < 0 or not 0.0 < level < 1.0:
        raise ValueError(
            f"{count} events at a level of {level}: a count is not below 0, a level within 0 and 1"
        )
    tail = 0.5 * (1.0 - level)
    low = float(gammaincinv(count, tail)) if count else 0.0
    return low, float(gammaincinv(count + 1.0, 1.0 - tail))


def rate_of(count: int, time_s: float, level: float = LEVEL) -> Rate:
    """Return the rate an hour of a count in a time [s], with its exact interval."""
    if time_s <= 0.0:
        return Rate(count, 0.0, 0.0, 0.0, None, level)
    low, high = count_limits(count, level)
    hours = time_s / HOUR_S
    return Rate(count, time_s, count / hours, low / hours, high / hours, level)


def none_seen(time_s: float) -> float:
    """Return the rate an hour that having seen none in a time [s] still allows: 3.7 over that time.

    The upper end of the two-sided 95 % interval, as for every other count: one rule for none and for some,
    or the interval covers less often than it says (G. J. Feldman & R. D. Cousins, 1998, Phys. Rev. D 57,
    3873). The rule of three is its one-sided form (J. A. Hanley & A. Lippman-Hand, 1983, JAMA 249, 1743).
    """
    return count_limits(0)[1] * HOUR_S / time_s

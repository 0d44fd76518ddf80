"""Exact intervals of counts and shares in the trigger room, against published values and scipy.stats."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from overarm.odds.intervals import exact
from overarm.trigger.poisson import count_limits, none_seen, rate_of
from tests.agreement import Agrees

GARWOOD_TABLE = "Garwood (1936)"
CHI2 = "scipy.stats.chi2"
CLOPPER = "Clopper and Pearson (1934), from memory"
HANLEY = "Hanley and Lippman-Hand (1983)"

# Two-sided 95 % limits of a Poisson mean. Source: F. Garwood (1936), Biometrika 28, 437, as tabulated in
# E. S. Pearson & H. O. Hartley, Biometrika Tables for Statisticians 1, table 40; values from memory, and held
# against scipy below.
GARWOOD = {
    0: (0.0, 3.69), 1: (0.0253, 5.57), 2: (0.242, 7.22), 3: (0.619, 8.77), 5: (1.62, 11.67),
    10: (4.80, 18.39), 20: (12.22, 30.89), 50: (37.11, 65.92),
}  # fmt: skip


@pytest.mark.parametrize("events", GARWOOD)
def test_published_limits_of_a_count(agrees: Agrees, events: int) -> None:
    low, high = count_limits(events)
    agrees(f"lower limit of a count of {events}", GARWOOD_TABLE, low, GARWOOD[events][0], abs=0.006)
    agrees(f"upper limit of a count of {events}", GARWOOD_TABLE, high, GARWOOD[events][1], abs=0.006)


@pytest.mark.parametrize("events", [0, 1, 4, 17, 300])
@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.99])
def test_limits_are_quantiles_of_chi_square(agrees: Agrees, events: int, level: float) -> None:
    """K. Ulm (1990), American Journal of Epidemiology 131, 373: chi2 of 2 n and of 2 n + 2 degrees."""
    low, high = count_limits(events, level)
    tail = 0.5 * (1.0 - level)
    expected = stats.chi2.ppf(tail, 2 * events) / 2 if events else 0.0
    agrees(f"lower limit of a count of {events} at {level:g}", CHI2, low, expected, rel=1e-9)
    agrees(
        f"upper limit of a count of {events} at {level:g}",
        CHI2,
        high,
        stats.chi2.ppf(1.0 - tail, 2 * events + 2) / 2,
        rel=1e-9,
    )


@pytest.mark.parametrize("mean", [0.3, 1.0, 2.7, 8.0, 21.5])
def test_the_interval_covers_at_least_as_often_as_it_says(mean: float) -> None:
    events = np.arange(0, 120)
    limits = [count_limits(int(n)) for n in events]
    covers = np.array([low <= mean <= high for low, high in limits])
    chance = np.exp(
        events * math.log(mean) - mean - np.array([math.lgamma(n + 1.0) for n in events]).clip(None, 600)
    )
    assert float(chance[covers].sum()) >= 0.95


def test_none_seen_allows_what_the_interval_of_every_other_count_does(agrees: Agrees) -> None:
    """-ln 0.025 = 3.689, two-sided; at 90 % -ln 0.05 = 2.996, the rule of three of J. A. Hanley &
    A. Lippman-Hand (1983), JAMA 249, 1743, which is one-sided 95 %."""
    agrees("upper limit of a count of none", HANLEY, count_limits(0, 0.90)[1], 3.0, abs=0.005)
    agrees("upper limit of a count of none, two-sided", CHI2, none_seen(3600.0), -math.log(0.025), rel=1e-9)
    assert none_seen(120.0) == pytest.approx(110.7, abs=0.05)  # two minutes without a start
    assert rate_of(0, 120.0).high == pytest.approx(none_seen(120.0))


def test_a_rate_scales_with_the_time() -> None:
    rate = rate_of(3, 1800.0)
    assert (rate.per_hour, rate.low, rate.high) == pytest.approx((6.0, 2 * 0.6187, 2 * 8.7673), rel=1e-3)
    nothing = rate_of(0, 0.0)
    assert (nothing.high, nothing.per_hour) == (None, 0.0)


@pytest.mark.parametrize(("missed", "of", "low", "high"), [
    (0, 5, 0.0, 0.5218), (0, 10, 0.0, 0.3085), (1, 10, 0.0025, 0.4450), (0, 20, 0.0, 0.1684),
    (2, 20, 0.0123, 0.3170),
])  # fmt: skip
def test_published_limits_of_a_share(agrees: Agrees, missed: int, of: int, low: float, high: float) -> None:
    """C. J. Clopper & E. S. Pearson (1934), Biometrika 26, 404; values as in common tables, from memory, and
    from `scipy.stats.binomtest`."""
    found = exact(missed, of)
    other = stats.binomtest(missed, of).proportion_ci(0.95, "exact")
    agrees(f"exact interval of {missed} of {of}", CLOPPER, (found.low, found.high), (low, high), abs=6e-5)
    agrees(
        f"exact interval of {missed} of {of}",
        "scipy.stats.binomtest",
        (found.low, found.high),
        (other.low, other.high),
        abs=1e-9,
    )


@pytest.mark.parametrize(("events", "level"), [(-1, 0.95), (0, 0.0), (0, 1.0), (3, math.inf)])
def test_impossible_numbers_are_refused(events: int, level: float) -> None:
    with pytest.raises(ValueError, match="events at a level"):
        count_limits(events, level)

"""Intervals of shares against published worked values and against scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import betabinom, binomtest, multivariate_normal, norm

from overarm.odds.intervals import (
    Interval,
    Worlds,
    by_world,
    clustered,
    design_effect,
    effective_launches,
    exact,
    figure_likeness,
    tail_likeness,
    wilson,
)
from overarm.odds.layers import likeness, spread_of_odds
from tests.agreement import Agrees

TABLE_OF_NEWCOMBE = "Newcombe (1998), table I"
SCIPY = "scipy.stats.binomtest"
RSB = "manual of the R package PF, function rsb"
RULE = "Hanley and Lippman-Hand (1983)"

# R. G. Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17
# (1998) 857, table I: score interval (method 3) and exact interval (method 5), 95 %.
NEWCOMBE = [
    (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20, (0.0000, 0.1611), (0.0000, 0.1684)),
    (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
]

# Weil's rats: pups that lived of pups born, a litter a pair. J. N. K. Rao & A. J. Scott, Biometrics 48
# (1992) 577, table 1; the design effects as printed in the manual of the R package PF, function rsb.
CONTROL = Worlds(
    np.array([13, 12, 9, 9, 8, 8, 12, 11, 9, 9, 8, 11, 4, 5, 7, 7], dtype=np.float64),
    np.array([13, 12, 9, 9, 8, 8, 13, 12, 10, 10, 9, 13, 5, 7, 10, 10], dtype=np.float64),
)
TREATED = Worlds(
    np.array([12, 11, 10, 9, 10, 9, 9, 8, 8, 4, 7, 4, 5, 3, 3, 0], dtype=np.float64),
    np.array([12, 11, 10, 9, 11, 10, 10, 9, 9, 5, 9, 7, 10, 6, 10, 7], dtype=np.float64),
)


@pytest.mark.parametrize(("k", "n", "score", "sure"), NEWCOMBE)
def test_published_intervals(
    agrees: Agrees, k: int, n: int, score: tuple[float, float], sure: tuple[float, float]
) -> None:
    agrees(
        f"score interval of {k} of {n}",
        TABLE_OF_NEWCOMBE,
        (wilson(k, n).low, wilson(k, n).high),
        score,
        abs=5.1e-5,
    )
    agrees(
        f"exact interval of {k} of {n}",
        TABLE_OF_NEWCOMBE,
        (exact(k, n).low, exact(k, n).high),
        sure,
        abs=5.1e-5,
    )


@pytest.mark.parametrize("level", [0.90, 0.95, 0.99])
@pytest.mark.parametrize(("k", "n"), [(0, 1), (1, 1), (3, 7), (12, 150), (199, 200), (5000, 10000)])
def test_same_as_scipy(agrees: Agrees, k: int, n: int, level: float) -> None:
    for ours, method in ((wilson, "wilson"), (exact, "exact")):
        theirs = binomtest(k, n).proportion_ci(level, method)
        agrees(
            f"{method} interval of {k} of {n} at {level:g}",
            SCIPY,
            ours(k, n, level)[1:3],
            (theirs.low, theirs.high),
            abs=1e-10,
        )


@pytest.mark.parametrize("n", [30, 100, 1000])
def test_rule_of_three(n: int) -> None:
    """No failure in n: at most about 3/n fail, one-sided 95 %. J. A. Hanley & A. Lippman-Hand (1983),
    JAMA 249, 1743. Twenty clean launches still allow 14 %: 1 - 0.05^(1/20)."""
    assert exact(0, n, 0.90).high == pytest.approx(3.0 / n, rel=0.05)
    assert exact(0, 20, 0.90).high == pytest.approx(0.139, abs=5e-4)


@pytest.mark.parametrize(("litters", "effect"), [(CONTROL, 1.232495), (TREATED, 3.952861)])
def test_published_design_effects(agrees: Agrees, litters: Worlds, effect: float) -> None:
    agrees(f"design effect {effect:g} of litters of rats", RSB, design_effect(litters), effect, abs=1e-6)


def test_design_effect_of_worlds_that_always_end_alike_is_their_size() -> None:
    """Kish (1965): deff = 1 + (m - 1) rho; rho = 1 gives m."""
    clean = np.array([25.0, 0.0] * 50)
    worlds = Worlds(clean, np.full(100, 25.0))
    assert design_effect(worlds) == pytest.approx(25.0, rel=0.02)
    assert likeness(worlds) == pytest.approx(1.0)


def test_interval_covers_as_often_as_it_says() -> None:
    """500 campaigns of 60 worlds with odds from beta(4, 1): the 95 % interval covers 0.8."""
    rng = np.random.default_rng(3)
    covered = narrow = 0
    for _ in range(500):
        clean = rng.binomial(25, rng.beta(4.0, 1.0, 60)).astype(np.float64)
        worlds = Worlds(clean, np.full(60, 25.0))
        low, high = clustered(worlds)[1:3]
        covered += low <= 0.8 <= high
        plain = wilson(float(clean.sum()), 1500.0)
        narrow += plain.low <= 0.8 <= plain.high
    assert 0.92 <= covered / 500 <= 0.98
    assert narrow / 500 < 0.75  # launches taken as independent claim too much


@pytest.mark.parametrize(("a", "b"), [(1.0, 0.25), (2.0, 0.2), (0.3, 0.3), (0.2, 0.02), (4.0, 1.0)])
def test_twenty_worlds_still_cover(a: float, b: float) -> None:
    """400 campaigns of 20 worlds whose odds differ widely: nine of ten intervals at least hold the truth."""
    rng = np.random.default_rng(3)
    clean = rng.binomial(25, rng.beta(a, b, (400, 20))).astype(np.float64)
    size = np.full(20, 25.0)
    ends = np.array([clustered(Worlds(row, size))[1:3] for row in clean])
    truth = a / (a + b)
    assert np.mean((ends[:, 0] <= truth) & (truth <= ends[:, 1])) >= 0.90
    score = [wilson(row.sum(), 500.0)[1:3] for row in clean]
    assert np.mean([low <= truth <= high for low, high in score]) < 0.75  # if worlds were launches


def test_spread_of_odds_finds_the_beta_distribution_that_made_it() -> None:
    """Beta(4, 1) has its 5th, 50th and 95th percentile at q^(1/4)."""
    clean = betabinom.rvs(25, 4.0, 1.0, size=8000, random_state=7).astype(np.float64)
    spread = spread_of_odds(Worlds(clean, np.full(8000, 25.0)))
    assert spread[:3] == pytest.approx([0.05**0.25, 0.5**0.25, 0.95**0.25], abs=0.02)
    assert spread.sd == pytest.approx(np.sqrt(4.0 / (25.0 * 6.0)), abs=0.01)
    assert spread.likeness == pytest.approx(1.0 / 6.0, abs=0.01)


def test_noise_of_25_launches_is_taken_out() -> None:
    rng = np.random.default_rng(5)
    same = Worlds(rng.binomial(25, 0.8, 2000).astype(np.float64), np.full(2000, 25.0))
    spread = spread_of_odds(same)
    assert spread.p95 - spread.p5 < 0.06
    assert np.quantile(same.clean / 25.0, 0.95) - np.quantile(same.clean / 25.0, 0.05) > 0.2


def test_without_failures_each_world_counts_once() -> None:
    worlds = Worlds(np.full(400, 25.0), np.full(400, 25.0))
    assert effective_launches(worlds) == pytest.approx(400.0, rel=0.01)
    assert clustered(worlds).low == pytest.approx(1.0 / (1.0 + 1.96**2 / 400.0), abs=2e-4)
    assert spread_of_odds(worlds)[:4] == (1.0, 1.0, 1.0, 0.0)


@pytest.mark.parametrize(("r", "share"), [(0.0, 1e-3), (0.3, 1e-2), (0.5, 1e-3), (0.9, 0.05)])
def test_likeness_of_a_tail_against_the_bivariate_normal(r: float, share: float) -> None:
    """Owen's function against scipy's integration of the bivariate normal."""
    edge = norm.ppf(share)
    both = multivariate_normal.cdf([edge, edge], cov=[[1.0, r], [r, 1.0]])
    expected = (both - share**2) / (share * (1.0 - share))
    assert tail_likeness(r, share) == pytest.approx(expected, abs=2e-6)


def test_likeness_of_a_tail_at_its_ends() -> None:
    """At the middle: 2 arcsin(r)/pi (Sheppard 1899). Always alike: 1. A tail is less alike."""
    assert tail_likeness(0.6, 0.5) == pytest.approx(2.0 * np.arcsin(0.6) / np.pi)
    assert tail_likeness(1.0, 1e-3) == pytest.approx(1.0)
    assert tail_likeness(0.5, 1e-3) < 0.1
    with pytest.raises(ValueError, match="must lie"):
        tail_likeness(0.5, 0.0)


def test_likeness_of_a_figure() -> None:
    """Half of the variance shared by a world: 0.5; the same for any rising function of the figure."""
    rng = np.random.default_rng(9)
    world = np.repeat(np.arange(400), 25)
    figure = rng.standard_normal(400)[world] + rng.standard_normal(10_000)
    assert figure_likeness(figure, world) == pytest.approx(0.5, abs=0.04)
    assert figure_likeness(np.exp(3.0 * figure), world) == pytest.approx(figure_likeness(figure, world))
    assert figure_likeness(rng.standard_normal(10_000), world) < 0.02
    assert figure_likeness(world.astype(np.float64), world) == pytest.approx(1.0)
    assert figure_likeness(np.ones(10_000), world) == 0.0
    assert figure_likeness(np.ones(3), np.arange(3)) == 1.0
    assert figure_likeness(np.ones(0), np.arange(0)) == 1.0


def test_bound_on_a_rare_event_covers_as_often_as_it_says() -> None:
    """One in 500, the tail of a figure that worlds half share: the one-sided 95 % bound covers it."""
    rng = np.random.default_rng(12)
    world, edge, covered = np.repeat(np.arange(80), 25), norm.isf(0.002), 0
    for _ in range(300):
        figure = np.sqrt(0.5) * rng.standard_normal(80)[world] + np.sqrt(0.5) * rng.standard_normal(2000)
        event = figure > edge
        alike = tail_likeness(figure_likeness(figure, world), 0.002)
        told = effective_launches(by_world(event, world), 0.90, alike)
        covered += exact(event.mean() * told, told, 0.90).high >= 0.002
    assert covered / 300 >= 0.94


def test_one_world_says_next_to_nothing() -> None:
    alone = clustered(Worlds(np.array([20.0]), np.array([25.0])))
    assert alone.width > 0.7
    assert likeness(Worlds(np.array([20.0]), np.array([25.0]))) == 0.0


def test_counting_worlds() -> None:
    clean = np.array([True, False, True, True])
    worlds = by_world(clean, np.array([7, 7, 9, 9]))
    assert worlds.clean.tolist() == [1.0, 2.0]
    assert worlds.launches.tolist() == [2.0, 2.0]


@pytest.mark.parametrize(("k", "n", "level"), [(1, 0, 0.95), (3, 2, 0.95), (-1, 2, 0.95), (1, 2, 1.0)])
def test_impossible_numbers(k: float, n: float, level: float) -> None:
    for method in (wilson, exact):
        with pytest.raises(ValueError, match="must lie"):
            method(k, n, level)
    with pytest.raises(ValueError, match="two worlds"):
        design_effect(Worlds(np.array([25.0]), np.array([25.0])))


def test_width() -> None:
    assert Interval(0.5, 0.4, 0.65).width == pytest.approx(0.25)

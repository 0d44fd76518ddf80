"""The interval of a difference: by hand, against scipy, and how often it covers the truth."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from overarm.odds.paired import Difference, few_unlike_worlds, paired
from overarm.odds.paired_words import interval_words
from overarm.odds.what_if_words import points

SIZE = 25
RULE_OF_THREE = 3.7  # on two sides


def launches(
    rng: np.random.Generator, worlds: int, won: float, lost: float, likeness: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.int64]]:
    """Return launches before and after a change that wins and spoils given shares, alike within worlds."""

    def shares(mean: float) -> NDArray[np.float64]:
        if mean == 0.0 or likeness == 0.0:
            return np.full(worlds, mean)
        scale = (1.0 - likeness) / likeness
        return rng.beta(mean * scale, (1.0 - mean) * scale, worlds)

    up = shares(won)
    down = np.minimum(shares(lost), 1.0 - up)
    draw = rng.random(worlds * SIZE)
    wins = draw < np.repeat(up, SIZE)
    loses = ~wins & (draw < np.repeat(up + down, SIZE))
    before = loses | (~wins & (rng.random(worlds * SIZE) < 0.7))
    return before, (before | wins) & ~loses, np.repeat(np.arange(worlds), SIZE)


def test_interval_is_the_t_interval_of_the_worlds() -> None:
    """Worlds of one size: the plain t-interval over the differences of the worlds (scipy)."""
    before, after, world = launches(np.random.default_rng(3), 200, 0.15, 0.05, 0.2)
    each = (after.astype(float) - before.astype(float)).reshape(200, SIZE).mean(axis=1)
    low, high = stats.t.interval(0.95, 199, loc=each.mean(), scale=stats.sem(each))
    found = paired(before, after, world)
    assert found.share == pytest.approx(each.mean())
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.won - found.lost == round(found.share * 200 * SIZE)


CASES = [
    (40, 0.0, 0.2, 0.2), (60, 0.10, 0.05, 0.0), (60, 0.10, 0.05, 0.6), (400, 0.0, 0.01, 0.2),
    (400, 0.003, 0.01, 0.6), (400, 0.002, 0.002, 0.0), (40, 0.0, 0.01, 0.6), (400, 0.0, 0.0005, 0.2),
]  # fmt: skip
CAMPAIGNS = 300
LEAST = 0.91  # 95 % less three standard errors of 300 campaigns


def campaigns(worlds: int, won: float, lost: float, likeness: float, apart: bool = False) -> list[Difference]:
    """Return the intervals of made-up campaigns; ``apart`` takes every launch for a world of its own."""
    rng = np.random.default_rng(20)
    found = []
    for _ in range(CAMPAIGNS):
        before, after, world = launches(rng, worlds, won, lost, likeness)
        found.append(paired(before, after, np.arange(len(world)) if apart else world))
    return found


def covered(found: list[Difference], truth: float, stretch: float = 1.0) -> float:
    """Return the share of intervals, each stretched about its middle value, that hold the truth."""
    return float(
        np.mean(
            [
                item.share - stretch * (item.share - item.low)
                <= truth
                <= item.share + stretch * (item.high - item.share)
                for item in found
            ]
        )
    )


@pytest.mark.plain_floats("a beta of tiny shape underflows to zero on purpose")
@pytest.mark.parametrize(("worlds", "won", "lost", "likeness"), CASES)
def test_interval_covers_the_truth(worlds: int, won: float, lost: float, likeness: float) -> None:
    """In 300 made-up campaigns it covers in 91 % or more, and is no wider than it must be.

    The right width is what the campaigns themselves scatter by; of next to no change, the rule of three.
    """
    found = campaigns(worlds, won, lost, likeness)
    assert covered(found, won - lost) >= LEAST
    wanted = 2.0 * 1.96 * float(np.std([item.share for item in found]))
    width = float(np.median([item.width for item in found]))
    assert width < max(1.25 * wanted, 1.05 * 2.0 * RULE_OF_THREE / worlds)
    if won + lost > 0.1:
        assert covered(found, won - lost) <= 0.99


@pytest.mark.plain_floats("a beta of tiny shape underflows to zero on purpose")
@pytest.mark.parametrize(("worlds", "won", "lost", "likeness"), [CASES[0], CASES[2], CASES[4]])
def test_coverage_would_show_an_interval_that_is_too_narrow(
    worlds: int, won: float, lost: float, likeness: float
) -> None:
    """The same campaigns with launches taken for worlds, or with half the width, fall short of 91 %."""
    assert covered(campaigns(worlds, won, lost, likeness, apart=True), won - lost) < LEAST
    assert covered(campaigns(worlds, won, lost, likeness), won - lost, 0.5) < LEAST


def test_no_launch_that_turned_leaves_the_rule_of_three() -> None:
    """-+(1 - 0.025^(1/m)) of m worlds, about 3.7/m: scipy's exact binomial interval of 0 of m."""
    clean = np.ones(400 * SIZE, bool)
    world = np.repeat(np.arange(400), SIZE)
    found = paired(clean, clean, world)
    high = stats.binomtest(0, 400).proportion_ci(method="exact").high
    assert (found.low, found.share, found.high) == pytest.approx((-high, 0.0, high))
    assert found.high == pytest.approx(3.7 / 400, rel=0.01)
    assert not found.clear


def test_one_launch_that_turned_does_not_make_a_narrow_interval() -> None:
    clean = np.ones(100 * SIZE, bool)
    after = clean.copy()
    after[7] = False
    found = paired(clean, after, np.repeat(np.arange(100), SIZE))
    assert (found.won, found.lost) == (0, 1)
    assert found.low < -0.01 < 0.0 < found.high


@pytest.mark.parametrize(
    ("worlds", "spoiled", "few", "said"),
    [
        (400, 1, 1, "Only 1 world differs from the rest of 400"),
        (400, 12, 12, "Only 12 worlds differ from the rest of 400"),
        (400, 40, None, ""),
        (400, 0, 0, "None of 10,000 launches turned"),
        (40, 40, 0, "All 40 worlds changed alike"),
    ],
)
def test_an_interval_of_few_worlds_says_so(worlds: int, spoiled: int, few: int | None, said: str) -> None:
    clean = np.ones(worlds * SIZE, bool)
    after = clean.copy()
    after[: spoiled * SIZE : SIZE] = False
    world = np.repeat(np.arange(worlds), SIZE)
    gap = paired(clean, after, world)
    assert few_unlike_worlds(clean, after, world) == few
    told = interval_words(gap, few, worlds, worlds * SIZE)
    assert told.startswith(said) if said else not told


def test_every_launch_that_turned_is_not_known_to_the_last_digit() -> None:
    clean = np.ones(30 * SIZE, bool)
    found = paired(clean, ~clean, np.repeat(np.arange(30), SIZE))
    assert found.share == found.low == -1.0
    assert -0.95 < found.high < -0.7


def test_one_world_says_next_to_nothing() -> None:
    clean = np.ones(SIZE, bool)
    found = paired(~clean, clean, np.zeros(SIZE, int))
    assert (found.low, found.high) == (-1.0, 1.0)


def test_campaigns_that_do_not_belong_together_are_refused() -> None:
    with pytest.raises(ValueError, match="same launches"):
        paired(np.ones(3, bool), np.ones(4, bool), np.zeros(4, int))
    with pytest.raises(ValueError, match="one launch"):
        paired(np.ones(0, bool), np.ones(0, bool), np.zeros(0, int))


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((-0.2, -0.232, -0.171), "-20 points (-23 to -17)"),
        ((0.0, -0.009, 0.009), "0.0 points (-0.9 to +0.9)"),
        ((-0.002, -0.05, 0.04), "0 points (-5 to +4)"),
        ((0.18, 0.13, 0.23), "+18 points (+13 to +23)"),
    ],
)
def test_points_in_words(ends: tuple[float, float, float], said: str) -> None:
    assert points(Difference(*ends, 0, 0)) == said

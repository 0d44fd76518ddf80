"""From standard normal numbers to inputs: the drawn values have the distributions that the page names.

Source: the distributions of scipy; N. L. Johnson, S. Kotz & N. Balakrishnan (1994), Continuous Univariate
Distributions, vol. 1, chapters 13 and 14. The limits are those of 20 000 draws.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from overarm.flight.draw import WORLD_SIZE, draw
from overarm.flight.record import LAUNCH
from overarm.flight.rules import Computed, RuleBook

DRAWS = 20_000
SPEED, PATH = "hand.speed_mps", "hand.path_rad"
MIDDLE = {"speed_mps": 8.0, "path_rad": 0.2}


def drawn(book: RuleBook, seed: int = 3) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the speeds and paths of many launches."""
    base = np.ones(1, LAUNCH)
    for name, value in MIDDLE.items():
        base["hand"][name] = value
    records, _ = draw(base, book.rules(), DRAWS, seed)
    return records["hand"]["speed_mps"], records["hand"]["path_rad"]


def test_a_positive_quantity_is_lognormal_about_its_value() -> None:
    book = RuleBook()
    book.factor("speed", "varies", SPEED, 0.3)
    speed, _ = drawn(book)
    assert stats.kstest(speed, stats.lognorm(s=0.3, scale=8.0).cdf).pvalue > 0.01


def test_the_spread_of_a_card_is_that_of_the_lognormal_whose_mean_it_is() -> None:
    """A spread of s about m: sd over mean of what is drawn is s/m."""
    book = RuleBook()
    book.quantity("speed", Computed(2.0, 8.0), SPEED)
    speed, _ = drawn(book)
    world = speed[::WORLD_SIZE]
    assert np.all(speed.reshape(-1, WORLD_SIZE) == world[:, None])  # one draw for a world
    assert np.std(np.log(world)) == pytest.approx(math.sqrt(math.log1p((2.0 / 8.0) ** 2)), rel=0.08)


def test_speed_and_path_have_their_scatter_and_their_correlation() -> None:
    book = RuleBook()
    book.pair(("speed", "path"), (SPEED, PATH), (0.8, 0.07), -0.3)
    speed, path = drawn(book)
    for values, middle, sd in ((speed, 8.0, 0.8), (path, 0.2, 0.07)):
        assert stats.kstest(values, stats.norm(middle, sd).cdf).pvalue > 0.01
    # One standard error of a correlation is (1 - rho^2)/sqrt(n), Johnson, Kotz & Balakrishnan (1995), ch. 32.
    assert np.corrcoef(speed, path)[0, 1] == pytest.approx(-0.3, abs=3.0 * 0.91 / math.sqrt(DRAWS))


def test_a_slip_comes_as_often_as_it_should_and_a_bound_holds() -> None:
    book = RuleBook()
    book.rarely("slip", SPEED, 0.04, 0.7, scale=True)
    speed, _ = drawn(book)
    slipped = int(np.sum(speed < 8.0))
    assert stats.binomtest(slipped, DRAWS, 0.04).pvalue > 0.01
    assert set(np.unique(speed)) == {8.0 * 0.7, 8.0}
    book.offset("speed", "varies", SPEED, 4.0)
    book.at_least(SPEED, 1.0)
    assert drawn(book)[0].min() == 1.0

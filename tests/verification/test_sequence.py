"""The state model: the best path and the probabilities of the states against enumeration and textbooks."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from overarm.recordings.sequence import IMPOSSIBLE, logs, most_likely, posterior

Numbers = NDArray[np.float64]


def enumerated(
    start: Numbers, moves: Numbers, which: NDArray[np.int64], scores: Numbers
) -> tuple[list[int], Numbers, float]:
    """Try every order of states: the best one, the share of each state at each step, the total."""
    steps, states = scores.shape
    best, top = [0] * steps, -1.0
    shares = np.zeros((steps, states))
    for path in itertools.product(range(states), repeat=steps):
        chance = start[path[0]] * math.exp(scores[0, path[0]])
        for k in range(1, steps):
            chance *= moves[which[k]][path[k - 1], path[k]] * math.exp(scores[k, path[k]])
        if chance > top:
            best, top = list(path), chance
        for k, state in enumerate(path):
            shares[k, state] += chance
    total = float(shares[0].sum())
    return best, shares / total, total


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 4), st.integers(1, 5))
def test_against_every_order(seed: int, states: int, steps: int) -> None:
    luck = np.random.default_rng(seed)
    start = luck.dirichlet(np.ones(states))
    moves = luck.dirichlet(np.ones(states), (2, states))
    which = luck.integers(0, 2, steps)
    scores = luck.normal(0.0, 2.0, (steps, states))
    best, shares, total = enumerated(start, moves, which, scores)
    assert most_likely(start, moves, which, scores).tolist() == best
    found, log_total = posterior(start, moves, which, scores)
    assert found == pytest.approx(shares, abs=1e-12)
    assert log_total == pytest.approx(math.log(total), abs=1e-9)


def test_rabiner_weather() -> None:
    """Rain 1, cloud 2, sun 3: P(3 3 3 1 1 3 2 3 | sun today) = 1.536e-4.

    Rabiner, Proc. IEEE 77 (1989) 257, section II, the example below equation 3.
    """
    moves = np.array([[[0.4, 0.3, 0.3], [0.2, 0.6, 0.2], [0.1, 0.1, 0.8]]])
    days = [2, 2, 2, 0, 0, 2, 1, 2]
    scores = np.full((8, 3), IMPOSSIBLE)
    scores[np.arange(8), days] = 0.0
    start = np.array([0.0, 0.0, 1.0])
    which = np.zeros(8, np.int64)
    assert most_likely(start, moves, which, scores).tolist() == days
    shares, log_total = posterior(start, moves, which, scores)
    assert math.exp(log_total) == pytest.approx(1.536e-4, rel=1e-9)
    assert shares[np.arange(8), days] == pytest.approx(np.ones(8))


def test_umbrella_world() -> None:
    """Two days with an umbrella: rain on the first day 0.883, on the second 0.883.

    Russell and Norvig, Artificial Intelligence: A Modern Approach, 3rd ed. (2010), section 15.2.2; numbers
    from memory, 0.883 as printed there.
    """
    moves = np.array([[[0.7, 0.3], [0.3, 0.7]]])
    scores = np.log(np.array([[0.9, 0.2], [0.9, 0.2]]))
    start = np.array([0.5, 0.5])
    shares, _ = posterior(start, moves, np.zeros(2, np.int64), scores)
    assert shares[:, 0] == pytest.approx([0.883, 0.883], abs=5e-4)


def test_what_no_order_explains() -> None:
    """A state that cannot be reached is said to be impossible, not NaN."""
    moves = np.array([[[1.0, 0.0], [0.0, 1.0]]])
    scores = logs(np.array([[1.0, 0.0], [0.0, 1.0]]))
    shares, log_total = posterior(np.array([1.0, 0.0]), moves, np.zeros(2, np.int64), scores)
    assert log_total == IMPOSSIBLE or log_total < -500.0
    assert np.all(np.isfinite(shares))


def test_a_long_row_keeps_its_scale() -> None:
    """A hundred thousand steps neither underflow nor lose the sum of one."""
    luck = np.random.default_rng(3)
    moves = np.array([[[0.999, 0.001], [0.001, 0.999]]])
    scores = luck.normal(-50.0, 3.0, (100_000, 2))
    shares, log_total = posterior(np.array([0.5, 0.5]), moves, np.zeros(100_000, np.int64), scores)
    assert shares.sum(axis=1) == pytest.approx(np.ones(100_000))
    assert np.isfinite(log_total)

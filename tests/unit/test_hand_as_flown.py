"""The finding on hand and disc over the launches that were flown. Limits: common practice, no source."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from overarm.flight.outcomes import SUMMARY, Outcome
from overarm.odds.clear import hand_as_flown, most_hands_at_risk


def flown(launches: int, risky: int, slack_s: float) -> NDArray[np.void]:
    table = np.zeros(launches, SUMMARY)
    table["outcome"][:risky] = Outcome.HAND_AT_RISK
    table["world"] = np.arange(launches) // 25
    table["clear_s"] = 2.0
    table["first_spin_s"] = 2.0 + slack_s
    return table


@pytest.mark.parametrize(
    ("launches", "risky", "slack_s", "word"),
    [
        (10_000, 0, 0.2, "good"),
        (10_000, 0, 0.05, "watch"),
        (10_000, 11, 0.2, "stop"),
        (10_000, 9, 0.2, "not known"),
        (10_000, 1, 0.2, "good"),
        (10_000, 0, 0.1, "good"),
        (500, 0, 0.2, "not known"),
        (3_100, 0, 0.2, "good"),  # rule of three
    ],
)
def test_hand_and_disc_as_flown(launches: int, risky: int, slack_s: float, word: str) -> None:
    found = hand_as_flown(flown(launches, risky, slack_s), "throw-started", True)
    assert found is not None
    assert found.word == word
    assert found.combined
    assert "in the model" in found.sentence.lower()


def test_a_start_in_the_hand_is_a_disc_beside_a_hand() -> None:
    table = flown(10_000, 8, 0.2)
    table["outcome"][-4:] = Outcome.FALSE_START
    found = hand_as_flown(table, "throw-started", True)
    assert found is not None
    assert found.word == "stop"
    assert found.numbers["at_risk"] == 12.0


def test_launches_that_are_alike_tell_less_of_the_hand() -> None:
    """Slack of pairs in one world correlated by 0, 1/2, 1: no event in 10 000 allows more and more."""
    rng = np.random.default_rng(4)
    shared, own = np.repeat(rng.standard_normal(400), 25), rng.standard_normal(10_000)
    none = np.zeros(10_000, dtype=bool)
    allowed = []
    for share in (0.0, 0.5, 1.0):
        table = flown(10_000, 0, 0.2)
        table["first_spin_s"] += 0.02 * (math.sqrt(share) * shared + math.sqrt(1.0 - share) * own)
        allowed.append(most_hands_at_risk(table, none))
    alone, half, alike = allowed
    assert alone == pytest.approx(3.0 / 10_000, rel=0.1)  # rule of three
    assert 1.5 * alone < half < 1e-3
    assert alike == pytest.approx(3.0 / 400, rel=0.1)
    together = none.copy()
    together[:5] = True  # five in one world are one bad world; five in five are chance
    spread = none.copy()
    spread[:125:25] = True
    table = flown(10_000, 0, 0.2)
    assert most_hands_at_risk(table, together) > 1.5 * most_hands_at_risk(table, spread)


def test_no_disc_passes_the_hand_of_a_tractor_or_a_line() -> None:
    assert hand_as_flown(flown(5000, 0, 0.2), "line-launched", True) is None
    assert hand_as_flown(flown(5000, 0, 0.2), "spin-in-hand", False) is None

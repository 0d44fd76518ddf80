"""The finding on hand and disc over the launches that were flown. Limits: common practice, no source."""

from __future__ import annotations

import math
import runpy
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from overarm.flight.outcomes import SUMMARY, Outcome
from overarm.odds.as_flown import as_flown, hand_as_flown, hands_shown, most_hands_at_risk
from overarm.odds.links import LaunchFigures
from overarm.sheets.race import RaceData, window_words

SYNTHETIC = runpy.run_path(str(Path(__file__).parent / "synthetic.py"))


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


@pytest.mark.parametrize(
    ("launches", "risky", "word"), [(500, 0, "watch"), (10_000, 0, "watch"), (500, 2, "stop")]
)
def test_the_finding_has_the_wait_that_the_race_asks_for(launches: int, risky: int, word: str) -> None:
    """0.07 s between a clear hand and the first turn: 0.03 s more are wanted, with few launches too."""
    found = hand_as_flown(flown(launches, risky, 0.07), "throw-started", True, 0.60)
    assert found is not None
    assert found.word == word
    assert "The wait of 0.60 s is too short for the hand: as flown at least 0.63 s" in found.sentence
    race: RaceData = SYNTHETIC["made"]().data.race._replace(wait_s=0.60, earliest_s=0.63, latest_s=0.9)
    assert "The wait of 0.60 s is too short for the hand: as flown at least 0.63 s" in window_words(race)


def test_few_launches_show_no_hands_clear_whatever_the_word() -> None:
    for slack_s, shown in ((0.07, False), (0.2, False)):
        few = hand_as_flown(flown(500, 0, slack_s), "throw-started", True, 0.60)
        assert few is not None
        assert hands_shown(few) is shown
    many = hand_as_flown(flown(10_000, 0, 0.07), "throw-started", True, 0.60)
    assert many is not None
    assert hands_shown(many)


@pytest.mark.parametrize(
    ("launches", "wait_s", "word", "said"),
    [
        (1000, 0.60, "good", "needs 0.50 s"),
        (1000, 0.45, "watch", "too short for the line: as flown at least 0.50 s"),
        (100, 0.45, "watch", "too short for the line: as flown at least 0.50 s"),
        (100, 0.60, "not known", "1,000 at least"),
    ],
)
def test_the_wait_on_a_line_is_among_the_findings(launches: int, wait_s: float, word: str, said: str) -> None:
    """0.55 s on the line and 0.10 s more, less 0.15 s until the motor turns: 0.50 s."""
    table = flown(launches, 0, 0.2)
    table["detection_s"], table["release_s"] = 1.0, 1.55
    launch = LaunchFigures("line-launched", start_wait_s=wait_s, start_delay_s=0.15)
    (found,) = as_flown(table, launch)
    assert (found.name, found.word) == ("start wait, as flown", word)
    assert said in found.sentence


def test_ahead_of_a_tractor_the_wait_counts_from_the_release() -> None:
    launch = LaunchFigures("throw-started", pusher=False, start_wait_s=0.30)
    (found,) = as_flown(flown(1000, 0, 0.05), launch)
    assert "The wait of 0.30 s is too short for the hand: as flown at least 0.35 s" in found.sentence
    assert as_flown(flown(1000, 0, 0.05), launch._replace(style="spin-in-hand")) == ()

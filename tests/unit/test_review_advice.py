"""The one advice of a launch: which of all that is known decides, people first."""

from __future__ import annotations

import math

import pytest

from overarm.flight.outcomes import Outcome
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference
from overarm.odds.what_if import Changed
from overarm.recordings.launch import Estimate, Event
from overarm.review.advice import advice_of
from overarm.review.result import Again, AsFlown, Margin, Other, Trial, Verdict
from overarm.review.seen import Seen
from overarm.review.untold import ABORTED, CANNOT_TELL
from tests.reviewed import CLEAN, flown_seen, seen_of
from tests.unit.test_review import altered

GOOD = Verdict(Outcome.CLEAN.label, "good", "It left well.")
DIPPED = Verdict(Outcome.DIPPED.label, "watch", "It sank.")
NONE = ((), (), None)


@pytest.fixture
def seen() -> Seen:
    return flown_seen(CLEAN)


@pytest.fixture
def stranger() -> Seen:
    """A recording without the setup that was flown."""
    return seen_of(CLEAN, None, None)


def trial(level: float, dwell: float = 0.03, **more: object) -> Trial:
    told = {"is_card": False, "carry_fires": 0, "throw_fires": True, "factor": 2.0, **more}
    return Trial(level, dwell, tells="yes", sentence=f"At {level:.0f} m/s2.", **told)  # type: ignore[arg-type]


def weak(link: str, word: str = "watch") -> Margin:
    return Margin(link, word, 1.0, 0.1, 1.0, "m", 0.1, "Near.")  # type: ignore[arg-type]


def flown(key: str, word: str) -> AsFlown:
    return AsFlown(key, 0.4, 0.2, 0.02, word, "It differs.")  # type: ignore[arg-type]


def test_nothing_stands_out(seen: Seen) -> None:
    assert advice_of(seen, GOOD, NONE, (), None).sentence.startswith("Change nothing")
    assert advice_of(seen, DIPPED, NONE, (), None).sentence.startswith("Record it to the handover")


def test_what_cannot_be_told_asks_for_what_is_missing(seen: Seen, stranger: Seen) -> None:
    untold = Verdict(CANNOT_TELL, "not known", "It ends early.")
    assert "Record it to the handover" in advice_of(seen, untold, NONE, (), None).sentence
    assert "Give the setup that was flown" in advice_of(stranger, untold, NONE, (), None).sentence
    broken = Verdict(ABORTED, "not known", "Broken off.")
    assert "Record the throttle too" in advice_of(seen, broken, NONE, (), None).sentence
    off = altered(seen, events={"first_spin": None, "first_throttle": None})
    assert off.started is False
    assert "the motor stayed off" in advice_of(off, broken, NONE, (), None).sentence


def test_a_wait_shorter_than_the_card_goes_before_all_else(seen: Seen) -> None:
    found = ((flown("settings.start_wait", "stop"),), (), weak("speed"))
    advice = advice_of(seen, DIPPED, found, (), None)
    assert advice.changes == (Changed("settings.start_wait", "0.20 s", "0.40 s"),)
    assert "before anybody holds it again" in advice.sentence


def test_another_setting_than_the_card(seen: Seen) -> None:
    found = ((flown("settings.start_ramp", "watch"),), (), weak("speed"))
    assert advice_of(seen, DIPPED, found, (), None).sentence.endswith("before the next launch.")


def test_a_hand_at_risk_waits_longer(seen: Seen, stranger: Seen) -> None:
    risk = Verdict(Outcome.HAND_AT_RISK.label, "stop", "It turned early.", in_hand=True)
    assert seen.setup is not None
    card = seen.setup.settings.start_wait_s.value
    (told,) = advice_of(seen, risk, NONE, (), None).changes
    assert told.key == "settings.start_wait"
    assert float(told.after.split()[0]) >= card + 0.1 - 1e-9  # never shorter, and by a tenth at least
    assert "until it is known why the motor started" in advice_of(stranger, risk, NONE, (), None).sentence


def test_a_false_start_raises_the_level_if_a_throw_still_fires(seen: Seen) -> None:
    false = Verdict(Outcome.FALSE_START.label, "stop", "It started.", in_hand=True)
    assert seen.setup is not None
    level = seen.setup.settings.jerk_level_mps2.value
    dwell = seen.setup.settings.jerk_dwell_s.value
    trials = (
        trial(level + 9.0, dwell),
        trial(level + 5.0, dwell),
        trial(level + 1.0, dwell, carry_fires=1),
        trial(level + 2.0, dwell, factor=1.0),  # the throw reaches it without room
        trial(level + 3.0, dwell + 0.01),
        trial(level - 1.0, dwell),
    )
    advice = advice_of(seen, false, NONE, trials, None)
    assert [(one.key, one.after) for one in advice.changes] == [
        ("settings.jerk_level", f"{level + 5.0:.3g} m/s2")
    ]
    assert "let it listen only at the line" in advice_of(seen, false, NONE, trials[2:], None).sentence


def test_a_carry_that_fires_the_card_is_told_after_a_clean_launch(seen: Seen) -> None:
    assert seen.setup is not None
    level = seen.setup.settings.jerk_level_mps2.value
    dwell = seen.setup.settings.jerk_dwell_s.value
    own = trial(level, dwell, is_card=True, carry_fires=2)
    assert advice_of(seen, GOOD, NONE, (own,), None).sentence.startswith("Carry it level or nose-down")
    raised = advice_of(seen, GOOD, NONE, (own, trial(level + 4.0, dwell)), None)
    assert raised.changes[0].key == "settings.jerk_level"
    quiet = own._replace(carry_fires=0)
    assert advice_of(seen, GOOD, NONE, (quiet,), None).kind == "none"


def test_a_motor_that_did_not_start(seen: Seen, stranger: Seen) -> None:
    no = Verdict(Outcome.NO_START.label, "stop", "It never started.")
    assert "for a second on a stand" in advice_of(seen, no, NONE, (), None).sentence
    unasked = altered(seen, events={"first_throttle": None, "detection": Event(1.0, 0.01, "level")})
    assert "it says it is listening" in advice_of(unasked, no, NONE, (), None).sentence
    gone = {"first_throttle": None, "detection": None}
    assert "Give the setup" in advice_of(altered(stranger, events=gone), no, NONE, (), None).sentence
    deaf = altered(seen, events=gone)
    assert advice_of(deaf, no, NONE, (), None).sentence.startswith("Throw firmly along the body")
    assert seen.setup is not None
    level = seen.setup.settings.jerk_level_mps2.value
    dwell = seen.setup.settings.jerk_dwell_s.value
    eased = advice_of(deaf, no, NONE, (trial(level - 2.0, dwell / 2), trial(level + 2.0, dwell)), None)
    assert [one.key for one in eased.changes] == ["settings.jerk_level", "settings.jerk_dwell"]
    only = advice_of(deaf, no, NONE, (trial(level, dwell / 2),), None)
    assert [one.key for one in only.changes] == ["settings.jerk_dwell"]


def test_power_lost_is_a_matter_of_the_pack(seen: Seen) -> None:
    lost = Verdict(Outcome.POWER_LOST.label, "stop", "The pack sagged.")
    assert "fresh, warm pack" in advice_of(seen, lost, NONE, (), None).sentence


def test_the_change_that_gains_most_of_this_launch_flown_again(seen: Seen) -> None:
    def other(key: str, share: float, low: float, refused: str = "") -> Other:
        gap = Difference(share, low, share + 0.1, 9, 1)
        told = (Changed(key, "8 m/s", "9 m/s"),)
        return Other(told, False, Interval(0.5, 0.4, 0.6), gap, (), Difference(0, 0, 0, 0, 0), refused, "")

    others = (
        other("settings.climb_pitch", 0.10, 0.05),
        other("thrower.release_speed", 0.20, 0.12),
        other("settings.start_wait", 0.50, 0.40, refused="not advised"),
        other("settings.ceiling", 0.30, -0.01),
        other("settings.give_up", 0.02, 0.01),
    )
    again = Again(400, (), Interval(0.5, 0.4, 0.6), {}, others)
    advice = advice_of(seen, DIPPED, NONE, (), again)
    assert advice.kind == "habit"
    assert advice.sentence.startswith("Release speed 9 m/s instead of 8 m/s: of launches like this one")
    first = Again(400, (), Interval(0.5, 0.4, 0.6), {}, others[:1])
    assert advice_of(seen, DIPPED, NONE, (), first).kind == "setting"
    poor = Again(400, (), Interval(0.5, 0.4, 0.6), {}, others[2:])
    assert advice_of(seen, DIPPED, NONE, (), poor).changes == ()


@pytest.mark.parametrize(
    ("name", "deg", "words"),
    [
        ("release_pitch_rad", 31.0, "the nose far up"),
        ("release_path_rad", -9.0, "it was thrown down"),
        ("release_bank_rad", -25.0, "wings level"),
    ],
)
def test_a_throw_that_was_off(seen: Seen, name: str, deg: float, words: str) -> None:
    plain = {key: Estimate(key, 0.0, 0.01, "") for key in ("release_pitch_rad", "release_path_rad")}
    off = altered(seen, estimates={**plain, name: Estimate(name, math.radians(deg), 0.01, "")})
    assert words in advice_of(off, DIPPED, ((), (), weak("climb")), (), None).sentence
    assert advice_of(off, GOOD, NONE, (), None).kind == "none"  # of a clean launch it is no fault


@pytest.mark.parametrize(
    ("link", "words"), [("climb", "pull the propeller on a scale"), ("other", "Look at the recording again")]
)
def test_the_weakest_link_at_last(seen: Seen, link: str, words: str) -> None:
    level = {key: Estimate(key, 0.0, 0.01, "") for key in ("release_pitch_rad", "release_path_rad")}
    plain = altered(
        seen, estimates={**level, "release_bank_rad": Estimate("release_bank_rad", 0.0, 0.01, "")}
    )
    assert words in advice_of(plain, DIPPED, ((), (), weak(link)), (), None).sentence
    assert advice_of(plain, GOOD, ((), (), weak(link, "good")), (), None).kind == "none"

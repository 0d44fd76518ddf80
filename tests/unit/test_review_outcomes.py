"""What a record comes to in the rarer cases, each a clean record with one thing in it made otherwise."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from overarm.flight.outcomes import Outcome
from overarm.recordings.channels import CHANNELS
from overarm.recordings.launch import Estimate, Event
from overarm.recordings.recording import Channel
from overarm.review.outcome import verdict_of
from overarm.review.seen import Seen
from overarm.review.untold import CANNOT_TELL
from tests.reviewed import CLEAN, GROUNDED, flown_seen
from tests.unit.test_review import altered, without_channels

QUIET = {"first_spin": None, "first_throttle": None}


@pytest.fixture
def seen() -> Seen:
    return flown_seen(CLEAN)


def told(seen: Seen) -> tuple[str, str]:
    found = verdict_of(seen)
    return found.outcome, found.sentence


def with_values(seen: Seen, **channels: float) -> Seen:
    """Return a launch whose recorder shows a constant in some channels."""
    recording = seen.taken.recording
    t_s = np.arange(0.0, seen.end_s + 1.0, 0.02)
    made = {name: Channel(t_s, np.full(t_s.size, value), "made") for name, value in channels.items()}
    assert set(made) <= set(CHANNELS)
    recording = dataclasses.replace(recording, channels={**recording.channels, **made})
    return Seen(dataclasses.replace(seen.taken, recording=recording), seen.estimates)


def test_a_motor_that_was_asked_and_stood(seen: Seen) -> None:
    stood = altered(with_values(seen, throttle=0.8, current_a=0.0), events={"first_spin": None})
    outcome, sentence = told(altered(stood, events={"first_throttle": Event(seen.end_s, 0.01, "late")}))
    assert outcome == Outcome.NO_START.label
    assert sentence == "The throttle rose to 80 % and no current flowed: the motor stood."


def test_a_motor_that_did_not_listen(seen: Seen) -> None:
    """The throw passes level and dwell of the card, and nothing follows for as long as a start takes."""
    off = altered(with_values(seen, throttle=0.0, current_a=0.0, propeller_radps=0.0), events=QUIET)
    assert off.started is False
    release = seen.launch.events["release"].t_s
    heard = altered(off, events={"detection": Event(release, 0.01, "level")})
    outcome, sentence = told(heard)
    assert outcome == Outcome.NO_START.label
    assert "it was not listening, or other settings were flown" in sentence
    outcome, sentence = told(altered(off, events={"detection": None}))
    assert outcome == Outcome.NO_START.label
    assert sentence.startswith("The motor never started: the throw peaked at")
    short = altered(heard, to_s=release + 0.2, ended="log ends")
    assert told(short)[0] == CANNOT_TELL  # nobody knows whether it would have started


def test_it_rolled_over(seen: Seen) -> None:
    outcome, sentence = told(with_values(seen, bank_rad=np.radians(110.0)))
    assert outcome == Outcome.ROLLED_OVER.label
    assert sentence == "It banked to 110 degrees and rolled over."
    assert told(with_values(seen, bank_rad=0.1))[0] == "clean"


def test_what_ends_high_met_something(seen: Seen) -> None:
    end = seen.end_s
    high = seen.height_at(end)
    assert high is not None
    assert high > 5.0
    struck = altered(seen, ended="ground", events={"ground": Event(end, 0.01, "made"), "handover": None})
    outcome, sentence = told(struck)
    assert outcome == Outcome.STRUCK_OBSTACLE.label
    assert sentence.startswith(f"It met something {high:.0f} m up, ")


def test_why_it_came_down() -> None:
    seen = flown_seen(GROUNDED)
    matched = altered(seen, events={"thrust_match": Event(seen.launch.from_s, 0.01, "made")})
    assert "before thrust covered" not in told(matched)[1]
    unmatched = altered(seen, events={"thrust_match": None})
    assert ", before thrust covered drag and climb" in told(unmatched)[1]
    blind = without_channels(altered(seen, events=QUIET), "throttle", "current_a", "propeller_radps")
    outcome, sentence = told(blind)
    assert outcome == Outcome.GROUNDED.label
    assert "motor" not in sentence  # nothing shows whether it ran
    airless = without_channels(seen, "airspeed_mps")
    assert told(airless)[1].endswith("Whether it stalled cannot be told without an airspeed.")


def test_it_rose_above_what_is_allowed(seen: Seen) -> None:
    from overarm.describe.change import changed

    assert seen.setup is not None
    heights = {"settings.handover_height": "34 m", "settings.home_height": "34.2 m"}
    low = changed(seen.setup, {**heights, "site.legal_ceiling": "34.5 m"})
    capped = Seen(dataclasses.replace(seen.taken, setup=low), seen.estimates)
    outcome, sentence = told(capped)
    assert outcome == Outcome.OVER_HEIGHT.label
    assert sentence == "It rose to 35 m; 34 m is allowed."


def test_a_low_point_near_the_limit_says_its_error(seen: Seen) -> None:
    low = Estimate("low_point_m", 0.3, 0.4, "made")
    outcome, sentence = told(altered(seen, estimates={"low_point_m": low}))
    assert outcome == Outcome.DIPPED.label
    assert sentence.endswith("Its error is 0.4 m.")


def test_a_long_flight_that_does_not_reach_the_hand_over(seen: Seen) -> None:
    from overarm.describe.change import changed

    assert seen.setup is not None
    hasty = changed(seen.setup, {"settings.give_up_time": "2 s"})
    cut = altered(seen, ended="log ends", to_s=seen.end_s - 2.0, events={"handover": None})
    cut = Seen(dataclasses.replace(cut.taken, setup=hasty), cut.estimates)
    climbs, sinks = (
        {"climb_mps": Estimate("climb_mps", value, 0.1, "made"), "low_point_m": cut.estimates["low_point_m"]}
        for value in (2.0, 0.1)
    )
    outcome, sentence = told(altered(cut, estimates=sinks))
    assert outcome == Outcome.MUSHED.label
    assert sentence.endswith("35 m was asked for.")
    assert told(altered(cut, estimates=climbs))[0] == CANNOT_TELL  # it still climbs: it may get there
    patient = Seen(seen.taken, cut.estimates)
    assert (
        told(altered(patient, ended="log ends", to_s=cut.launch.to_s, events={"handover": None}))[0]
        == CANNOT_TELL
    )

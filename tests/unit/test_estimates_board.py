"""The cue of a launch is replayed on the board of its setup."""

from __future__ import annotations

import dataclasses

import pytest

from overarm.flight.groups import board_group
from overarm.recordings.estimates.cue import asked_of, replayed
from overarm.recordings.estimates.taken import take
from overarm.recordings.phases import phases_of
from overarm.recordings.replay import replay
from tests.reviewed import Known, cards_of, recording_of


def test_the_attitude_of_a_replay_is_that_of_the_board_of_the_setup() -> None:
    """A cue without gravity needs a pitch; where none was recorded the card's own board makes it."""
    changes = (("settings.jerk_cue", "tilt-free"), ("airframe.board.attitude_time", "0.3 s"))
    known = Known("b", 0, "clean", changes)
    setup, derived = cards_of(known)
    whole = recording_of(known)
    channels = {name: one for name, one in whole.channels.items() if name not in ("pitch_rad", "bank_rad")}
    recording = dataclasses.replace(whole, channels=channels)
    launch = phases_of(recording, setup).launches[0]
    taken = take(recording, launch, setup, derived)
    asked = asked_of(taken)
    found = replayed(taken, asked, launch.from_s, launch.to_s)
    ends = {"from_s": launch.from_s, "to_s": launch.to_s, "filter_hz": asked.filter_hz}
    own = replay(recording, asked.trigger, board=board_group(setup), **ends)
    usual = replay(recording, asked.trigger, **ends)
    assert found.peak_mps2 == pytest.approx(own.peak_mps2, rel=1e-3)
    assert own.peak_mps2 != pytest.approx(usual.peak_mps2, rel=0.02)

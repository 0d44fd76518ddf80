"""What stands over a review: nothing found, a column that went unread, a setup that was not flown."""

from __future__ import annotations

from dataclasses import replace

from overarm.recordings.cleaning import clean
from overarm.recordings.recording import Repair
from overarm.review.run import review
from tests.examples import derived_of, setup_of
from tests.recorded import walked
from tests.reviewed import CLEAN, recording_of

FEW = 50


def test_a_carry_alone_says_where_it_belongs() -> None:
    said = review(clean(walked(30.0))).remarks
    assert any("the trigger room" in one for one in said)


def test_a_column_that_cannot_be_used_is_told_first_and_is_a_stop() -> None:
    seen = recording_of(CLEAN)
    assert not review(seen).has_stop
    unread = Repair("unit", "throttle", 1, "left out", "stop", 0.0, 1.0)
    found = review(replace(seen, repairs=(*seen.repairs, unread)))
    assert found.has_stop
    assert found.remarks[0].startswith("Not used as it came: throttle.")


def test_another_aeroplane_is_doubted_and_the_right_one_is_not() -> None:
    seen = recording_of(CLEAN)
    right = review(seen, setup_of("b"), derived_of("b"), launches=FEW)
    wrong = review(seen, setup_of("d"), derived_of("d"), launches=FEW)
    assert not any("setup that was flown" in said for said in right.remarks)
    assert any("setup that was flown" in said for said in wrong.remarks)

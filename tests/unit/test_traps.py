"""Parts of the trap finder, one by one."""

from __future__ import annotations

import itertools
import math

import pytest

from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.errors import InputError
from overarm.odds.gather import gather_facts
from overarm.settings.choices import BY_KEY
from overarm.settings.limits import wait_needed_s
from overarm.settings.minimal import minimal_failing
from overarm.settings.traps import traps_of
from overarm.settings.traps_carry import find_carry_trap, one_step, step_fires, walked
from overarm.settings.traps_launch import candidates
from overarm.settings.traps_parts import of_style
from tests.examples import derived_of, setup_of

PARTS = tuple("abcdefgh")


@pytest.mark.parametrize("size", [1, 2, 3])
def test_every_failing_set_is_found_whatever_it_is(size: int) -> None:
    """The smallest failing set of a made-up test is known; all sets of up to three of eight."""
    for wanted in itertools.combinations(PARTS, size):
        found = minimal_failing(PARTS, lambda some, core=wanted: set(core) <= set(some))
        assert found == wanted


def test_search_for_the_smallest_set_takes_few_tries() -> None:
    tries = []

    def fails(some: tuple[str, ...]) -> bool:
        tries.append(some)
        return {"b", "g"} <= set(some)

    assert minimal_failing(PARTS, fails) == ("b", "g")
    assert len(tries) < 40 < 2 ** len(PARTS)
    assert minimal_failing(("a",), fails) == ("a",)


def test_step_of_a_walk_by_hand() -> None:
    """9.80665 sin 22 deg = 3.674; 2 m/s2 through 10 Hz is 1.965; acos(1.326/1.965)/(1.9 pi) = 0.139 s."""
    step = one_step(walked(setup_of("e")))
    gain = 1.0 / math.hypot(1.0, 1.9 / setup_of("e").airframe.board.filter_hz.value)
    still = 9.80665 * math.sin(math.radians(22.0))
    assert step.feels_mps2 == pytest.approx(still + 2.0, abs=0.01)
    assert step.above_s == pytest.approx(math.acos((5.0 - still) / (2.0 * gain)) / (1.9 * math.pi), abs=1e-3)
    assert step.above_s == pytest.approx(0.14, abs=0.01)
    assert step.fires


@pytest.mark.parametrize(
    "change",
    [
        {"settings.jerk_level": "8 m/s2"},
        {"settings.jerk_dwell": "0.16 s"},
        {"airframe.board.tilt": "0 deg"},
        {"settings.jerk_cue": "tilt-free"},
        {"settings.still_time": "1 s"},
    ],
)
def test_what_keeps_a_step_from_firing(change: dict[str, str]) -> None:
    assert step_fires(setup_of("e"))
    assert not step_fires(changed(setup_of("e"), change))


def test_model_on_a_ramp_is_not_carried() -> None:
    assert walked(setup_of("d")) == setup_of("d")
    assert find_carry_trap(setup_of("d"), derived_of("d"), ()) is None


def test_value_of_another_style_is_said_to_be_one() -> None:
    rise = BY_KEY["throttle_rise"]
    assert "belongs to spin-in-hand" in of_style(rise, 0.25, "throw-started", "200 %/s")
    assert "belongs to" not in of_style(rise, 1.5, "throw-started", "200 %/s")
    assert "unusual for any style" in of_style(rise, 20.0, "throw-started", "200 %/s")


@pytest.mark.parametrize("letter", ["a", "b", "e"])
def test_no_cure_shortens_the_wait_or_undercuts_the_hand(letter: str) -> None:
    setup, derived = setup_of(letter), derived_of(letter)
    waits = candidates(BY_KEY["start_wait"], setup, derived)
    assert waits
    assert min(waits) >= wait_needed_s(gather_facts(setup, derived))
    assert min(waits) > setup.settings.start_wait_s.value


def test_named_value_is_no_trap() -> None:
    """A climb pitch of 30 degrees is stopped by its own check; a trap does not repeat it."""
    setup = changed(setup_of("e"), {"settings.climb_pitch": "30 deg"})
    found = traps_of(setup, derive(setup), launches=500)
    assert any("settings.climb_pitch" in note for note in found.notes)
    assert all(member.key != "settings.climb_pitch" for trap in found.traps for member in trap.members)


def test_cancelled_search_says_so() -> None:
    found = traps_of(setup_of("e"), derived_of("e"), cancelled=lambda: True)
    assert found.cancelled
    assert found.traps == ()
    assert found.lines()[0].startswith("CANCELLED")


def test_too_few_launches_are_refused() -> None:
    with pytest.raises(InputError, match="cannot show a trap"):
        traps_of(setup_of("a"), derived_of("a"), launches=10)

"""Parts of the trap finder, one by one."""

from __future__ import annotations

import itertools
import math

import pytest

from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.errors import InputError
from overarm.flight.outcomes import Outcome
from overarm.odds.as_flown import at_risk, hand_as_flown
from overarm.odds.findings import findings
from overarm.odds.gather import gather_facts
from overarm.settings.carry import carry_of, even_step
from overarm.settings.choices import BY_KEY
from overarm.settings.limits import wait_needed_s
from overarm.settings.minimal import minimal_failing
from overarm.settings.traps import traps_of
from overarm.settings.traps_bench import Bench
from overarm.settings.traps_carry import carry_cures, find_carry_trap, step_fires, walked
from overarm.settings.traps_launch import allowed, candidates, launch_cures, wins
from overarm.settings.traps_parts import of_style
from overarm.settings.traps_people import hands_as_clear, less_clear
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
    step = even_step(carry_of(walked(setup_of("e"))))
    gain = 1.0 / math.hypot(1.0, 1.9 / setup_of("e").airframe.board.filter_hz.value)
    still = 9.80665 * math.sin(math.radians(22.0))
    assert step.peak_mps2 == pytest.approx(still + 2.0 * gain)
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


def test_no_cure_puts_hands_at_risk_as_flown() -> None:
    """A rise of 300 %/s gains E as much as 150 %/s and turns the disc near one hand of 500."""
    bench = Bench(setup_of("e"), 1, 500)
    quick = {"settings.throttle_rise": "300 %/s"}
    hand = hand_as_flown(bench.fly(quick), "throw-started", True)
    assert hand is not None
    assert hand.word == "stop"
    assert bench.gain({}, quick).share > 0.15
    assert allowed(bench, {}, quick)
    found = {(cure.key, cure.after) for cure in launch_cures(bench, {})}
    assert ("settings.throttle_rise", "150 %/s") in found
    assert ("settings.throttle_rise", "300 %/s") not in found


def test_more_hands_at_risk_than_before_are_none_the_better_for_being_few() -> None:
    setup = setup_of("e")
    before = Bench(setup, 1, 3000).fly({})
    assert not at_risk(before).any()
    after = before.copy()
    after["outcome"][7] = Outcome.HAND_AT_RISK
    hand = hand_as_flown(after, setup.style, True)
    assert hand is not None
    assert hand.word != "stop"
    assert hands_as_clear(setup, before, before)
    assert not hands_as_clear(setup, before, after)
    before["outcome"][8] = Outcome.FALSE_START
    assert hands_as_clear(setup, before, after)


def test_no_cure_lets_the_draw_back_fire_the_cue() -> None:
    """Level 5 gains 20 points over level 14 and turns no finding to stop; but the wait then counts early."""
    bench = Bench(setup_of("e"), 1, 500)
    here = {"settings.jerk_dwell": "0.2 s", "settings.jerk_level": "14 m/s2"}
    low = here | {"settings.jerk_level": "5 m/s2"}
    words = [{item.name: item.word for item in findings(*bench.made(changes))} for changes in (here, low)]
    assert not [name for name, word in words[1].items() if word == "stop" != words[0][name]]
    assert wins(bench.gain(here, low))
    assert not allowed(bench, here, low)
    assert allowed(bench, here, here | {"settings.jerk_level": "12 m/s2"})


@pytest.mark.parametrize(
    ("change", "worse"),
    [
        (
            {"settings.throttle_rise": "200 %/s"},
            False,
        ),  # the draw-back fires it either way
        ({"settings.jerk_level": "12 m/s2"}, False),
        ({"settings.jerk_level": "4.5 m/s2"}, True),  # the same limits are broken, further
        ({"settings.start_wait": "0.5 s"}, True),
    ],
)
def test_hands_are_less_clear_on_paper(change: dict[str, str], worse: bool) -> None:
    bench = Bench(setup_of("e"), 1, 500)
    assert less_clear(bench.made({}), bench.made(change)) is worse


def test_no_cure_of_a_carry_leaves_hands_less_clear() -> None:
    """Every change that is advised keeps the limits of people as they were, or better."""
    setup, derived = setup_of("e"), derived_of("e")
    cures = carry_cures(setup, derived)
    assert cures
    there = walked(setup)
    for cure in cures:
        after = changed(there, {cure.key: cure.after})
        assert not less_clear((there, derive(there)), (after, derive(after)))


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

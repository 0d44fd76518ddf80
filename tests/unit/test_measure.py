"""What to measure next: the promise of a measurement holds when the card says it was made."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.errors import InputError
from overarm.flight.draw import draw, draw_given
from overarm.flight.inputs import inputs_of as inputs_from
from overarm.odds import measure as measure_room
from overarm.odds import rerun
from overarm.odds.bench import HOW, WORKS
from overarm.odds.format import signed_points
from overarm.odds.intervals import Interval
from overarm.odds.measure import BAND_THROWS, budget_of, guesses_of, measure
from overarm.odds.measure_words import answer
from overarm.odds.measured import Guess, MeasureResult, said_reason
from overarm.odds.rerun import band_gain, band_points, fly_worlds, rerun_worlds
from overarm.odds.run import odds
from overarm.odds.sobol import Index, Indices
from tests.examples import inputs_of, setup_of

LAUNCHES = 20_000
SLOW_AND_CALM = {"settings.throttle_rise": "35 %/s", "day.wind": "1 m/s guessed"}
WIND_MEASURED = {"day.wind": "2 m/s measured"}


@cache
def measured(letter: str) -> MeasureResult:
    return measure(setup_of(letter), LAUNCHES, 1)


def nobody_listens(_launches: int) -> None:
    """A tally that counts nothing."""


def test_every_input_that_can_be_measured_has_its_minutes() -> None:
    """Minutes are own estimates; each input belongs to one piece of work."""
    listed = [name for work in WORKS for name in work.inputs]
    assert sorted(listed) == sorted(HOW)
    assert all(1.0 <= work.minutes <= 60.0 for work in WORKS)


@pytest.mark.parametrize("launches", [10_000, 24_000, 120_000, 2_000_000])
@pytest.mark.parametrize("unknown", [20, 40])
def test_the_budget_is_kept(launches: int, unknown: int) -> None:
    budget = budget_of(launches, unknown)
    flown = budget.points * budget.throws * (unknown + 2) + budget.worlds * 80 + budget.bar_worlds * 100
    assert 0.7 * launches <= flown <= 1.02 * launches
    assert budget.points & (budget.points - 1) == 0
    assert budget.bar_worlds <= budget.worlds


@pytest.mark.parametrize(
    ("launches", "seed", "words"),
    [(9_999, 1, "launches"), (2_000_001, 1, "launches"), (20_000, -1, "seed"), (20_000, 2**63, "seed")],
)
def test_numbers_that_cannot_be(launches: int, seed: int, words: str) -> None:
    with pytest.raises(InputError, match=words):
        measure(setup_of("e"), launches, seed)


def test_the_same_seed_gives_the_same_answer() -> None:
    again = measure(setup_of("e"), LAUNCHES, 1).to_dict()
    assert again == measured("e").to_dict()
    assert 0.9 * LAUNCHES <= again["launches"] <= 1.02 * LAUNCHES


def test_it_and_the_odds_agree_on_what_to_measure_first_in_the_trap() -> None:
    """Two ways: regression on the launches of `odds`, and Sobol' indices with the band flown again."""
    quick = odds(setup_of("e"), launches=10_000, seed=1)
    found = measured("e")
    assert found.advised[0].inputs == (quick.measure_next[0].name,) == ("day.wind",)
    unknown = [item.name for item in quick.contributions if item.layer == "unknown"][:2]
    assert {item.part.name for item in found.inputs[:2]} == set(unknown) == {"day.wind", "airframe.lift_max"}


def test_more_wind_helps_the_trap() -> None:
    """It is too slow, so headwind at the launch is what saves it; the two bars point either way."""
    bar = measured("e").bars[0]
    assert bar.name == "day.wind"
    assert bar.one_sd == "1.5 m/s"
    assert bar.low_points < -5.0 < 5.0 < bar.high_points
    largest = [max(abs(item.low_points), abs(item.high_points)) for item in measured("e").bars]
    assert largest == sorted(largest, reverse=True)
    assert len(largest) == 10


def test_a_smaller_spread_is_what_the_card_says_once_measured() -> None:
    """Scores times the share that is left give the records of the changed setup, field by field."""
    setup = setup_of("e")
    changes = {**WIND_MEASURED, "airframe.drag_zero": "0.04 measured"}
    after = changed(setup, changes)
    inputs, guesses = inputs_of("e"), guesses_of(setup, inputs_of("e"))
    names = [item.name for item in inputs.rules.inputs if item.layer == "unknown"]
    _, scores = draw(inputs.base, inputs.rules, 100, 3)
    given = scores[:, inputs.rules.layer == 0]
    for name in changes:
        assert 0.1 < guesses[name].left < 0.8
        given[:, names.index(name)] *= guesses[name].left
    ours = draw_given(inputs.base, inputs.rules, given, 3, np.arange(100))
    told = inputs_from(after, derive(after))
    theirs, _ = draw(told.base, told.rules, 100, 3)
    flat, flat_too = (rows.view(np.float64).reshape(100, -1) for rows in (ours, theirs))
    np.testing.assert_allclose(flat, flat_too, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("letter", ["e", "b"])
def test_the_promise_holds_with_another_seed(letter: str) -> None:
    """The card says measured, other worlds and throws fly: the band is as promised within its error.

    Example B is too sound to gain anything; here it has a slow rise and little wind.
    """
    before = setup_of("e") if letter == "e" else changed(setup_of("b"), SLOW_AND_CALM)
    after = changed(before, {"day.wind": f"{before.day.wind_mps.text} measured"})
    work = measured("e").advised[0] if letter == "e" else measure(before, LAUNCHES, 1).advised[0]
    assert work.inputs == ("day.wind",)
    assert work.gain is not None
    bands = []
    for setup in (before, after):
        worlds = rerun_worlds(inputs_from(setup, derive(setup)), 240, 77)
        bands.append(fly_worlds(worlds, worlds.scores, BAND_THROWS, nobody_listens))
    again = band_gain(*bands)
    error = float(np.hypot(work.gain.error_points, again.error_points))
    assert again.points == pytest.approx(work.gain.points, abs=2.5 * error)
    assert again.points > 2.0 * again.error_points
    assert error < 10.0


def test_changes_are_written_with_their_sign() -> None:
    assert [signed_points(value) for value in (8.26, -0.4, -0.04, 0.0)] == ["+8.3", "-0.4", "0.0", "0.0"]


def test_nothing_is_promised_for_a_sound_wing_and_nothing_is_gained() -> None:
    found = measured("b")
    assert found.advised == ()
    assert "measuring narrows nothing visibly" in found.reason or "No single piece" in found.reason
    everything = {name: f"{_text(name)} measured" for name in ("airframe.drag_zero", "thrower.release_bank")}
    setup = changed(setup_of("b"), everything)
    worlds = rerun_worlds(inputs_from(setup, derive(setup)), 150, 77)
    after = fly_worlds(worlds, worlds.scores, BAND_THROWS, nobody_listens)
    assert abs(found.band_points - band_points(after)) < 3.0


def _text(name: str) -> str:
    room, key = name.split(".")
    card = getattr(setup_of("b"), room)
    return str(getattr(card, {"drag_zero": "drag_zero", "release_bank": "release_bank_rad"}[key]).text)


@pytest.mark.parametrize(("outcome", "words"), [(True, "was clean"), (False, "was not clean")])
def test_all_launches_alike(monkeypatch: pytest.MonkeyPatch, outcome: bool, words: str) -> None:
    monkeypatch.setattr(rerun, "is_clean", lambda table: np.full(len(table), outcome))
    found = measure(setup_of("a"), 10_000, 1)
    assert words in found.reason
    assert (found.bars, found.works, found.inputs, found.indices) == ((), (), (), None)
    assert words in answer(found)
    assert "nan" not in answer(found).lower()


def test_nothing_is_guessed() -> None:
    """The sentence says which of the two: all is measured, or nobody can measure it simply."""
    some = Interval(0.8, 0.7, 0.9)
    clear = Indices((Index("airframe.mass", 0.5, 0.1, 0.6, 0.1),), 0.05, 0.01, 0.1)
    assert "every input of its cards is measured" in said_reason(clear, {}, some, ())
    only = {"airframe.lift_max": Guess("airframe.lift_max", 1.0)}
    assert "with simple means" in said_reason(clear, only, some, ())
    vague = clear._replace(variance_error=0.05)
    assert "narrows nothing visibly" in said_reason(vague, only, some, ())


def test_an_input_at_its_measured_spread_is_no_candidate(monkeypatch: pytest.MonkeyPatch) -> None:
    """With everything measured already nothing is flown again for it, and no work is listed."""
    monkeypatch.setattr(measure_room, "guesses_of", lambda _setup, _inputs: {})
    found = measure(setup_of("e"), 10_000, 1)
    assert found.works == ()
    assert found.bars


def test_the_page_says_what_the_values_say() -> None:
    page = answer(measured("e"))
    assert "Wind meter at hand height for 2 minutes" in page
    assert "points a minute" in page
    assert "own estimates" in page
    assert max(len(line) for line in page.splitlines()) <= 110
    assert f"{measured('e').launches:,} launches, seed 1" in page

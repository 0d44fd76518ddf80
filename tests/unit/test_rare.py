"""The answer on a rare outcome: words, form, determinism, cancelling and bad input."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numba
import numpy as np
import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

import overarm
from overarm import cli
from overarm.describe.change import changed
from overarm.errors import Cancelled, InputError
from overarm.flight.campaign import blank_summary
from overarm.flight.outcomes import Outcome
from overarm.odds.closeness import FAR, closeness, kind_of
from overarm.odds.finding import Finding
from overarm.odds.rare import Counted, asked, count, finding_on, outcome_named, rare
from overarm.odds.rare_cause import ways
from overarm.odds.rare_range import CHUNK, Range
from overarm.odds.rare_result import RareResult
from overarm.odds.rare_share import Share
from overarm.odds.rare_words import answer, at_most_words, headline, of_launches
from tests.examples import FILES, setup_of
from tests.rare_toys import toy

SETTLED = Share(2e-4, 2e-5, 8000, 900, 100.0, 0.05, 5000, 1)


@cache
def rare_of_a() -> RareResult:
    return rare(setup_of("a"), launches=20_000)


def with_share(share: Share) -> RareResult:
    return replace(rare_of_a(), share=share, finding=finding_on(Outcome.HAND_AT_RISK, share))


def test_shares_are_said_of_round_numbers_of_launches() -> None:
    """By hand."""
    assert of_launches(2.14e-4) == "2.1 of 10,000 launches"
    assert of_launches(0.0017) == "1.7 of 1,000 launches"
    assert of_launches(1e-3) == "1 of 1,000 launches"
    assert of_launches(0.2) == "20 of 100 launches"
    assert at_most_words(5.12e-5) == "at most 5.2 of 100,000 launches"  # a bound is rounded up


def test_answer_has_its_interval_its_ways_and_what_is_left_out() -> None:
    said = " ".join(answer(with_share(SETTLED)).split())
    assert said.startswith("hand at risk: 2 of 10,000 launches (1.6 to 2.4) in the model, 15 inputs guessed.")
    assert "worth 100 of equal weight; one standard error is 10 %" in said
    assert "it happened in 1; alone they allow at most 9.5 of 10,000 launches" in said
    assert "thrower, stroke: +" in said
    assert "The model leaves out: How a hand really moves after release" in said
    assert "you decide" in said
    assert "safe" not in said


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (SETTLED._replace(effective_events=9.0), "would rest on few launches"),
        (SETTLED._replace(largest_share=0.4), "one alone makes 40 % of it"),
        (SETTLED._replace(probability=3e-8), "a figure means nothing"),
        (SETTLED._replace(probability=0.0, events=0, effective_events=0.0), "no proof that it cannot happen"),
    ],
)
def test_a_figure_that_few_launches_carry_is_only_a_bound(share: Share, words: str) -> None:
    result = with_share(share)
    assert result.probability is None
    assert result.interval is None
    assert result.plain_needed is None
    assert result.at_most == share.plain_at_most
    assert "at most 9.5 of 10,000 launches (95 %)" in headline(result)
    assert words in " ".join(answer(result).split())
    assert set(result.to_dict()) == set(rare_of_a().to_dict())


def test_a_search_that_did_not_settle_bounds_no_lower_than_plain_launches() -> None:
    """3e-5 with an error of 10 % alone would end near 3.7e-5; one of 5000 plain launches allows 9.5e-4."""
    share = SETTLED._replace(probability=3e-5, standard_error=3e-6, settled=False)
    result = with_share(share)
    assert result.probability == 3e-5
    assert result.at_most == share.plain_at_most > 9e-4
    assert share._replace(settled=True).at_most == pytest.approx(3.66e-5, rel=0.01)
    assert "in the model, but the search did not settle" in headline(result)
    assert "The search did not settle" in " ".join(answer(result).split())
    assert result.to_dict()["search_settled"] is False


@pytest.mark.parametrize(
    ("probability", "few", "word"),
    [(2e-3, False, "stop"), (2e-3, True, "not known"), (9.5e-4, False, "not known"), (2e-4, False, None)],
)
def test_finding_on_hands(probability: float, few: bool, word: str | None) -> None:
    """The limit of one in 1000 is that of the odds; a small figure is never praised."""
    share = Share(probability, 0.1 * probability, 8000, 900, 5.0 if few else 100.0, 0.05, 1000, 1)
    found = finding_on(Outcome.HAND_AT_RISK, share)
    assert (found.word if isinstance(found, Finding) else None) == word
    assert finding_on(Outcome.STALLED, share) is None


def test_plain_launches_needed_for_the_same_error() -> None:
    """Binomial: n = (1 - p)/(p e^2); by hand 0.9998/(2e-4 * 0.01) = 499,900."""
    assert with_share(SETTLED).plain_needed == pytest.approx(499_900, abs=1)


def test_same_seed_same_bytes_on_one_core_and_on_all() -> None:
    threads = numba.get_num_threads()
    try:
        numba.set_num_threads(1)
        again = rare(setup_of("a"), launches=20_000)
    finally:
        numba.set_num_threads(threads)
    assert json.dumps(again.to_dict()) == json.dumps(rare_of_a().to_dict())


def test_answer_fits_its_schema(project: Path) -> None:
    schema = json.loads((project / "docs/reference/rare.schema.json").read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    for share in (rare_of_a().share, SETTLED, SETTLED._replace(effective_events=1.0)):
        Draft202012Validator(schema).validate(json.loads(json.dumps(with_share(share).to_dict())))


def test_it_can_be_called_from_the_package() -> None:
    assert overarm.rare is rare
    assert "rare" in overarm.__all__


def test_progress_counts_up_and_cancelling_keeps_what_was_counted() -> None:
    told: list[int] = []
    space = toy(lambda z: 3.0 - z[:, 0], 1)
    whole = count(Range(space, told.append), asked(0.02, 40_000))
    assert told == sorted(told)
    assert told[-1] == whole.launches <= 40_000

    stop_at = whole.search_launches + 2 * CHUNK
    field = Range(space, None, lambda: field.flown >= stop_at)
    part = count(field, asked(0.02, 40_000))
    assert part.cancelled
    assert part.share.launches == 2 * CHUNK
    assert part.share.probability > 0.0


def test_cancelled_in_the_search_says_nothing() -> None:
    with pytest.raises(Cancelled):
        rare(setup_of("a"), cancelled=lambda: True)


@pytest.mark.parametrize("name", ["hand at risk", "Hands-at-risk", "HAND_AT_RISK", " hand  at risk"])
def test_names_of_outcomes_are_taken_as_written(name: str) -> None:
    assert outcome_named(name, "throw-started") is Outcome.HAND_AT_RISK


@pytest.mark.parametrize(
    ("name", "style", "words"),
    [
        ("clean", "throw-started", "Give one of: failed numerically, hand at risk"),
        ("nonsense", "throw-started", "no outcome that can be looked for"),
        ("hand at risk", "line-launched", "cannot happen in a line-launched launch"),
        ("hook stuck", "throw-started", "cannot happen in a throw-started launch"),
    ],
)
def test_outcomes_that_cannot_be_asked_for(name: str, style: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        outcome_named(name, style)


@pytest.mark.parametrize(
    ("letter", "outcome", "change", "words"),
    [
        ("b", "struck obstacle", {"site.obstacles": "none"}, "the site has no obstacle"),
        ("c", "hand at risk", {}, "only a pusher's disc passes a hand"),
    ],
)
def test_what_the_model_has_no_way_to_is_refused_and_not_bounded(
    letter: str, outcome: str, change: dict[str, str], words: str
) -> None:
    """A bound of 5 of 100,000 on what cannot be flown would read as praise."""
    with pytest.raises(InputError, match=words):
        rare(changed(setup_of(letter), change) if change else setup_of(letter), outcome)


@pytest.mark.parametrize(("error", "launches"), [(0.001, 60_000), (float("nan"), 60_000), (0.2, 100)])
def test_limits_that_make_no_sense(error: float, launches: int) -> None:
    with pytest.raises(InputError):
        asked(error, launches)


def test_closeness_falls_towards_the_outcome_and_is_endless_where_it_happened() -> None:
    """By hand: a hand clear at 2.0 s, the first turn at 2.3 s or 2.1 s; no turn at all is far."""
    table = blank_summary(4, 0)
    table["clear_s"] = 2.0
    table["first_spin_s"] = [2.3, 2.1, -1.0, 1.9]
    table["outcome"][3] = Outcome.HAND_AT_RISK
    near = closeness(Outcome.HAND_AT_RISK, table)
    assert near[:2] == pytest.approx([0.3, 0.1])
    assert near[2] == FAR
    assert np.isneginf(near[3])
    blind = closeness(Outcome.FALSE_START, table)
    assert np.all(blind == FAR)
    for outcome in list(Outcome)[1:]:
        assert closeness(outcome, table).shape == (4,)


@pytest.mark.parametrize(
    ("outcome", "field", "far", "nearer"),
    [
        (Outcome.NO_START, "longest_above_s", 0.2, 0.05),
        (Outcome.POWER_LOST, "lowest_volts_v", 11.0, 9.5),
        (Outcome.ROLLED_OVER, "max_bank_rad", 0.3, 1.6),
        (Outcome.STALLED, "stall_s", 0.0, 0.2),
        (Outcome.STRUCK_OBSTACLE, "obstacle_gap_m", 20.0, 2.0),
        (Outcome.GROUNDED, "low_point_m", 2.0, 0.4),
        (Outcome.MUSHED, "top_height_m", 30.0, 6.0),
        (Outcome.DIPPED, "low_point_m", 2.0, 0.9),
        (Outcome.OVER_HEIGHT, "top_height_m", 50.0, 110.0),
    ],
)
def test_closeness_falls_as_a_launch_comes_nearer(
    outcome: Outcome, field: str, far: float, nearer: float
) -> None:
    """By what each outcome is: a pack too low, a bank too large, a height too low or too great."""
    table = blank_summary(2, 0)
    table["release_s"] = 2.0
    table[field] = [far, nearer]
    near = closeness(outcome, table)
    assert near[1] < near[0] < FAR


def test_kinds_tell_when_the_cue_fired() -> None:
    table = blank_summary(4, 0)
    table["windup_s"], table["release_s"] = 1.0, 2.0
    table["detection_s"] = [-1.0, 0.5, 1.5, 2.5]
    assert kind_of(table).tolist() == [0, 1, 2, 3]


def test_ways_are_told_by_what_stands_out() -> None:
    counted: Counted = count(
        Range(toy(lambda z: np.minimum(3.2 - z[:, 2], 3.5 + z[:, 4]), 1)), asked(0.05, 60_000)
    )
    tally = counted.tally
    names = [f"input {k}" for k in range(20)]
    first, second = ways(tally.proposal, tally.weights, tally.scores, names)
    assert [stand.name for stand in first.inputs] == ["input 2"]
    assert [stand.name for stand in second.inputs] == ["input 4"]
    assert first.inputs[0].sd > 3.0
    assert second.inputs[0].sd < -3.0
    # scipy.stats.norm.sf(3.2) and sf(3.5): 6.871e-4 and 2.326e-4
    assert first.part == pytest.approx(6.871 / 9.197, abs=0.06)


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Example A at its short wait is above one of 1000: exit code 3; bad input: 2."""
    words = ["rare", str(FILES["a"]), "--launches", "20000", "--json"]
    ran = CliRunner().invoke(cli.app, words)
    assert ran.exit_code == 3
    assert json.loads(ran.output) == rare_of_a().to_dict()
    monkeypatch.setattr(sys, "argv", ["overarm", "rare", str(FILES["a"]), "--outcome", "clean"])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 2


def test_a_longer_wait_makes_it_rarer() -> None:
    """The direction is plain: the motor turns later."""
    later = rare(changed(setup_of("a"), {"settings.start_wait": "0.60 s"}), launches=20_000)
    assert later.probability is not None
    assert rare_of_a().probability is not None
    assert later.probability < 0.5 * rare_of_a().share.probability

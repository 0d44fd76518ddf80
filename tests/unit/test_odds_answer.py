"""From made-up tables of launches to the answer: chain, weakest link, contributions, JSON, words."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray

from overarm.flight.outcomes import COLUMNS, SUMMARY, Outcome
from overarm.odds.assess import Known, assess, clean_share
from overarm.odds.finding import Finding
from overarm.odds.format import percent, plain_percent, with_interval
from overarm.odds.intervals import Interval, Worlds, clustered, wilson
from overarm.odds.links import CHAIN, LaunchFigures, chain, link_interval, weakest
from overarm.odds.names import plain_name
from overarm.odds.result import Campaign, Inputs, OddsResult, failed_launches, low_points
from overarm.odds.sensitivity import Draws, Measurable, contributions, measure_next
from overarm.odds.words import answer
from overarm.sheets.answer import chain_data

FIGURES = LaunchFigures("throw-started", 5.0, 0.08, 30.0, 5.0)
NO_DRAWS = Draws((), (), np.zeros((0, 0)))


def made_up(launches: int = 10_000, seed: int = 2) -> tuple[NDArray[np.void], Draws]:
    """Return launches whose odds hang on two unknown inputs and one that varies; the fourth does nothing."""
    rng = np.random.default_rng(seed)
    worlds = np.arange(launches) // 25
    unknown = rng.standard_normal((worlds[-1] + 1, 3))[worlds]
    varies = rng.standard_normal((launches, 1))
    scores = np.hstack([unknown, varies])
    merit = 1.0 + 1.0 * scores[:, 0] - 0.4 * scores[:, 1] ** 2 + 0.5 * scores[:, 3]
    clean = merit + rng.standard_normal(launches) > 0.0
    table = np.zeros(launches, SUMMARY)
    table["world"] = worlds
    table["outcome"] = np.where(
        clean, 0, np.where(rng.random(launches) < 0.7, Outcome.STALLED, Outcome.GROUNDED)
    )
    table["release_s"] = 1.5
    table["release_speed_ratio"] = np.where(clean, 1.45, 1.20)
    table["thrust_match_s"] = np.where(clean, 2.2, 4.1)
    table["low_point_m"] = np.where(clean, 1.6, 0.05)
    return table, Draws(
        ("mass", "tilt", "wind", "throw"), ("unknown", "unknown", "unknown", "varies"), scores
    )


def result_of(launches: int = 10_000) -> OddsResult:
    table, draws = made_up(launches)
    campaign = Campaign(
        launches, len(np.unique(table["world"])), 1, "0.1.0", "ab" * 32, "all were flown", False
    )
    known = Known(
        FIGURES,
        Inputs(4, ("mass", "wind")),
        (Measurable("mass", 0.13, 0.016, "scales"), Measurable("wind", 1.5, 0.5, "wind meter")),
        (
            Finding("the race", "stop", "It loses the race.", {"loss_mps": 5.9}, True),
            Finding("obstacles", "not known", "Nobody looked.", {}),
            Finding("thrust", "good", "Thrust is 1.0 of the weight.", {"thrust_to_weight": 1.0}),
        ),
    )
    return assess(campaign, table, draws, known)


def assessed(table: NDArray[np.void], draws: Draws = NO_DRAWS) -> OddsResult:
    worlds = len(np.unique(table["world"]))
    campaign = Campaign(len(table), worlds, 1, "0.1.0", "ab" * 32, "all were flown", False)
    return assess(campaign, table, draws, Known(FIGURES, Inputs(4, ("mass",), {"thrower.slip": "5 %"})))


def with_outcomes(counts: dict[Outcome, int]) -> NDArray[np.void]:
    table = np.zeros(sum(counts.values()), SUMMARY)
    table["outcome"] = np.repeat([int(outcome) for outcome in counts], list(counts.values()))
    table["world"] = np.arange(len(table)) // 25
    table["release_s"] = 1.0
    return table


def test_every_outcome_breaks_exactly_one_link() -> None:
    broken = [outcome for _, outcomes in CHAIN for outcome in outcomes]
    assert sorted(broken) == sorted(set(Outcome) - {Outcome.CLEAN})
    assert len(broken) == len(set(broken))


def test_chain_worked_by_hand() -> None:
    """100 launches: 10 hands at risk, then 9 of 90 no start, then 27 of 81 stalled; 54 clean."""
    table = with_outcomes(
        {Outcome.HAND_AT_RISK: 10, Outcome.NO_START: 9, Outcome.STALLED: 27, Outcome.CLEAN: 54}
    )
    links = {link.name: link for link in chain(table, "throw-started")}
    assert (links["hand"].reached, links["hand"].odds) == (100, pytest.approx(0.9))
    assert (links["cue"].reached, links["cue"].odds) == (90, pytest.approx(0.9))
    assert (links["stall"].reached, links["stall"].odds) == (81, pytest.approx(2.0 / 3.0))
    assert "hook" not in links
    assert "computation" not in links
    assert np.prod([link.odds for link in links.values()]) == pytest.approx(0.54)
    assert weakest(table, tuple(links.values()), FIGURES).name == "stall"


def test_interval_of_a_link_counts_worlds() -> None:
    """A link that half of the worlds always break, seen by those that got there: 20 worlds, not 500."""
    table = np.zeros(600, SUMMARY)
    table["world"] = np.arange(600) // 25
    table["outcome"][:100] = Outcome.HAND_AT_RISK  # four worlds do not get to the stall
    table["outcome"][100:350] = Outcome.STALLED
    found = link_interval(table, "stall")
    assert found.share == pytest.approx(0.5)
    assert found == clustered(Worlds(np.repeat([0.0, 25.0], 10), np.full(20, 25.0)))
    assert found.width > 3.0 * wilson(250.0, 500.0).width
    table["outcome"] = Outcome.HAND_AT_RISK
    assert link_interval(table, "stall")[:3] == (1.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="no link"):
        link_interval(table, "string")


def test_sheet_says_as_much_of_a_link_as_the_worlds_back() -> None:
    """500 launches in 20 worlds never broke the hand: 20 worlds do not back ">99 %"."""
    links = {link.name: link.words for link in chain_data(result_of(500)).links}
    assert links["hand"] == "99 %"


def test_chain_when_nothing_gets_through() -> None:
    table = with_outcomes({Outcome.HAND_AT_RISK: 5})
    links = chain(table, "throw-started")
    assert next(link.odds for link in links if link.name == "hand") == 0.0
    assert all(link.odds is None for link in links[1:])
    assert np.prod([link.odds for link in links if link.odds is not None]) == 0.0
    assert weakest(table, links, FIGURES).name == "hand"
    found = assessed(table)
    assert found.to_dict()["links"][-1]["odds"] is None
    assert re.search(r"ceiling +- +not reached\n", answer(found))


def test_the_links_of_a_style() -> None:
    table = with_outcomes({Outcome.CLEAN: 3})
    assert "hook" in [link.name for link in chain(table, "line-launched")]
    assert "hand" not in [link.name for link in chain(table, "line-launched")]
    assert weakest(table, chain(table, "line-launched"), FIGURES).name == "none"


def test_the_weakest_link_names_what_drives_it() -> None:
    table, _ = made_up()
    worst = weakest(table, chain(table, "throw-started"), FIGURES)
    assert worst.name == "stall"
    assert "1.20 times the stall speed (clean ones at 1.45)" in worst.sentence
    assert "2.6 s after release" in worst.sentence


@pytest.mark.parametrize("outcome", [item for item in Outcome if item != Outcome.CLEAN])
def test_a_sentence_for_every_outcome(outcome: Outcome) -> None:
    for counts in ({outcome: 20}, {outcome: 20, Outcome.CLEAN: 60}):
        table = with_outcomes(counts)
        sentence = weakest(table, chain(table, "throw-started"), FIGURES).sentence
        assert sentence.startswith("The ")
        assert sentence.endswith(".")
        assert "nan" not in sentence


def test_hand_sentence_says_how_early() -> None:
    table = with_outcomes({Outcome.HAND_AT_RISK: 4})
    table["clear_s"], table["first_spin_s"], table["reach_tip_mps"] = 2.0, 1.75, 31.0
    sentence = weakest(table, chain(table, "throw-started"), FIGURES).sentence
    assert "31 m/s" in sentence
    assert "0.25 s before the hand was clear" in sentence


def test_contributions_find_line_and_bow() -> None:
    table, draws = made_up(40_000)
    found = {item.name: item for item in contributions(table["outcome"] == 0, table["world"], draws)}
    assert found["mass"].points_per_sd > 15.0
    assert found["throw"].layer == "varies"
    assert found["throw"].points_per_sd > 5.0
    assert abs(found["tilt"].points_per_sd) < 3.0
    assert found["tilt"].bow_points < -3.0
    assert found["tilt"].clear
    assert not found["wind"].clear
    assert abs(found["wind"].points_per_sd) < 4.0 * found["wind"].standard_error
    assert next(iter(found)) == "mass"


def test_slope_of_a_known_straight_line() -> None:
    """P(clean) = 0.5 + 0.1 z: 10 points a standard deviation, well inside its standard error."""
    rng = np.random.default_rng(1)
    worlds = np.repeat(np.arange(2000), 25)
    z = rng.standard_normal((2000, 1))[worlds]
    clean = rng.random(50_000) < np.clip(0.5 + 0.1 * z[:, 0], 0.0, 1.0)
    (item,) = contributions(clean, worlds, Draws(("x",), ("unknown",), z))
    assert item.points_per_sd == pytest.approx(10.0, abs=4.0 * item.standard_error)
    assert item.standard_error < 0.4
    assert item.variance == pytest.approx(0.01, rel=0.1)


def test_too_few_worlds_say_nothing_about_what_we_do_not_know() -> None:
    table, draws = made_up(250)
    found = contributions(table["outcome"] == 0, table["world"], draws)
    assert {item.layer for item in found} == {"varies"}
    assert contributions(np.ones(250, bool), table["world"], draws) == ()


def test_measure_next_worked_by_hand() -> None:
    """sd 0.2 of which one input holds 0.01 of 0.04; measured to a tenth: sqrt(0.04 - 0.0099) = 0.1735."""
    rng = np.random.default_rng(1)
    worlds = np.repeat(np.arange(4000), 25)
    z = rng.standard_normal((4000, 1))[worlds]
    clean = rng.random(100_000) < np.clip(0.5 + 0.1 * z[:, 0], 0.0, 1.0)
    found = contributions(clean, worlds, Draws(("mass",), ("unknown",), z))
    (item,) = measure_next(found, [Measurable("mass", 1.0, 0.1, "scales")], 0.2)
    assert item.band_now_points == pytest.approx(65.8, abs=0.1)
    assert item.band_then_points == pytest.approx(100.0 * 3.2898 * 0.1735, abs=1.0)
    assert "scales" in item.sentence
    assert measure_next(found, [Measurable("mass", 1.0, 1.0, "scales")], 0.2) == ()
    assert measure_next(found, [Measurable("span", 1.0, 0.1, "ruler")], 0.2) == ()


def test_answer_as_json_obeys_its_schema(project: Path) -> None:
    schema = json.loads((project / "docs/reference/odds.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    found = result_of()
    text = json.dumps(found.to_dict(), allow_nan=False)
    jsonschema.validate(json.loads(text), schema)
    assert found.measure_next[0].name == "mass"
    for name in list(found.to_dict()):
        if name in schema["required"]:
            broken = found.to_dict()
            del broken[name]
            with pytest.raises(jsonschema.ValidationError):
                jsonschema.validate(broken, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(found.to_dict() | {"extra": 1}, schema)


def test_answer_counts_every_launch() -> None:
    found = result_of()
    said = found.to_dict()
    assert sum(said["outcomes"].values()) == said["launches"] == 10_000
    assert said["outcomes"]["clean"] / 10_000 == pytest.approx(said["clean"]["share"])
    assert np.prod([link["odds"] for link in said["links"]]) == pytest.approx(said["clean"]["share"])
    spread = said["what_we_do_not_know"]
    assert spread["p5"] < spread["p50"] < spread["p95"]
    assert found.has_stop


def test_answer_names_the_first_that_failed() -> None:
    """Counted by hand: launches 3, 4 and then every second one of 1000 are not clean."""
    table = result_of().table[:1000].copy()
    table["outcome"] = Outcome.CLEAN
    assert failed_launches(table) == {"count": 0, "first": []}
    table["outcome"][3:] = Outcome.DIPPED
    table["outcome"][6::2] = Outcome.CLEAN
    found = failed_launches(table)
    assert found["count"] == 3 + 497
    assert found["first"][:5] == [3, 4, 5, 7, 9]
    assert len(found["first"]) == 200
    said = result_of().to_dict()
    assert said["failed_launches"]["count"] == said["launches"] - said["outcomes"]["clean"]


def test_schema_names_every_outcome(project: Path) -> None:
    schema = json.loads((project / "docs/reference/odds.schema.json").read_text("utf-8"))
    assert schema["properties"]["outcomes"]["required"] == [outcome.label for outcome in Outcome]


def test_answer_in_words() -> None:
    text = answer(result_of())
    assert "2 inputs guessed" in text
    assert "The stall is the weakest link" in text
    assert "<- weakest" in text
    assert text.index("STOP") < text.index("not known")
    assert "Measure next:" in text
    assert "you decide" in text
    assert "safe" not in text.lower()
    assert max(len(line) for line in text.splitlines()) <= 110


def test_few_worlds_are_named_and_silence_is_explained() -> None:
    few, many = result_of(500), result_of(2500)
    assert few.headline.endswith("; only 20 worlds: treat the interval as rough, run 10,000")
    assert "only" not in many.headline
    silent = answer(assessed(made_up(500)[0]))
    assert "500 launches cannot tell what to measure first; run 10,000." in silent
    assert "Measure next:" not in silent
    assert "cannot tell what" not in answer(few)  # it found one all the same
    assert "No single measurement" in answer(assessed(made_up()[0]))
    assert "mean over all launches" in " ".join(answer(many).split())


def test_inputs_have_plain_names() -> None:
    assert plain_name("thrower.release_speed_scatter") == "a faster throw than this person's mean"
    assert plain_name("airframe.warp").endswith("(the tool's own guess)")
    assert plain_name("airframe.board.tilt") == "airframe, board, tilt"
    table, draws = made_up()
    names = ("mass", "tilt", "wind", "thrower.slip")
    found = assessed(table, draws._replace(names=names))
    (item,) = (item for item in found.contributions if item.name == "thrower.slip")
    assert f"a grip that slips: {-item.points_per_sd:+.1f} points for each sd (5 %)" in answer(found)


def test_few_launches_claim_little() -> None:
    text = answer(result_of(25))
    assert "Too few launches" in text
    assert "in 1 world, seed" in text
    assert "\n\n\n" not in text
    assert "more launches do not" in " ".join(answer(result_of(1000)).split())


def test_nothing_flown_is_no_answer() -> None:
    table, draws = made_up(25)
    campaign = Campaign(0, 0, 1, "0", "0", "", True)
    with pytest.raises(ValueError, match="no launch"):
        assess(campaign, table[:0], draws, Known(FIGURES, Inputs(0, ())))


def test_low_points_only_of_what_was_released() -> None:
    table = with_outcomes({Outcome.CLEAN: 21})
    table["low_point_m"] = np.linspace(0.0, 2.0, 21)
    assert low_points(table) == pytest.approx((0.1, 1.0, 1.9))
    table["release_s"] = -1.0
    assert low_points(table) is None


def test_share_is_the_same_for_any_cut_into_chunks() -> None:
    table, _ = made_up()
    assert clean_share(table) == clean_share(np.concatenate([table[:3000], table[3000:]]))


@pytest.mark.parametrize(
    ("odds", "short", "long"),
    [
        (Interval(0.912, 0.843, 0.951), "91 %", "91 % (84 to 95)"),
        (Interval(1.0, 0.96, 1.0), "99 %", "99 % (96 to 99)"),
        (Interval(0.999, 0.9951, 1.0), ">99 %", ">99 % (at least 99.5)"),
        (Interval(0.0, 0.0, 0.03), "1 %", "1 % (1 to 3)"),
        (Interval(0.001, 0.0, 0.004), "<1 %", "<1 % (at most 0.4)"),
        (Interval(0.502, 0.498, 0.504), "50 %", "50 % (give or take less than 1)"),
    ],
)
def test_display(odds: Interval, short: str, long: str) -> None:
    assert percent(odds) == short
    assert with_interval(odds) == long


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 %"),
        (1.0, "100 %"),
        (0.123, "12 %"),
        (0.004, "0.4 %"),
        (0.00001, "0.01 %"),
        (0.99999, "99.99 %"),
    ],
)
def test_counted_share(share: float, text: str) -> None:
    assert plain_percent(share) == text


def test_columns_have_help() -> None:
    assert [name for name, _, _ in COLUMNS] == list(SUMMARY.names or ())
    assert all(words for _, _, words in COLUMNS)
    assert SUMMARY.isalignedstruct
    assert SUMMARY.itemsize == sum(SUMMARY[name].itemsize for name in SUMMARY.names or ())


def test_outcomes_have_reasons() -> None:
    assert [int(item) for item in Outcome] == list(range(14))
    for item in Outcome:
        assert item.reason.endswith(".")
        assert item.label == item.label.lower()
    assert Outcome.HAND_AT_RISK.label == "hand at risk"

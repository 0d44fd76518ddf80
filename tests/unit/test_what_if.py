"""What if: the change of the odds as a command, as JSON and from Python."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from typer.testing import CliRunner

import overarm
from overarm.cli import app
from overarm.describe.change import changed
from overarm.odds.what_if import GONE, what_if
from overarm.odds.what_if_words import what_if_answer
from tests.examples import FILES, setup_of

LAUNCHES = 2000
LONGER = {"settings.start_wait": "0.9 s", "day.wind": "0 m/s"}
CALM = {"day.wind": "0 m/s"}


def test_difference_is_that_of_two_separate_answers() -> None:
    """And its interval is narrower than that of two answers that know nothing of each other."""
    setup = setup_of("b")
    calm = changed(setup, CALM)
    found = what_if(calm, {"settings.start_wait": "0.9 s"}, LAUNCHES)
    alone = [
        overarm.odds(item, LAUNCHES).clean for item in (calm, changed(calm, {"settings.start_wait": "0.9 s"}))
    ]
    assert (found.before.clean, found.after.clean) == tuple(alone)
    gap = found.difference
    assert gap.share == pytest.approx(alone[1].share - alone[0].share)
    assert gap.high < 0.0
    assert gap.width < float(np.hypot(alone[0].width, alone[1].width))
    assert gap.share == pytest.approx((gap.won - gap.lost) / LAUNCHES)


def test_longer_wait_costs_b_in_calm_and_little_in_its_wind() -> None:
    """Each 0.2 s of wait costs B odds in calm (common practice); its own wind forgives 0.1 s."""
    calm = changed(setup_of("b"), CALM)
    assert what_if(calm, {"settings.start_wait": "0.8 s"}, LAUNCHES).difference.high < 0.0
    small = what_if(setup_of("b"), {"settings.start_wait": "0.7 s"}, LAUNCHES)
    assert -0.05 < small.difference.share < 0.01
    assert small.difference.low < 0.0 < small.difference.high or small.difference.high < 0.0


def test_change_that_alters_derived_figures_derives_both() -> None:
    found = what_if(setup_of("e"), {"airframe.mass": "0.75 kg measured"}, 1000)
    assert found.difference.low > 0.0
    assert "release speed" not in {item.name for item in found.stops}
    race = next(item for item in found.turned if item.name == "the race")
    assert (race.before, race.after) != ("stop", "stop")


def test_gain_that_a_hand_pays_for_ends_as_stop() -> None:
    ended = CliRunner().invoke(
        app, ["odds", str(FILES["e"]), "--set", "settings.start_wait=0.2s", "--vs", "--launches", "500"]
    )
    assert ended.exit_code == 3
    assert "clear slack: good -> stop" in ended.stdout
    assert "settings.start_wait: 0.60 s -> 0.2s" in ended.stdout


def test_finding_that_the_change_takes_away_is_told(project: Path) -> None:
    """With a tractor no disc passes the hand, so nothing is said about it; the stop before it is not lost."""
    early = changed(setup_of("b"), {"settings.start_wait": "0.1 s"})
    found = what_if(early, {"power.position": "tractor"}, 500)
    name = "hand and disc, as flown"
    assert name not in {item.name for item in found.after.findings}
    gone = next(item for item in found.turned if item.name == name)
    assert (gone.before, gone.after) == ("stop", "not known")
    assert gone.sentence.startswith(GONE)
    assert "In the model the disc turned near a hand" in gone.sentence
    assert f"{name}: stop -> not known" in what_if_answer(found)
    schema = json.loads((project / "docs/reference/what-if.schema.json").read_text("utf-8"))
    jsonschema.validate(found.to_dict(), schema)
    back = what_if(changed(early, {"power.position": "tractor"}), {"power.position": "pusher"}, 500)
    come = next(item for item in back.turned if item.name == name)
    assert (come.before, come.after) == ("not known", "stop")


def test_same_seed_same_answer() -> None:
    first, again = (what_if(setup_of("b"), LONGER, 500, seed=4).to_dict() for _ in range(2))
    assert first == again
    assert what_if(setup_of("b"), LONGER, 500, seed=5).to_dict() != first


def test_narrow_enough_ends_early() -> None:
    found = what_if(setup_of("e"), {"settings.throttle_rise": "150 %/s"}, until_width=0.10)
    assert found.campaign.launches < 10_000
    assert "points wide" in found.campaign.stopped_because


def test_json_obeys_its_schema(project: Path) -> None:
    schema = json.loads((project / "docs/reference/what-if.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    arguments = ["odds", str(FILES["e"]), "--set", "settings.throttle_rise=150%/s", "--vs", "--json"]
    ended = CliRunner().invoke(app, [*arguments, "--launches", "1000"])
    assert ended.exit_code == 0
    answer = json.loads(ended.stdout)
    jsonschema.validate(answer, schema)
    gap = answer["difference"]
    assert gap["low"] > 0.0
    assert gap["won"] > 10 * gap["lost"]
    assert answer["outcomes"][0]["outcome"] == "stalled"
    for name in schema["required"]:
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({key: value for key, value in answer.items() if key != name}, schema)


def test_set_alone_gives_the_odds_of_the_changed_setup() -> None:
    arguments = ["odds", str(FILES["e"]), "--set", "settings.throttle_rise=150%/s", "--json"]
    ended = CliRunner().invoke(app, [*arguments, "--launches", "500"])
    made = changed(setup_of("e"), {"settings.throttle_rise": "150%/s"})
    assert json.loads(ended.stdout)["setup_hash"] == made.hash()


def test_words_of_a_change_that_changes_nothing() -> None:
    same = what_if_answer(what_if(setup_of("b"), {"settings.start_wait": "600 ms"}, 500))
    assert "Both setups are the same" in same
    idle = what_if_answer(what_if(setup_of("b"), {"settings.home_height": "50 m"}, 500))
    assert "None of 500 launches turned" in idle
    assert "rule of three" in idle


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        (["--vs"], "--set settings.start_wait=0.7s"),
        (["--vs", "--set", "settings.start_wait"], "is no change"),
        (["--vs", "--set", "settings.start_wate=1s"], "Did you mean start_wait"),
        (["--vs", "--set", "settings.start_wait=1m"], "is not a time"),
        (["--vs", "--set", "settings.start_wait=1s", "--json", "--trace", "2"], "Leave out --vs"),
        (["--set", "kite.tail=1m"], "Begin with a card"),
    ],
)
def test_wrong_wishes_say_what_would_be_right(extra: list[str], said: str) -> None:
    ended = CliRunner().invoke(app, ["odds", str(FILES["b"]), *extra])
    assert ended.exit_code != 0
    assert said in str(ended.exception)

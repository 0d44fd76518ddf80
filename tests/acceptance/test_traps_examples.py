"""The trap finder on the five examples: both layers of E, no false alarm on the others."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from overarm.cli import app
from overarm.settings.traps import traps_of
from tests.examples import FILES, derived_of, setup_of


@pytest.mark.parametrize("letter", "abcd")
@pytest.mark.parametrize("seed", [1, 2])
def test_no_false_alarm(letter: str, seed: int) -> None:
    found = traps_of(setup_of(letter), derived_of(letter), seed)
    assert found.traps == ()
    assert "no trap found" in found.lines()[0]


def test_both_layers_of_the_wing_that_looks_fine(project: Path) -> None:
    """A rise of 25 %/s belongs to spin-in-hand (common practice); level and tilt lie under it."""
    ended = CliRunner().invoke(app, ["traps", str(FILES["e"]), "--json"])
    assert ended.exit_code == 3
    answer = json.loads(ended.stdout)
    schema = json.loads((project / "docs/reference/traps.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(answer, schema)
    launch, carry = answer["traps"]

    assert {member["key"] for member in launch["members"]} == {"settings.throttle_rise", "day.wind"}
    assert "A throttle rise of 25 %/s belongs to spin-in-hand" in launch["sentence"]
    assert launch["calm_share"] < launch["odds"]["share"] < launch["without"]["low"]
    gains = [cure["gain"]["share"] for cure in launch["cures"]]
    assert gains == sorted(gains, reverse=True) or max(gains) - gains[0] < 0.01
    rises = {cure["after"]: cure for cure in launch["cures"] if cure["key"] == "settings.throttle_rise"}
    assert {"100 %/s", "150 %/s"} <= set(rises)
    assert not {"200 %/s", "300 %/s"} & set(rises)  # they gain as much, and turn the disc near a hand
    assert all(cure["gain"]["low"] > 0.0 for cure in launch["cures"])
    assert rises["60 %/s"]["calm_share"] < rises["150 %/s"]["calm_share"]

    assert carry["kind"] == "carry"
    assert carry["after"] == ["settings.throttle_rise=150 %/s"]
    keys = {member["key"] for member in carry["members"]}
    assert keys == {"settings.jerk_level", "airframe.board.tilt", "thrower.carry_pitch"}
    # Level 8 is usual and leaves more than one false start in 50 such carries, so more is advised.
    assert "Jerk level 10 m/s2 alone cures it" in carry["sentence"]
    assert "The usual jerk level, 8 m/s2, would still start it in" in carry["sentence"]
    assert carry["odds"]["high"] < 0.1


def test_printed_answer_names_both() -> None:
    ended = CliRunner().invoke(app, ["traps", str(FILES["e"]), "--launches", "750"])
    assert ended.exit_code == 3
    assert "2 traps" in ended.stdout
    assert "TRAP while it is carried" in ended.stdout
    assert "you decide" in ended.stdout

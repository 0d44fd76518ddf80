"""The five example setups through `overarm odds`: findings, odds and their JSON.

The odds of the example setups are the project's own earlier simulations with a simpler model; they are
targets for order and trend, not for digits.
"""

from __future__ import annotations

import json
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from typer.testing import CliRunner

import overarm
from overarm.cli import app
from overarm.describe.derived import derive
from overarm.flight.campaign import Chunk, run
from overarm.odds.findings import findings

LAUNCHES = 2000
NAMES = "abcde"


def example(examples: Path, letter: str) -> Path:
    return next(examples.glob(f"{letter}-*.yaml"))


@pytest.mark.parametrize("letter", NAMES)
def test_findings_of_the_examples(examples: Path, letter: str) -> None:
    """No single check says stop to E, and it loses the race; the others have no stop."""
    setup = overarm.load(example(examples, letter))
    race, *single = findings(setup, derive(setup))
    assert [(item.name, item.sentence) for item in single if item.word == "stop"] == []
    assert (race.word == "stop") == (letter == "e")
    if letter == "e":
        assert sum(item.word == "good" for item in single) >= 12


def test_odds_of_the_trap_and_of_a_sound_wing(examples: Path) -> None:
    sound = overarm.odds(overarm.load(example(examples, "b")), launches=LAUNCHES, seed=1)
    trap = overarm.odds(overarm.load(example(examples, "e")), launches=LAUNCHES, seed=1)
    assert sound.clean.low > trap.clean.high
    assert trap.has_stop
    assert not sound.has_stop
    assert np.prod([link.odds for link in trap.links]) == pytest.approx(trap.clean.share)


def test_same_seed_same_answer(examples: Path) -> None:
    setup = overarm.load(example(examples, "b"))
    first, again = (overarm.odds(setup, launches=500, seed=7, trace=1) for _ in range(2))
    assert first.to_dict() == again.to_dict()
    assert first.table.tobytes() == again.table.tobytes()
    other = overarm.odds(setup, launches=500, seed=8)
    assert other.table.tobytes() != first.table.tobytes()


def test_command_prints_an_answer(examples: Path) -> None:
    ended = CliRunner().invoke(app, ["odds", str(example(examples, "e")), "--launches", "500"])
    assert ended.exit_code == 3
    assert "weakest link" in ended.stdout
    assert "the race" in ended.stdout
    assert "you decide" in ended.stdout


def test_command_prints_json_that_obeys_the_schema(examples: Path, project: Path) -> None:
    arguments = ["odds", str(example(examples, "b")), "--launches", "500", "--json", "--trace", "2"]
    ended = CliRunner().invoke(app, arguments)
    assert ended.exit_code == 0
    answer = json.loads(ended.stdout)
    jsonschema.validate(answer, json.loads((project / "docs/reference/odds.schema.json").read_text("utf-8")))
    assert len(answer["traces"]) == 2
    assert answer["setup_hash"] == overarm.load(example(examples, "b")).hash()


def interrupted(*arguments: Any, **options: Any) -> Iterator[Chunk]:
    """Fly as usual; somebody presses Ctrl-C after the first chunk."""
    for chunk in run(*arguments, **options):
        yield chunk
        signal.raise_signal(signal.SIGINT)


def test_ctrl_c_keeps_what_is_done(examples: Path, project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("overarm.odds.flyers.run", interrupted)
    before = signal.getsignal(signal.SIGINT)
    ended = CliRunner().invoke(app, ["odds", str(example(examples, "b")), "--launches", "50000", "--json"])
    assert ended.exit_code == 130
    answer = json.loads(ended.stdout)
    assert answer["cancelled"]
    assert answer["launches"] == 2000
    jsonschema.validate(answer, json.loads((project / "docs/reference/odds.schema.json").read_text("utf-8")))
    assert signal.getsignal(signal.SIGINT) == before
    text = CliRunner().invoke(app, ["odds", str(example(examples, "b")), "--launches", "50000"]).stdout
    assert text.startswith("CANCELLED after 2,000 launches")


@pytest.mark.parametrize("extra", [["--launches", "0"], ["--until-width", "7"], ["--json", "--trace", "51"]])
def test_impossible_wishes_are_bad_input(examples: Path, extra: list[str]) -> None:
    ended = CliRunner().invoke(app, ["odds", str(example(examples, "b")), *extra])
    assert ended.exit_code != 0
    assert "Give a" in str(ended.exception)


def test_samples_need_json(examples: Path) -> None:
    ended = CliRunner().invoke(app, ["odds", str(example(examples, "b")), "--trace", "3"])
    assert ended.exit_code != 0
    assert "add --json" in str(ended.exception)

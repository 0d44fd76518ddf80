"""The answer of `overarm check --json` is what its schema and its page say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

from overarm.cli import app
from tests.changed import BASE, replaced, written
from tests.examples import FILES


@pytest.fixture(scope="module")
def schema(project: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((project / "docs/reference/check.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


def answer(file: Path) -> tuple[int, dict[str, Any]]:
    shown = CliRunner().invoke(app, ["check", str(file), "--json"])
    said: dict[str, Any] = json.loads(shown.output, parse_constant=pytest.fail)
    return shown.exit_code, said


@pytest.mark.parametrize("letter", sorted(FILES))
def test_examples_fit_the_schema(schema: dict[str, Any], letter: str) -> None:
    code, said = answer(FILES[letter])
    jsonschema.validate(said, schema)
    assert code == (3 if any(item["word"] == "stop" for item in said["findings"]) else 0)
    assert 0 < len(said["unknown_inputs"]) <= said["inputs"]


def test_a_bad_setup_fits_the_schema(schema: dict[str, Any], tmp_path: Path) -> None:
    text = replaced(replaced(BASE, "0.60 kg", "0.60 m"), "cells: 3\n", "cels: 3\n")
    code, said = answer(written(tmp_path, text))
    assert code == 2
    jsonschema.validate(said, schema)
    assert [problem["key"] for problem in said["problems"]] == ["airframe.mass", "power.cells", "power.cels"]


def test_the_page_names_every_field(schema: dict[str, Any], project: Path) -> None:
    page = (project / "docs/reference/check-json.md").read_text("utf-8")
    for form in schema["oneOf"]:
        for name in form["properties"]:
            assert f"`{name}`" in page, name


def test_the_figures_of_an_example(examples: Path) -> None:
    """Example A as its table has it: 6.94 m/s, 8 %, 18 650 rpm, 7.1 N, 2.23 N at half, 149 m/s, 21 J."""
    _, said = answer(examples / "a-sparrow.yaml")
    figures = said["derived"]
    assert figures["stall_speed_mps"] == pytest.approx(6.94, abs=0.02)
    assert figures["static_margin_share"] == pytest.approx(0.08, abs=0.005)
    assert figures["full"]["rpm"] == pytest.approx(18650, rel=0.01)
    assert figures["full"]["thrust_n"] == pytest.approx(7.1, rel=0.01)
    assert figures["half"]["thrust_n"] == pytest.approx(2.23, rel=0.02)
    assert figures["full"]["tip_speed_mps"] == pytest.approx(149, rel=0.01)
    assert figures["full"]["energy_j"] == pytest.approx(21, rel=0.05)
    shown = CliRunner().invoke(app, ["check", str(examples / "a-sparrow.yaml")]).output
    for words in (
        "half throttle",
        "tip speed",
        "spool time",
        "roll reserve",
        "hand in reach",
        "inputs are guessed",
    ):
        assert words in shown

"""The JSON of a settings search against its schema: one that finds settings and one that is refused."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.settings.find import find_settings
from overarm.settings.result import SettingsResult
from overarm.settings.search import Effort
from overarm.settings.words import lines
from tests.examples import derived_of, setup_of

TINY = Effort(launches=100, generations=1, population=4, fine_launches=150)


@pytest.fixture(autouse=True, scope="module")
def few_proofs() -> Iterator[None]:
    """Fewer launches behind the proof than a person gets, so that the tests stay short."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("overarm.settings.proof.PROOF_LAUNCHES", 3_000)
        yield


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    path = Path(__file__).resolve().parents[2] / "docs/reference/settings.schema.json"
    found: dict[str, Any] = json.loads(path.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


@cache
def found() -> SettingsResult:
    return find_settings(setup_of("a"), derived_of("a"), 1, TINY, launches=1000)


def test_found_settings_obey_the_schema(schema: dict[str, Any]) -> None:
    result = found()
    answer = json.loads(json.dumps(result.to_dict(), allow_nan=False))
    jsonschema.validate(answer, schema)
    assert answer["settings"], answer["refused"]
    said = "\n".join(lines(result))
    for item in answer["settings"]:
        assert item["text"] in said
    assert all(len(line) <= 100 for line in said.splitlines())
    assert "safe" not in said.lower()


def test_a_refused_search_obeys_the_schema(schema: dict[str, Any]) -> None:
    setup = changed(setup_of("b"), {"thrower.release_speed": "6.8 m/s", "day.wind": "0 m/s"})
    result = find_settings(setup, derive(setup), 1, TINY, launches=1000)
    answer = json.loads(json.dumps(result.to_dict(), allow_nan=False))
    jsonschema.validate(answer, schema)
    assert answer["after"] is answer["gain"] is answer["usual"] is None
    said = "\n".join(lines(result))
    assert "Refused, because:" in said
    assert "What it would take" in said
    # Calm is known to 0.5 m/s: its hard end is a breath from behind.
    assert answer["hard_wind_10m_mps"] < 0.0
    assert "0.4 m/s of wind from the other side at" in " ".join(said.split())


def test_the_schema_refuses_what_it_does_not_know(schema: dict[str, Any]) -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"overarm_settings": 1}, schema)


def _spoil(answer: dict[str, Any], where: str) -> None:
    if where == "an unknown key":
        answer["settings"][0]["unit"] = "s"
    elif where == "a share of percent":
        answer["before"]["clean"]["share"] = 94.0
    elif where == "an unknown setting":
        answer["settings"][0]["key"] = "cruise_ceiling"
    elif where == "settings beside a refusal":
        answer["refused"] = ["hand clear: too short"]
    elif where == "no odds and no refusal":
        answer["after"] = None


@pytest.mark.parametrize(
    "where",
    [
        "an unknown key",
        "a share of percent",
        "an unknown setting",
        "settings beside a refusal",
        "no odds and no refusal",
    ],
)
def test_a_spoiled_answer_is_refused(schema: dict[str, Any], where: str) -> None:
    answer = json.loads(json.dumps(found().to_dict()))
    jsonschema.validate(answer, schema)
    _spoil(answer, where)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema)


def test_the_page_names_every_field(schema: dict[str, Any]) -> None:
    page = (Path(__file__).resolve().parents[2] / "docs/reference/settings-json.md").read_text("utf-8")
    assert [name for name in schema["required"] if f"`{name}`" not in page] == []
    assert set(schema["required"]) == set(schema["properties"])

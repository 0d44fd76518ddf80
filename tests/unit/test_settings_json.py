"""The JSON of a settings search against its schema, and the setup that the command writes with it.

One search finds settings and one is refused.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import jsonschema
import pytest
from typer.testing import CliRunner

import overarm
from overarm.cli import app
from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.settings import find
from overarm.settings.find import find_settings
from overarm.settings.result import SettingsResult
from overarm.settings.search import Effort
from overarm.settings.words import lines
from tests.examples import FILES, setup_of

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


class Answered(NamedTuple):
    """One search by the command: what it found and printed, the setup and the one that it wrote."""

    result: SettingsResult
    code: int
    printed: str
    old: Path
    new: Path


@pytest.fixture(scope="module")
def answered(few_proofs: None, tmp_path_factory: pytest.TempPathFactory) -> Answered:
    """Return the answer for A; its search takes seconds instead of a minute."""
    old = tmp_path_factory.mktemp("settings") / "wing.yaml"
    old.write_bytes(FILES["a"].read_bytes())
    new = old.with_name("new.yaml")
    results: list[SettingsResult] = []

    def noting(*given: Any, **named: Any) -> SettingsResult:
        results.append(find_settings(*given, **named))
        return results[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(find, "Effort", lambda: TINY)
        patch.setattr(find, "find_settings", noting)
        words = ["settings", str(old), "--launches", "5000", "--write", str(new), "--json"]
        ended = CliRunner().invoke(app, words)
    (result,) = results
    return Answered(result, ended.exit_code, ended.stdout, old, new)


def test_it_answers_and_writes_a_setup_that_flies_as_claimed(answered: Answered) -> None:
    assert answered.code == 0
    answer = json.loads(answered.printed)
    assert overarm.load(answered.new).hash() == answer["after"]["setup_hash"]
    assert overarm.load(answered.old).hash() == answer["setup_hash"]
    before, after = (file.read_text("utf-8").splitlines() for file in (answered.old, answered.new))
    moved = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert 0 < len(moved) <= len(answer["settings"])
    assert all(old.split(":")[0] == new.split(":")[0] for old, new in moved)
    assert sum("#" in line for line in before) == sum("#" in line for line in after)


def test_found_settings_obey_the_schema(schema: dict[str, Any], answered: Answered) -> None:
    result = answered.result
    answer = json.loads(json.dumps(result.to_dict(), allow_nan=False))
    jsonschema.validate(answer, schema)
    jsonschema.validate(json.loads(answered.printed), schema)
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
def test_a_spoiled_answer_is_refused(schema: dict[str, Any], answered: Answered, where: str) -> None:
    answer = json.loads(json.dumps(answered.result.to_dict()))
    jsonschema.validate(answer, schema)
    _spoil(answer, where)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema)


def test_the_page_names_every_field(schema: dict[str, Any]) -> None:
    page = (Path(__file__).resolve().parents[2] / "docs/reference/settings-json.md").read_text("utf-8")
    assert [name for name in schema["required"] if f"`{name}`" not in page] == []
    assert set(schema["required"]) == set(schema["properties"])

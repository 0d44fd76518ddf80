"""Each room of the workbench gives what its command gives, and keeps to the same published schema."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

import overarm
from overarm import cli, specimens
from overarm.app.api.answers import PUBLISHED, answer_schemas
from overarm.describe.cards import Setup
from overarm.describe.reader import load
from tests.examples import FILES, derived_of, setup_of
from tests.workbench import running

TEXT = FILES["b"].read_text("utf-8")
SETUP = {"text": TEXT}
PROJECT = Path(__file__).resolve().parents[2]


def holds(name: str, answer: dict[str, Any]) -> None:
    """Hold an answer to the published schema of its command, and to the description of the interface."""
    stem = PUBLISHED.get(name)
    if stem is not None:
        schema = json.loads((PROJECT / f"docs/reference/{stem}.schema.json").read_text("utf-8"))
        jsonschema.validate(answer, schema)
    described = {"$ref": f"#/components/schemas/{name}", "components": {"schemas": answer_schemas()}}
    jsonschema.validate(answer, described)


def commanded(*words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(CliRunner().invoke(cli.app, [*words, "--json"]).stdout)
    return found


def test_check_is_the_command() -> None:
    server = running()
    said = server.post("/api/describe/check", {"setup": SETUP}).json()
    assert said == commanded("check", str(FILES["b"]))
    holds("CheckAnswer", said)
    changed = server.post(
        "/api/describe/check", {"setup": SETUP, "changes": {"airframe.mass": "1.9 kg"}}
    ).json()
    assert changed["derived"]["stall_speed_mps"] > said["derived"]["stall_speed_mps"]


def test_check_tells_every_problem_with_line_and_column(tmp_path: Path) -> None:
    text = TEXT.replace("mass:", "mas:", 1)
    (tmp_path / "setup.yaml").write_text(text)
    bad = commanded("check", str(tmp_path / "setup.yaml"))
    said = running().post("/api/describe/check", {"setup": {"text": text}}).json()
    assert [{**item, "file": "setup.yaml"} for item in bad["problems"]] == said["problems"]
    assert said["problems"][0]["line"]
    holds("CheckAnswer", said)


def test_the_cards_say_what_a_form_needs() -> None:
    """A few fields against the cards: units, range, default with its source, spreads, choices, lists."""
    said = running().http.get("/api/describe/cards").json()
    holds("CardsAnswer", said)
    schema = said["schema"]
    jsonschema.Draft202012Validator.check_schema(schema)
    mass = schema["properties"]["airframe"]["properties"]["mass"]
    assert mass["x-amount"]["units"] == ["g", "kg", "oz", "lb"]
    assert (mass["x-amount"]["low"], mass["x-amount"]["high"]) == (0.05, 10.0)
    assert (mass["x-amount"]["measured"], mass["x-amount"]["guessed"]) == ("1 %", "8 %")
    assert "mass" in schema["properties"]["airframe"]["required"]
    assert schema["properties"]["style"]["enum"] == ["throw-started", "spin-in-hand", "line-launched"]
    travel = schema["properties"]["airframe"]["properties"]["surfaces"]["properties"]["travel"]
    assert (travel["default"], travel["x-amount"]["source"]) == ("20 deg", "own estimate")
    obstacles = schema["properties"]["site"]["properties"]["obstacles"]
    assert obstacles["items"]["properties"]["height"]["x-amount"]["si"] == "m"
    for letter in FILES:
        jsonschema.validate(_written(setup_of(letter), FILES[letter]), schema)


def _written(_setup: Setup, file: Path) -> Any:
    from overarm.describe.document import read_document

    return read_document(file).data


@pytest.mark.parametrize(
    ("amount", "dimension", "unit", "text", "value"),
    [
        ("640 g", "mass", "oz", "22.58 oz", 0.64),  # 1 oz = 28.349523125 g (1959)
        ("18 km/h", "speed", "m/s", "5 m/s", 5.0),
        ("12 in", "length", "cm", "30.48 cm", 0.3048),  # 1 in = 25.4 mm (1959)
        ("59 F", "temperature", "C", "15 C", 288.15),
    ],
)
def test_units(amount: str, dimension: str, unit: str, text: str, value: float) -> None:
    form = {"amount": amount, "dimension": dimension, "unit": unit}
    said = running().post("/api/describe/convert", form).json()
    holds("ConvertAnswer", said)
    assert said["text"] == text
    assert said["value"] == pytest.approx(value, rel=1e-12)


def test_units_that_do_not_fit_say_what_would() -> None:
    server = running()
    for amount, dimension, unit in (("640 g", "mass", "m"), ("x", "mass", "g"), ("1 g", "colour", "g")):
        form = {"amount": amount, "dimension": dimension, "unit": unit}
        answer = server.post("/api/describe/convert", form)
        assert answer.status_code == 422
        assert answer.json()["problems"][0]["message"]


def test_a_rewrite_keeps_the_comments() -> None:
    form = {"setup": SETUP, "changes": {"settings.start_wait": "0.7 s"}, "comments": {}}
    text = running().post("/api/describe/rewrite", form).json()["text"]
    old, new = TEXT.splitlines(), text.splitlines()
    assert len(old) == len(new)
    differ = [(a, b) for a, b in zip(old, new, strict=True) if a != b]
    assert len(differ) == 1
    assert "0.7 s" in differ[0][1]
    assert differ[0][0].partition("#")[2] == differ[0][1].partition("#")[2]


def test_a_new_setup_by_questions(tmp_path: Path) -> None:
    server = running()
    asked = server.post("/api/describe/questions", {"answers": {"mass": "banana", "span": "1.4 m"}}).json()
    holds("QuestionsAnswer", asked)
    by_key = {item["key"]: item for item in asked["questions"]}
    assert by_key["mass"]["problem"]
    assert not by_key["span"]["problem"]
    refused = server.post("/api/describe/start", {"answers": {"mass": "banana"}})
    assert refused.status_code == 422
    assert refused.json()["problems"][0]["key"] == "mass"
    text = server.post("/api/describe/start", {"answers": {"name": "Finch", "span": "1.4 m"}}).json()["text"]
    (tmp_path / "new.yaml").write_text(text, "utf-8")
    assert load(tmp_path / "new.yaml").name == "Finch"
    examples = server.http.get("/api/describe/examples").json()
    holds("ExamplesAnswer", examples)
    assert len(examples["examples"]) == 5


def test_files_beside_a_setup_are_uploads_by_name() -> None:
    server = running()
    table = server.upload("mine.csv", b"J,CT,CP\n0,0.1,0.05\n0.4,0.06,0.04\n0.8,0.0,0.01\n")
    text = TEXT.replace("power:\n", "power:\n  coefficient_table: prop.csv\n", 1)
    without = server.post("/api/describe/check", {"setup": {"text": text}}).json()
    assert "is not a file that is there" in without["problems"][0]["message"]
    form = {"setup": {"text": text, "files": {"prop.csv": table}}}
    answer = server.post("/api/describe/check", form)
    told = [item for item in answer.json().get("problems", ()) if item["key"] == "power.coefficient_table"]
    assert not told
    for name in ("../prop.csv", "setup.yaml"):
        form = {"setup": {"text": text, "files": {name: table}}}
        assert server.post("/api/describe/check", form).status_code == 422


def test_the_fan_flies_the_launches_of_the_campaign() -> None:
    """The same launches as `overarm odds` of the same seed, and the same difference as `--vs` gives."""
    server = running()
    change = {"settings.start_wait": "1.4 s"}
    form = {"setup": SETUP, "changes": change, "seed": 5, "launches": 20, "compared": 500, "points": 30}
    said = server.post("/api/odds/fan", form).json()
    holds("FanAnswer", said)
    whole = server.answer(
        "/api/odds/what-if", {"setup": SETUP, "changes": change, "seed": 5, "launches": 500}
    )
    holds("WhatIfAnswer", whole)
    assert said["difference"] == whole["difference"]
    assert said["before"]["clean"] == whole["before"]["clean"]
    assert said["after"]["clean"] == whole["after"]["clean"]
    assert said["setup_hash"] == whole["after"]["setup_hash"]
    traced = overarm.odds(setup_of("b"), 20, 5, trace=1).to_dict()["traces"][0]
    path = next(item for item in said["before"]["paths"] if item["launch"] == 0)
    assert len(path["ahead_m"]) == 30
    assert path["ahead_m"][-1] == pytest.approx(traced["x_m"][-1], abs=0.006)
    assert path["height_m"][-1] == pytest.approx(traced["height_m"][-1], abs=0.006)

    one = server.post("/api/odds/trace", {"setup": SETUP, "seed": 5, "launch": 0}).json()
    holds("TraceAnswer", one)
    assert one["columns"]["height_m"] == pytest.approx(traced["height_m"], abs=1e-5)
    assert one["outcome"] == path["outcome"]


def test_plan_and_its_files() -> None:
    server = running()
    form = {"setup": SETUP, "launches": 100, "seed": 2}
    said = server.answer("/api/plan/jobs", form)
    holds("PlanAnswer", said)
    job = server.post("/api/plan/jobs", form).json()
    names = [item["name"] for item in job["files"]]
    assert any(name.endswith(".svg") for name in names)
    for item in job["files"]:
        answer = server.http.get(f"/api/jobs/{job['id']}/files/{item['name']}")
        assert len(answer.content) == item["bytes"]
        assert answer.headers["content-disposition"].startswith("attachment")
        assert answer.headers["content-type"] == "application/octet-stream"
    assert server.http.get(f"/api/jobs/{job['id']}/files/job.json").status_code == 404


@cache
def specimen() -> bytes:
    return specimens.make(setup_of("b"), derived_of("b"), seed=3, launch=0).csv


def test_review_learn_and_logbook_of_one_recording() -> None:
    server = running()
    upload = server.upload("evening.csv", specimen())
    form = {"recording": upload, "setup": SETUP, "launches": 50}
    said = server.answer("/api/review/jobs", form)
    holds("ReviewAnswer", said)
    job = server.post("/api/review/jobs", form).json()
    assert said["report"] == [item["name"] for item in job["files"]] or set(said["report"]) == {
        item["name"] for item in job["files"]
    }
    learned = server.answer("/api/learn/jobs", {"setup": SETUP, "reviews": [job["id"]]})
    holds("LearnAnswer", learned)
    added = server.post(
        "/api/logbook/recordings",
        {"recording": upload, "setup": SETUP, "review": job["id"], "note": "gusty, late throw"},
    ).json()
    holds("LogbookAnswer", added)
    assert added["added"]["new"]["recordings"] == 1
    found = server.http.get("/api/logbook/search", params={"text": "gusty"}).json()
    holds("LogbookAnswer", found)
    assert len(found["rows"]) == len(said["launches"])
    for path in ("/api/logbook", "/api/logbook?what=setups", "/api/logbook/trends",
                 f"/api/logbook/things/{added['recording']}"):  # fmt: skip
        holds("LogbookAnswer", server.http.get(path).json())
    archive = server.answer("/api/logbook/export", None)
    holds("LogbookAnswer", archive)
    undone = server.post("/api/logbook/undo", {}).json()
    holds("LogbookAnswer", undone)
    assert undone["undone"]["removed"]["recordings"] == 1


def test_notes_and_an_archive_come_in_again() -> None:
    server = running()
    notes = server.upload("notes.json", b'{"overarm_notes": 1, "notes": [{"text": "wet grass"}]}')
    for new in ({"notes": 1}, {}):
        said = server.answer("/api/logbook/import", {"archive": notes})
        holds("LogbookAnswer", said)
        assert said["added"]["new"] == new or not any(said["added"]["new"].values())
    holds("NoteAnswer", server.post("/api/logbook/notes", {"text": "dry grass"}).json())
    holds("LogbookAnswer", server.post("/api/logbook/tidy", {}).json())


def test_trigger_and_the_columns_of_an_unknown_table() -> None:
    server = running()
    rows = "".join(f"{k / 100},{(k % 50) / 10},{9.81}\n" for k in range(1500))
    upload = server.upload("walk-carry.csv", f"Time (s),AX (m/s2),AZ (m/s2)\n{rows}".encode())
    columns = server.post("/api/review/columns", {"recording": upload}).json()
    holds("ColumnsAnswer", columns)
    assert columns["heads"] == ["Time (s)", "AX (m/s2)", "AZ (m/s2)"]
    lines = [
        {key: item[key] for key in ("head", "channel", "unit", "scale", "offset")}
        for item in columns["proposals"]
        if item["head"] != "AZ (m/s2)"
    ]
    form = {"lines": lines, "ignored": ["AZ (m/s2)"]}
    mapping = server.post("/api/review/mapping", form).json()["text"]
    assert server.post("/api/review/mapping", {"lines": lines[1:]}).status_code == 422
    body = {"recordings": [{"upload": upload, "label": "carry"}], "mapping": mapping, "setup": SETUP}
    said = server.answer("/api/trigger/jobs", body)
    holds("TriggerAnswer", said)
    assert [row["name"] for row in said["recordings"]] == ["walk-carry.csv"]


def test_a_sheet_is_two_files() -> None:
    server = running()
    form = {"setup": SETUP, "launches": 200, "date": "25 November 2026"}
    said = server.answer("/api/field/sheet", form)
    holds("SheetAnswer", said)
    job = server.post("/api/field/sheet", form).json()
    pdf = server.http.get(f"/api/jobs/{job['id']}/files/{said['pdf']}").content
    page = server.http.get(f"/api/jobs/{job['id']}/files/{said['html']}").text
    assert pdf.startswith(b"%PDF")
    assert "25 November 2026" in page


def test_a_pack_is_one_page() -> None:
    server = running()
    form = {"setup": SETUP, "date": "1 May 2030", "launches": 400}
    said = server.answer("/api/field/pack", form)
    holds("PackAnswer", said)
    job = server.post("/api/field/pack", form).json()
    page = server.http.get(f"/api/jobs/{job['id']}/files/{said['html']}")
    assert page.text.startswith("<!doctype html>")
    assert len(page.content) == said["bytes"]
    assert sum(said["cells"].values()) > 50


def test_forms_to_learn_from() -> None:
    server = running()
    said = server.http.get("/api/learn/forms/pull").json()
    holds("FormAnswer", said)
    assert server.http.get("/api/learn/forms/push").status_code == 422
    assert server.post("/api/learn/jobs", {"setup": SETUP}).status_code == 422
    learned = server.answer("/api/learn/jobs", {"setup": SETUP, "forms": [said["text"]]})
    holds("LearnAnswer", learned)


def test_every_published_schema_goes_into_the_wheel() -> None:
    told = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))
    taken = told["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    for stem in PUBLISHED.values():
        assert taken[f"docs/reference/{stem}.schema.json"] == f"overarm/schemas/{stem}.schema.json"

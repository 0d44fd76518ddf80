"""`overarm readback`: exit codes, JSON, and drafting a mapping."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result
from typer.testing import CliRunner

from overarm import cli
from overarm.errors import InputError
from overarm.readback.draft import alike, fitting_unit, propose
from overarm.readback.keys import setting_keys
from overarm.readback.mapping import load_mapping
from overarm.readback.report import read_report
from tests.examples import FILES, setup_of
from tests.reported import NAMES, mapping_text, report_of, text_of

LAUNCHES = "500"
TABLE = "name,ahead,right,height\nout,180,0,40\nturn,200,90,40\nhome,0,0,40\n"


@pytest.fixture
def told(tmp_path: Path) -> Path:
    file = tmp_path / "map.yaml"
    file.write_text(mapping_text(), "utf-8")
    return file


@pytest.fixture
def report(tmp_path: Path, told: Path) -> Path:
    file = tmp_path / "report.txt"
    file.write_text(text_of(report_of(setup_of("b"), told)), "utf-8")
    return file


@pytest.fixture(scope="module")
def schema(project: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((project / "docs/reference/readback.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


def run(*words: str | Path, typed: str | None = None) -> Result:
    return CliRunner().invoke(cli.app, ["readback", *(str(word) for word in words)], input=typed)


def refused(*words: str | Path, typed: str | None = None) -> str:
    shown = run(*words, typed=typed)
    assert isinstance(shown.exception, InputError), shown.output
    return str(shown.exception)


def test_equal_ends_with_0(report: Path, told: Path) -> None:
    shown = run(FILES["b"], report, "--map", told)
    assert shown.exit_code == 0
    assert "No difference found." in shown.output


def test_a_difference_ends_with_3(report: Path, told: Path) -> None:
    report.write_text(
        report.read_text("utf-8").replace("motor_delay = 600.000000", "motor_delay = 900"), "utf-8"
    )
    shown = run(FILES["b"], report, "--map", told, "--launches", LAUNCHES)
    assert shown.exit_code == 3
    assert "STOP       start_wait 0.9 s (900 ms) instead of 0.6 s" in shown.output


def test_what_is_needed_is_said(report: Path, told: Path) -> None:
    assert "a setup and a file of the aircraft are needed" in refused(FILES["b"])
    assert "--map" in refused(FILES["b"], report)
    assert "--new-map" in refused(FILES["b"], report, "--map", told, "--from", report)
    assert "is a setup, no mapping" in refused(FILES["b"], report, "--map", FILES["b"])
    assert "outside what can be flown" in refused(FILES["b"], report, "--map", told, "--launches", "0")
    assert "cannot be read" in refused(FILES["b"], report.with_name("no"), "--map", told)


def valid(schema: dict[str, Any], *words: str | Path) -> dict[str, Any]:
    shown = run(*words, "--launches", LAUNCHES, "--json")
    said: dict[str, Any] = json.loads(shown.output, parse_constant=pytest.fail)
    jsonschema.validate(said, schema)
    words = {item["word"] for item in said["findings"]}
    assert said["equal"] == (words == {"good"})
    assert shown.exit_code == (3 if "stop" in words else 0)
    return said


def test_json_of_settings(schema: dict[str, Any], report: Path, told: Path) -> None:
    assert valid(schema, FILES["b"], report, "--map", told)["equal"]
    text = report.read_text("utf-8").replace("motor_delay = 600.000000", "motor_delay = 0.6")
    text = text.replace("takeoff_kick = 8.00000000", "takeoff_kick = 800").replace("kicks = 1\n", "")
    report.write_text(text + "odd = 3\n", "utf-8")
    said = valid(schema, FILES["b"], report, "--map", told)
    items = {item["key"]: item for item in said["settings"]["items"]}
    assert items["start_wait"]["unit_suspect"]["unit"] == "s"
    assert items["jerk_level"]["impossible"]
    assert items["jerks"]["kind"] == "missing"
    assert said["settings"]["unknown_names"] == ["odd"]
    assert items["start_wait"]["consequence"]["difference"]["level"] == 0.95


def test_what_was_not_compared_is_not_equal(schema: dict[str, Any], report: Path, told: Path) -> None:
    said = valid(schema, FILES["b"], report, "--map", told)
    assert (said["equal"], said["complete"]) == (True, True)
    whole = report.read_text("utf-8")
    report.write_text(whole + "odd = 3\n", "utf-8")
    said = valid(schema, FILES["b"], report, "--map", told)
    assert (said["equal"], said["complete"]) == (False, True)
    report.write_text(whole, "utf-8")
    told.write_text(re.sub(r"(?m)^  nose_up: .*\n", "", mapping_text()) + "ignore: [nose_up]\n", "utf-8")
    said = valid(schema, FILES["b"], report, "--map", told)
    assert (said["equal"], said["complete"]) == (False, False)
    assert run(FILES["b"], report, "--map", told).exit_code == 0


def test_too_few_digits_are_told(schema: dict[str, Any], report: Path, told: Path) -> None:
    text = report.read_text("utf-8").replace("motor_delay = 600.000000", "motor_delay = 0.6 s")
    report.write_text(text, "utf-8")
    finer = report.with_name("finer.yaml")
    finer.write_text(
        FILES["b"].read_text("utf-8").replace("start_wait: 0.60 s", "start_wait: 0.61 s"), "utf-8"
    )
    said = valid(schema, finer, report, "--map", told)
    items = {item["key"]: item for item in said["settings"]["items"]}
    assert (items["start_wait"]["kind"], items["start_wait"]["may_be"]) == ("too coarse", "0.55 to 0.65 s")
    assert (said["equal"], said["complete"]) == (False, True)


def test_the_headline_tells_differences_from_what_was_not_compared(report: Path, told: Path) -> None:
    told.write_text(re.sub(r"(?m)^  motor_delay: .*\n", "", mapping_text()), "utf-8")
    shown = run(FILES["b"], report, "--map", told)
    assert shown.exit_code == 3
    assert (
        "No difference found; 1 setting that decides when the propeller turns not compared." in shown.output
    )


def test_json_of_a_route(schema: dict[str, Any], tmp_path: Path) -> None:
    planned, file = tmp_path / "planned.csv", tmp_path / "route.csv"
    planned.write_text(TABLE, "utf-8")
    file.write_text(TABLE, "utf-8")
    same = valid(schema, FILES["b"], file, "--route", planned)
    assert (same["equal"], same["complete"]) == (True, None)
    file.write_text(TABLE.replace("out,180,0,40", "out,180,0,28").replace("home,0,0,40\n", ""), "utf-8")
    said = valid(schema, FILES["b"], file, "--route", planned)
    assert [point["kind"] for point in said["route"]["points"]] == ["different", "same", "missing"]
    assert said["route"]["low_legs"]


def test_the_page_names_every_field(schema: dict[str, Any], project: Path) -> None:
    page = (project / "docs/reference/readback-json.md").read_text("utf-8")
    for name in schema["properties"]:
        assert f"`{name}`" in page, name


def answers(by_key: dict[str, tuple[str, str]]) -> str:
    """Return what a person types: for each key its name and its unit, or its words for a choice."""
    said = []
    for key in setting_keys().values():
        if key.key not in by_key and key.key not in {name for _, name, _ in NAMES}:
            continue
        name, unit = by_key.get(key.key, ("-", ""))
        said.append(name)
        if name != "-" and key.amount is not None:
            said.append(unit)
        elif name != "-":
            said += ["" for _ in key.choices]
    return "\n".join(said) + "\n"


def test_a_mapping_is_drafted_and_reads_back(tmp_path: Path, report: Path, told: Path) -> None:
    new = tmp_path / "new.yaml"
    by_key = {key: (name, unit) for name, key, unit in NAMES}
    typed = answers(by_key).splitlines()
    at = typed.index("then_do")
    typed[at + 1 : at + 3] = ["onward", "back"]
    shown = run(FILES["b"], "--new-map", new, "--from", report, typed="\n".join(typed) + "\n")
    assert shown.exit_code == 0, shown.output
    drafted, by_hand = load_mapping(new), load_mapping(told)
    assert [(tie.name, tie.key.key) for tie in drafted.ties] == [
        (tie.name, tie.key.key) for tie in by_hand.ties
    ]
    assert run(FILES["b"], report, "--map", new).exit_code == 0


def test_a_decimal_comma_is_asked_for(tmp_path: Path) -> None:
    """And a setting that decides when the propeller turns is not passed over in silence."""
    report, new = tmp_path / "report.txt", tmp_path / "new.yaml"
    report.write_text("kick: 8,0\n", "utf-8")
    shown = run(FILES["b"], "--new-map", new, "--from", report, typed="y\nkick\nm/s2\n" + "-\n" * 30)
    assert shown.exit_code == 0, shown.output
    assert "8,0: is that comma a decimal comma?" in shown.output
    assert "start_wait decides when the propeller turns" in shown.output
    assert load_mapping(new).decimal_comma


def test_a_wrong_answer_is_asked_again(tmp_path: Path, report: Path) -> None:
    typed = "no_such_name\ntakeoff_kick\ndeg\nm/s2\n" + "-\n" * 30
    new = tmp_path / "new.yaml"
    shown = run(FILES["b"], "--new-map", new, "--from", report, typed=typed)
    assert "no_such_name: is not in the report" in shown.output
    assert "deg: is not an acceleration" in shown.output


def test_nobody_there_to_answer(tmp_path: Path) -> None:
    new = tmp_path / "new.yaml"
    assert "nobody gives them here" in refused("--new-map", new, typed="")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_kept_unless_told(tmp_path: Path) -> None:
    new = tmp_path / "new.yaml"
    new.write_text("mine", "utf-8")
    assert "is there already" in refused("--new-map", new, typed="n\n")
    assert "nobody gives them here" in refused("--new-map", new, typed="")
    assert new.read_text("utf-8") == "mine"
    assert run("--new-map", new, typed="y\nkick\nm/s2\n" + "-\n" * 30).exit_code == 0
    assert [tie.name for tie in load_mapping(new).ties] == ["kick"]
    assert [path.name for path in tmp_path.iterdir()] == ["new.yaml"]


def test_nothing_is_left_if_it_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", broken)
    said = refused("--new-map", tmp_path / "new.yaml", typed="kick\nm/s2\n" + "-\n" * 30)
    assert "No space left" in said
    assert list(tmp_path.iterdir()) == []


def test_names_with_odd_letters_stay_what_they_are(tmp_path: Path) -> None:
    new = tmp_path / "new.yaml"
    name = 'kick: "hard" # é'
    assert run("--new-map", new, typed=f"{name}\nm/s2\n" + "-\n" * 30).exit_code == 0
    assert [tie.name for tie in load_mapping(new).ties] == [name]


def test_what_is_offered(tmp_path: Path, report: Path) -> None:
    values = read_report(report).values
    setup = setup_of("b")
    for key, name, unit in (
        ("start_wait", "motor_delay", "ms"),
        ("throttle_rise", "full_power_after", "s to full"),
        ("jerk_level", "takeoff_kick", "m/s2"),
        ("climb_pitch", "nose_up", "deg"),
    ):
        offer = propose(setting_keys()[key], values, (), setup)
        assert offer is not None
        assert (offer.name, offer.unit, offer.agrees) == (name, unit, True)
    assert propose(setting_keys()["start_wait"], values, ("motor_delay",), None) is None
    assert alike("start_wait", "Start-Wait") == 100.0
    assert fitting_unit(setting_keys()["start_wait"], "0,60", setup) == "s"
    assert fitting_unit(setting_keys()["start_wait"], "soon", setup) is None

"""The questions behind a new mapping, all at once, and the mapping that the answers make."""

from __future__ import annotations

from pathlib import Path

import pytest

from overarm.errors import InputError
from overarm.readback.compare import compare_settings
from overarm.readback.mapping import load_mapping
from overarm.readback.offer import confirmed, offers
from overarm.readback.report import read_report
from tests.examples import FILES, setup_of
from tests.reported import WORDS, mapping_text, report_of, text_of
from tests.workbench import running


@pytest.fixture
def report(tmp_path: Path) -> Path:
    (tmp_path / "map.yaml").write_text(mapping_text())
    values = report_of(setup_of("b"), tmp_path / "map.yaml") | {"serial": "17"}
    (tmp_path / "report.txt").write_text(text_of(values))
    return tmp_path / "report.txt"


def test_names_that_agree_are_offered_with_their_unit(report: Path) -> None:
    said = offers(setup_of("b"), report)
    rows = {row["key"]: row for row in said["rows"]}
    assert (rows["start_wait"]["name"], rows["start_wait"]["unit"]) == ("motor_delay", "ms")
    assert rows["start_wait"]["agrees"]
    assert rows["start_wait"]["decides_start"]
    assert rows["start_wait"]["sheet"] == "0.6 s"
    assert rows["throttle_rise"]["unit"] == "s to full"
    assert rows["after_task"]["choices"] == ["carry on", "come home and circle"]
    assert "serial" in [item["name"] for item in said["names"]]
    names = [row["name"] for row in said["rows"] if row["name"]]
    assert len(names) == len(set(names))


def test_confirmed_names_are_a_mapping_that_compares(report: Path, tmp_path: Path) -> None:
    lines = [
        {"name": "motor_delay", "key": "start_wait", "unit": "ms", "words": {}},
        {"name": "then_do", "key": "after_task", "unit": "", "words": WORDS["after_task"]},
    ]
    text = confirmed(lines, ["serial"], "M\u00f6we", decimal_comma=False)
    (tmp_path / "new.yaml").write_text(text, "utf-8")
    mapping = load_mapping(tmp_path / "new.yaml")
    settled = compare_settings(setup_of("b"), mapping, read_report(report))
    assert {item.kind for item in settled.items if item.key == "start_wait"} == {"same"}
    assert settled.ignored == 1


def test_what_no_key_takes_is_told_together() -> None:
    lines = [
        {"name": "a", "key": "start_wate", "unit": "ms", "words": {}},
        {"name": "b", "key": "jerk_level", "unit": "s", "words": {}},
    ]
    with pytest.raises(InputError) as told:
        confirmed(lines, [], "", decimal_comma=False)
    assert [problem.key for problem in told.value.problems] == ["a", "b"]


def test_the_workbench_asks_and_writes(report: Path) -> None:
    server = running()
    setup = {"text": FILES["b"].read_text("utf-8")}
    upload = server.upload("report.txt", report.read_bytes())
    said = server.post("/api/field/draft", {"setup": setup, "report": upload}).json()
    lines = [
        {"name": row["name"], "key": row["key"], "unit": row["unit"]} for row in said["rows"] if row["agrees"]
    ]
    made = server.post("/api/field/mapping", {"lines": lines, "ignored": ["serial"]})
    assert "motor_delay" in made.json()["text"]
    form = {"setup": setup, "report": upload, "mapping": made.json()["text"], "launches": 200}
    answer = server.answer("/api/field/readback", form)
    assert {item["kind"] for item in answer["settings"]["items"]} <= {"same", "not tied"}
    bad = [{"name": "b", "key": "jerk_level", "unit": "s"}]
    assert server.post("/api/field/mapping", {"lines": bad}).status_code == 422

"""A read-back that concerns hands: what puts one at risk is said, and what was not compared is not equal."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from overarm import cli
from overarm.readback.consequence import fly_sheet
from tests.examples import FILES, setup_of

LAUNCHES = 2_000


def test_a_level_that_the_draw_back_passes_is_no_small_matter() -> None:
    """B at level 3: the cue fires before the throw in many launches; the odds hardly move."""
    sheet = fly_sheet(setup_of("b"), LAUNCHES, 1)
    low = sheet.with_changes({"settings.jerk_level": "3 m/s2"})
    assert low.hands_after > low.hands_before == sheet.hands
    assert "a hand is at risk in" in low.words
    assert "no clear difference" not in low.words
    assert "hand and disc, as flown" in low.new_stops
    high = sheet.with_changes({"settings.jerk_level": "10 m/s2"})
    assert high.hands_after <= high.hands_before
    assert "hand is at risk" not in high.words


@pytest.mark.parametrize("tied", ["climb_pitch", "start_wait"])
def test_what_decides_when_the_propeller_turns_must_be_compared(tied: str, tmp_path: Path) -> None:
    sheet = {"climb_pitch": "15 deg", "start_wait": "0.6 s"}[tied]
    value, unit = sheet.split()
    (tmp_path / "map.yaml").write_text(
        f"overarm_map: 1\nsettings:\n  mine: {{key: {tied}, unit: {unit}}}\n", "utf-8"
    )
    (tmp_path / "report.txt").write_text(f"mine = {value}\n", "utf-8")
    words = ["readback", FILES["b"], tmp_path / "report.txt", "--map", tmp_path / "map.yaml", "--json"]
    shown = CliRunner().invoke(cli.app, [str(word) for word in words])
    assert shown.exit_code == 3, shown.output
    answer = json.loads(shown.output)
    assert answer["equal"] is False
    stops = {item["name"] for item in answer["findings"] if item["word"] == "stop"}
    assert stops == {"jerk_level", "jerk_dwell", "start_wait", "throttle_rise"} - {tied}

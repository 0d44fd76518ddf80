"""A launch sheet of an aeroplane that does not come home says so on its first page and ends with 3."""

from __future__ import annotations

import json
import signal
import subprocess
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from overarm.cli import app
from overarm.odds.intervals import Interval
from overarm.plan import run as plan_run
from overarm.plan.run import Progress
from overarm.sheets import write
from overarm.sheets.content import Answer, Odds, Remark, Trail, headline_word
from tests.examples import FILES


@pytest.fixture(scope="module")
def windy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """B in 11 m/s at 10 m: at 40 m that is faster than it flies, 1.3 times the stall speed of 7.8 m/s."""
    file = tmp_path_factory.mktemp("windy") / "windy.yaml"
    text = FILES["b"].read_text("utf-8")
    assert text.count("wind: 4 m/s") == 1
    file.write_text(text.replace("wind: 4 m/s", "wind: 11 m/s"), "utf-8")
    return file


def test_no_way_home_is_a_stop_on_the_first_page(windy: Path, tmp_path: Path) -> None:
    words = ["sheet", str(windy), "--launches", "500", "--out", str(tmp_path), "--json"]
    ended = CliRunner().invoke(app, words)
    assert ended.exit_code == 3, ended.output
    assert "does not come home" in json.loads(ended.stdout)["no_way_home"]
    pdf = next(tmp_path.glob("*.pdf"))
    first = subprocess.run(
        ["pdftotext", "-l", "1", "-layout", str(pdf), "-"], capture_output=True, check=True, text=True
    ).stdout
    words = " ".join(first.split())
    assert "There is no way home to plan" in words
    assert "does not come home" in words
    assert "Stop" in words
    page = next(tmp_path.glob("*.html")).read_text("utf-8")
    assert "There is no way home to plan" in page


def test_a_lost_way_home_stands_before_every_other_stop() -> None:
    """What does not fit on the page goes from the end."""
    odds = Odds(Interval(0.99, 0.98, 1.0), 3, 40, ())
    others = [Remark("stop", f"stop {k}") for k in range(9)]
    answer = Answer(odds, Trail("0.1.0", "ab", 1, 1_000, "1 May 2030"), others)
    assert headline_word(odds.clean, ()) != "stop"
    told = write._with_stops(answer, None, "level flight is not held")
    assert told.remarks[0] == Remark("stop", "There is no way home to plan: level flight is not held.")
    assert told.remarks[1:] == others
    alone = write._with_stops(answer._replace(remarks=[]), None, "level flight is not held")
    assert headline_word(odds.clean, alone.remarks) == "stop"


def pulled_in_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    def plan(*_: Any, progress: Any, **__: Any) -> None:
        signal.raise_signal(signal.SIGINT)
        progress(Progress(1, 10, "the fan"))

    monkeypatch.setattr(plan_run, "plan", plan)


def pulled_in_the_drawing(monkeypatch: pytest.MonkeyPatch) -> None:
    def make_sheet(_content: Any, _data: Any, progress: Any, _plan: Any) -> write.Sheet:
        signal.raise_signal(signal.SIGINT)
        progress("done", 1.0)
        return write.Sheet(b"", "")

    monkeypatch.setattr(plan_run, "plan", lambda *_, **__: None)
    monkeypatch.setattr(write, "sheet_data", lambda *_: (None, {}))
    monkeypatch.setattr(write, "make_sheet", make_sheet)


@pytest.mark.parametrize("pull", [pulled_in_the_plan, pulled_in_the_drawing])
def test_ctrl_c_ends_with_130_and_writes_nothing(
    pull: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pull(monkeypatch)
    before = signal.getsignal(signal.SIGINT)
    ended = CliRunner().invoke(app, ["sheet", str(FILES["b"]), "--launches", "100", "--out", str(tmp_path)])
    assert ended.exit_code == 130, ended.output
    assert ended.stderr.count("cancelled") == 1
    assert ended.stdout == ""
    assert list(tmp_path.iterdir()) == []
    assert signal.getsignal(signal.SIGINT) == before

"""Ladder and map: what they show, in both widths, and that nothing is written off the paper."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from overarm import cli
from overarm.sheets.canvas import Picture, Size
from overarm.sheets.ladder import draw_ladder, ladder_data, level_words
from overarm.sheets.level_dwell import EMPTY, draw_level_dwell, map_data, milder, stricter
from overarm.sheets.trigger_picture import PHONE, WIDE, draw_trigger, picture_bytes
from overarm.trigger.result import TriggerResult
from overarm.trigger.run import run_trigger
from overarm.trigger.settings import listening_of, usual
from tests.examples import FILES, setup_of
from tests.recorded import shaken, thrown, walked

SVG = "{http://www.w3.org/2000/svg}"


@cache
def full() -> TriggerResult:
    recordings: Any = [
        (walked(60.0), "carry"),
        (walked(20.0, 14.0), "other"),
        (shaken(), "shake"),
        (thrown(), "throw"),
    ]
    return run_trigger(recordings, listening_of(setup_of("b")))


@cache
def silent() -> TriggerResult:
    return run_trigger([(walked(rate_hz=10.0), "carry")], usual())


def texts(picture: Picture) -> list[str]:
    return ["".join(node.itertext()) for node in ET.fromstring(picture.svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["wide", "phone"])
def test_every_rung_and_the_level_are_named(size: Size) -> None:
    picture = draw_trigger(full(), size)
    said = " ".join(texts(picture))
    names = (
        ("board", "other", "shake", "throw") if size.narrow else ("nose-up", "carried", "running,", "wind-up")
    )
    for words in (*names, "level 8", "advised", "set", "recorded", "missed", "neither seen", "dwell, s"):
        assert words in said, words
    assert "false starts an hour" in said
    assert "The level is 8 m/s2" in picture.words
    assert "your throw: 4" in picture.words
    assert "Set: level 8 m/s2 for 0.1 s" in picture.words


@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["wide", "phone"])
def test_nothing_is_written_off_the_paper(size: Size) -> None:
    """Each text that is not turned lies within the picture, as wide as the house font sets it."""
    root = ET.fromstring(draw_trigger(full(), size).svg)
    width, height = (float(x) for x in root.attrib["viewBox"].split()[2:])
    seen = 0
    for node in root.iter(f"{SVG}text"):
        style, turn = node.attrib.get("style", ""), node.attrib.get("transform", "")
        if "rotate(-90" in turn:
            continue
        moved = re.search(r"translate\(([-\d.]+) ([-\d.]+)\)", turn)
        x, y = (float(v) for v in (moved.groups() if moved else (node.attrib["x"], node.attrib["y"])))
        font, words = re.search(r"([\d.]+)px", style), "".join(node.itertext())
        assert font is not None
        wide = 0.47 * float(font[1]) * len(words)  # mean width of a letter of the house font, measured
        anchor = re.search(r"text-anchor: (\w+)", style)
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor[1] if anchor else "start"] * wide
        assert left >= -1.0, words
        assert left + wide <= width + 1.0, words
        assert 0.0 < y < height
        seen += 1
    assert seen > 20


def test_without_anything_that_can_tell_the_map_says_so() -> None:
    for size in (WIDE, PHONE):
        assert EMPTY in draw_trigger(silent(), size).words
    alone = draw_level_dwell(map_data(silent(), 20.0), Size(90.0, 70.0))
    assert EMPTY in alone.words
    assert level_words(silent()) == "false starts not known; missed not known"
    assert "not known" in " ".join(texts(draw_ladder(ladder_data(silent()), Size(100.0, 70.0))))


def test_ladder_and_map_stand_alone() -> None:
    data = ladder_data(full())
    for size in (Size(110.0, 80.0), Size(70.0, 90.0, narrow=True)):
        assert "level 8" in " ".join(texts(draw_ladder(data, size)))
        assert "dwell, s" in " ".join(texts(draw_level_dwell(map_data(full(), data.top_mps2), size)))


def test_the_drawn_grids_never_rise_where_the_setting_is_stricter() -> None:
    grid = np.array([[9.0, 1.0, 4.0], [2.0, 5.0, 0.0], [3.0, 0.0, 0.0]])
    mild, strict = milder(grid), stricter(grid)
    assert (mild >= grid).all()
    assert (np.diff(mild, axis=0) <= 0.0).all()
    assert (np.diff(mild, axis=1) <= 0.0).all()
    assert ((mild > 0.0) == (np.maximum.accumulate(grid[::-1], axis=0)[::-1] > 0.0)).all()
    assert (np.diff(strict, axis=0) >= 0.0).all()
    assert (np.diff(strict, axis=1) >= 0.0).all()


def test_files_are_what_their_ending_says() -> None:
    svg = picture_bytes(full(), ".svg", narrow=False)
    assert ET.fromstring(svg.decode()).tag.endswith("svg")
    assert b'fill="#fbf8f1"' in svg
    png = picture_bytes(full(), ".png", narrow=True)
    assert png.startswith(b"\x89PNG\r\n")
    assert picture_bytes(full(), ".svg", narrow=False) == svg


def csv_of(path: Path, recording: Any, head: str = "") -> Path:
    names = ("force_x_mps2", "force_y_mps2", "force_z_mps2", "pitch_rad")
    columns = [recording.channels[names[0]].t_s, *(recording.channels[name].values for name in names)]
    rows = "\n".join(",".join(f"{x:.4f}" for x in row) for row in zip(*columns, strict=True))
    path.write_text(f"{head}time_s,{','.join(names)}\n{rows}\n", "utf-8")
    return path


def run(*words: str) -> Any:
    return CliRunner().invoke(cli.app, ["trigger", *words])


def test_the_command(tmp_path: Path) -> None:
    carry = csv_of(tmp_path / "carry.csv", walked(40.0))
    throws = csv_of(tmp_path / "day2.csv", thrown(3), "# label: throw\n")
    picture = tmp_path / "ladder.svg"
    shown = run(str(carry), str(throws), "--setup", str(FILES["b"]), "--picture", str(picture), "--phone")
    assert shown.exit_code == 0, shown.output
    assert "throw, as it says itself" in " ".join(shown.output.split())
    assert picture.read_bytes().startswith(b"<svg")
    fired = run(f"{throws}=carry", "--json")
    assert fired.exit_code == 3
    assert '"stop": true' in fired.output
    tried = run(str(carry), str(throws), "--setup", str(FILES["b"]), "--set", "settings.jerk_level=50 m/s2")
    assert tried.exit_code == 3
    assert "3 of 3 throws did not start it" in " ".join(tried.output.split())


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["carry.csv", "--label", "walk"], "is no label"),
        (["carry.csv", "--set", "settings.jerks=2"], "Add --setup FILE"),
        (["carry.csv", "--picture", "x.gif"], "no kind of picture"),
        (["gone.csv"], "gone.csv"),
    ],
)
def test_bad_input_is_named(
    words: list[str], what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    csv_of(tmp_path / "carry.csv", walked(5.0))
    shown = run(*words)
    assert shown.exit_code != 0
    assert what in str(shown.exception)

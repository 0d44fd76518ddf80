"""`overarm review` from end to end: exit codes, JSON, report, the chain to learning and logbook, refusals."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from overarm import cli
from overarm.cli import app
from tests.examples import FILES
from tests.reviewed import CLEAN, GROUNDED, csv_of

FEW = ["--launches", "50"]


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    found = {}
    for name, known in (("clean", CLEAN), ("grounded", GROUNDED)):
        (tmp_path / f"{name}.csv").write_bytes(csv_of(known))
        found[name] = str(tmp_path / f"{name}.csv")
    return found


def shown(*words: str) -> Any:
    return CliRunner().invoke(app, ["review", *words])


def refused(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["overarm", "review", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(ended.value.code or 0)


def test_a_clean_launch_is_answered_with_0(files: dict[str, str], project: Path) -> None:
    done = shown(files["clean"], "--setup", str(FILES["b"]), *FEW, "--json")
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout, parse_constant=pytest.fail)
    jsonschema.validate(data, json.loads((project / "docs/reference/review.schema.json").read_text("utf-8")))
    assert [item["outcome"] for item in data["launches"]] == ["clean"]


def test_a_stop_is_answered_with_3_and_written(files: dict[str, str], tmp_path: Path) -> None:
    out = tmp_path / "report"
    change = "settings.throttle_rise=150 %/s"
    words = (files["grounded"], "--setup", str(FILES["e"]), *FEW, "--out", str(out), "--set", change)
    done = shown(*words)
    assert done.exit_code == 3, done.output
    assert "grounded" in done.stdout
    assert "With throttle rise 150 %/s" in done.stdout
    page, print_ = out / "grounded-review.html", out / "grounded-review.pdf"
    assert str(page) in done.stdout
    assert print_.read_bytes().startswith(b"%PDF-")
    text = page.read_text("utf-8")
    assert text.index('class="outcome"') < text.index('id="strip-1-') < text.index('id="changes-1-')
    assert "://" not in text.replace("http://www.w3.org/", "")
    assert "safe" not in text.lower().replace("unsafe-inline", "")


def test_review_learn_logbook(files: dict[str, str], tmp_path: Path) -> None:
    """The chain: what review prints is what learn and the logbook take; the logbook reviews by itself too."""
    setup, book = str(FILES["b"]), ["--book", str(tmp_path / "book.sqlite"), "--files", str(tmp_path / "f")]
    answer = tmp_path / "review.json"
    answer.write_text(shown(files["clean"], "--setup", setup, *FEW, "--json").stdout, "utf-8")
    learned = CliRunner().invoke(app, ["learn", setup, str(answer)])
    assert learned.exit_code == 0, learned.output
    assert "Throw speed:" in learned.stdout
    run = ["logbook", "add", files["clean"], "--setup", setup, *book, "--json"]
    kept = CliRunner().invoke(app, [*run, "--review", str(answer)])
    assert kept.exit_code == 0, kept.output
    new = json.loads(kept.stdout)["added"]["new"]
    assert (new["launches"], new["predictions"], new["recordings"]) == (1, 1, 1)
    assert new["evidence"] >= 5
    other = CliRunner().invoke(app, ["logbook", "add", files["grounded"], "--setup", str(FILES["e"]), *book])
    assert other.exit_code == 0, other.output
    listed = json.loads(CliRunner().invoke(app, ["logbook", "list", *book, "--json"]).stdout)
    assert {row["outcome"] for row in listed["rows"]} == {"clean", "grounded"}


def test_it_works_without_a_setup(files: dict[str, str]) -> None:
    done = shown(files["clean"])
    assert done.exit_code == 0, done.output
    assert "no setup: limits and odds are not known" in done.stdout


def hummed(path: Path, rpm: float, blades: int, seconds: float = 3.0, rate_hz: int = 22_050) -> None:
    """Write the sound of a propeller: harmonics of the blade pass, and noise."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    first = rpm / 60.0 * blades
    wave = sum(np.sin(2.0 * np.pi * first * k * t) / k for k in (1, 2, 3, 4))
    noise = np.random.default_rng(1).normal(0.0, 0.05, t.size)
    soundfile.write(path, 0.2 * (wave + noise), rate_hz)


def test_a_sound_alone_and_beside_a_recording(files: dict[str, str], tmp_path: Path) -> None:
    sound = tmp_path / "run.wav"
    hummed(sound, 6000.0, 2)
    alone = shown("--sound", str(sound), "--blades", "2", "--json")
    assert alone.exit_code == 0, alone.output
    heard = json.loads(alone.stdout)
    assert heard["runs"][0]["top_rpm"] == pytest.approx(6000.0, rel=0.01)
    both = shown(files["clean"], "--sound", str(sound), "--json")
    assert json.loads(both.stdout)["sound"]["sha256"] == heard["sha256"]


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["nowhere.csv"],
        ["CLEAN", "--launches", "3"],
        ["CLEAN", "--set", "settings.start_wait=1 s"],
        ["CLEAN", "--set", "nonsense", "--setup", "B"],
        ["CLEAN", "--set", "settings.start_wait=-1 s", "--setup", "B"],
        ["CLEAN", "--launch", "7"],
        ["CLEAN", "--setup", "nowhere.yaml"],
        ["CLEAN", "--out", "CLEAN"],
        ["CLEAN", "--sound", "CLEAN"],
        ["--out", "x", "--sound", "nowhere.wav"],
        ["--new-map", "x.yaml"],
    ],
    ids=lambda words: " ".join(words) or "nothing",
)
def test_bad_input_is_told_with_2(
    files: dict[str, str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    put = {"CLEAN": files["clean"], "B": str(FILES["b"])}
    assert refused(monkeypatch, *(put.get(word, word) for word in words)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    assert len(said.err.strip()) > 20


def test_ctrl_c_ends_it(
    files: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from overarm.cli.brake import Brake

    monkeypatch.setattr(
        Brake, "pulled", property(lambda _self: True, lambda _self, _value: None), raising=False
    )
    assert refused(monkeypatch, files["clean"], "--setup", str(FILES["b"])) == 130
    assert "cancelled" in capsys.readouterr().err

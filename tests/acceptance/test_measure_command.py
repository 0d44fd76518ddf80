"""`overarm measure`: its JSON, its pictures, its refusals, and Ctrl-C."""

from __future__ import annotations

import contextlib
import json
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

from overarm import cli
from overarm.cli import app
from overarm.cli.brake import Brake
from overarm.odds import measure as measure_room
from tests.examples import FILES

FEW = ["--launches", "10000"]


@pytest.fixture(scope="module")
def schema(project: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((project / "docs/reference/measure.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


def run_main(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """Run the command line as a shell does; return its exit code."""
    monkeypatch.setattr(sys, "argv", ["overarm", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(ended.value.code or 0)


def nothing_flies(*_given: object, **_options: object) -> None:
    pytest.fail("something was flown")


@pytest.mark.parametrize("letter", ["a", "e"])
def test_the_json_fits_the_schema(schema: dict[str, Any], letter: str, tmp_path: Path) -> None:
    picture = tmp_path / "tornado.svg"
    launches = "10000" if letter == "a" else "30000"
    words = ["measure", str(FILES[letter]), "--launches", launches, "--json", "--picture", str(picture)]
    shown = CliRunner().invoke(app, words)
    assert shown.exit_code == 0, shown.output
    said = json.loads(shown.stdout, parse_constant=pytest.fail)
    jsonschema.validate(said, schema)
    assert bool(said["reason"]) == (letter == "a")
    assert (letter == "e") == any(work["clear"] for work in said["works"])
    text = picture.read_text("utf-8")
    assert text.startswith("<svg")
    assert ("Nothing" in text or "nothing" in text) if not said["tornado"] else "one sd above" in text


def test_the_page_names_every_field(schema: dict[str, Any], project: Path) -> None:
    page = (project / "docs/reference/measure-json.md").read_text("utf-8")
    for name in schema["properties"]:
        assert f"`{name}`" in page, name


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--launches", "9"], "launches: is outside what tells anything (got 9)"),
        (["--launches", "3000000"], "Give a number from 10,000 to 2,000,000"),
        (["--seed", str(2**63)], "seed: is no seed"),
        (["--picture", "tornado.gif"], "is no kind of picture that can be drawn (got tornado.gif)"),
        (["--picture", "tornado"], "End it with .svg or .png"),
        (["--picture", "no/such/folder/t.svg"], "Choose a folder that is there"),
        (["--picture", "folder.svg"], "is a folder"),
    ],
)
def test_refused_before_anything_flies(
    words: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.svg").mkdir()
    monkeypatch.setattr(measure_room, "fly_worlds", nothing_flies)
    assert run_main(monkeypatch, "measure", str(FILES["e"]), *words) == 2
    assert said in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["folder.svg"]


def test_a_folder_that_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file where the folder should be; that stops the administrator too."""
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(measure_room, "fly_worlds", nothing_flies)
    assert run_main(monkeypatch, "measure", str(FILES["e"]), "--picture", str(tmp_path / "file/t.png")) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_setup_that_is_not_there(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_main(monkeypatch, "measure", "nothing.yaml") == 2
    assert "nothing.yaml" in capsys.readouterr().err


def test_ctrl_c_leaves_nothing_half_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It comes while launches fly: exit code 130, no answer, no picture, the old one as it was."""
    heard: list[float] = []

    @contextlib.contextmanager
    def impatient(brake: Brake) -> Iterator[Any]:
        def tell(_what: str, share: float) -> None:
            brake.flying = True
            heard.append(share)
            if len(heard) == 3:
                signal.raise_signal(signal.SIGINT)

        yield tell

    monkeypatch.setattr(sys.modules["overarm.cli.measure"], "share_bar", impatient)
    old = tmp_path / "old.svg"
    old.write_text("as it was")
    assert run_main(monkeypatch, "measure", str(FILES["e"]), *FEW, "--picture", str(old)) == 130
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "cancelled" in shown.err
    assert old.read_text() == "as it was"
    assert [path.name for path in tmp_path.iterdir()] == ["old.svg"]
    assert len(heard) == 3
    assert 0.0 < heard[0] < heard[1] < heard[2] < 1.0


def test_the_page_and_a_picture(tmp_path: Path) -> None:
    picture = tmp_path / "t.png"
    words = ["measure", str(FILES["e"]), *FEW, "--seed", "3", "--picture", str(picture), "--phone"]
    shown = CliRunner().invoke(app, words)
    assert shown.exit_code == 0, shown.output
    assert "Tornado" in shown.output
    assert shown.output.strip().endswith("t.png")
    assert picture.read_bytes().startswith(b"\x89PNG")

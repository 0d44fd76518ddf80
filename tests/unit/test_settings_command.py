"""`overarm settings`: exit codes, refusals, cancelling. That it answers and writes: test_settings_json.py."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest
from typer.testing import CliRunner

import overarm
from overarm.cli import app
from overarm.cli.settings import _written
from overarm.describe.change import changed
from overarm.settings.search import Effort
from tests.examples import FILES

if TYPE_CHECKING:
    from overarm.settings.result import SettingsResult

TINY = Effort(launches=100, generations=1, population=4, fine_launches=150)


@pytest.fixture(autouse=True, scope="module")
def short() -> Iterator[None]:
    """A search of seconds instead of a minute."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("overarm.settings.find.Effort", lambda: TINY)
        patch.setattr("overarm.settings.proof.PROOF_LAUNCHES", 2_000)
        yield


@pytest.fixture
def sparrow(tmp_path: Path) -> Path:
    file = tmp_path / "wing.yaml"
    file.write_bytes(FILES["a"].read_bytes())
    return file


def run(*words: str) -> tuple[int, str, str]:
    ended = CliRunner().invoke(app, ["settings", *words])
    error = str(ended.exception) if ended.exception is not None else ""
    return ended.exit_code, ended.stdout, error


def test_a_refusal_ends_with_3_and_writes_nothing(sparrow: Path) -> None:
    text = sparrow.read_text("utf-8")
    assert text.count("release_speed: 9.6 m/s") == 1
    sparrow.write_text(text.replace("release_speed: 9.6 m/s", "release_speed: 5 m/s"), "utf-8")
    target = sparrow.with_name("new.yaml")
    code, out, _ = run(str(sparrow), "--launches", "5000", "--write", str(target))
    assert code == 3
    assert "Refused, because:" in out
    assert "is not written" in out
    assert not target.exists()


@pytest.mark.parametrize(
    ("name", "said"),
    [("wing.yaml", "is there already"), ("../new.yaml", "another folder"), ("new.txt", "no name of a setup")],
)
def test_a_bad_target_is_refused_before_anything_flies(
    sparrow: Path, name: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fly(*_words: object, **_more: object) -> None:
        raise AssertionError("it flew")

    monkeypatch.setattr("overarm.settings.find.find_settings", fly)
    code, _, error = run(str(sparrow), "--write", str(sparrow.parent / name))
    assert code == 1  # main() turns InputError into 2
    assert said in error
    assert [path.name for path in sparrow.parent.iterdir()] == ["wing.yaml"]


def test_bad_input_is_refused(tmp_path: Path) -> None:
    code, _, error = run(str(tmp_path / "none.yaml"))
    assert code == 1
    assert "none.yaml" in error
    assert run(str(FILES["a"]), "--launches", "10")[0] == 2


def test_cancelling_ends_with_130_and_writes_nothing(sparrow: Path, tmp_path: Path) -> None:
    begun, target = tmp_path / "begun", sparrow.with_name("new.yaml")
    code = f"""
from pathlib import Path
from overarm.cli import main
from overarm.settings.desk import Desk
first = Desk.try_all
def fly(*words):
    Path({str(begun)!r}).touch()
    return first(*words)
Desk.try_all = fly
main()
"""
    words = [sys.executable, "-c", code, "settings", str(sparrow), "--write", str(target)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        late = time.monotonic() + 120.0
        while not begun.exists() and running.poll() is None and time.monotonic() < late:
            time.sleep(0.05)
        assert begun.exists()
        running.send_signal(signal.SIGINT)
        out, error = running.communicate(timeout=60)
    assert running.returncode == 130
    assert out == b""
    assert error.count(b"cancelled") == 1
    assert not target.exists()


def test_bad_input_ends_with_2_and_says_what_would_be_right(sparrow: Path) -> None:
    words = [sys.executable, "-c", "from overarm.cli import main; main()", "settings"]
    for more, said in (
        (["none.yaml"], "none.yaml"),
        ([str(sparrow), "--write", str(sparrow)], "another name"),
    ):
        ended = subprocess.run([*words, *more], capture_output=True, text=True, timeout=60, check=False)
        assert ended.returncode == 2
        assert said in ended.stderr
        assert ended.stdout == ""


@pytest.mark.parametrize("kept", ["0.60 s +- 0.1 s", "600 ms", "0.65 s +- 0.1 s measured"])
def test_the_new_file_has_the_hash_of_the_answer(sparrow: Path, kept: str) -> None:
    """A value that stays, but with a spread of its own, is written anew: what is advised has none."""
    text = sparrow.read_text("utf-8")
    line = next(item for item in text.splitlines() if item.strip().startswith("start_wait:"))
    sparrow.write_text(text.replace(line, f"  start_wait: {kept}   # timed"), "utf-8")
    card = overarm.load(sparrow)
    advised = {"settings.start_wait": "0.6 s", "settings.jerk_level": "9 m/s2"}
    result = cast("SettingsResult", SimpleNamespace(refused=(), changes=advised))
    target = sparrow.with_name("new.yaml")
    assert _written(sparrow, target, card, result) == str(target)
    assert overarm.load(target).hash() == changed(card, advised).hash()
    assert "# timed" in target.read_text("utf-8")
    assert (kept in target.read_text("utf-8")) == (kept == "600 ms")

"""The command line: exit codes, the version, and a self-check that can say stop."""

from __future__ import annotations

import math
import re
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import overarm
from overarm import air, cli
from overarm.errors import InputError

COMMANDS = (
    "new", "check", "odds", "rare", "settings", "traps", "trigger", "plan", "fleet", "measure", "sheet",
    "pack", "demo", "readback", "review", "learn", "logbook", "app", "selfcheck",
)  # fmt: skip


def ended_with(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """Run the command line in this process and return its exit code."""
    monkeypatch.setattr(sys, "argv", ["overarm", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(ended.value.code or 0)


def test_version(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert ended_with(monkeypatch, "--version") == 0
    assert capsys.readouterr().out == f"overarm {overarm.__version__}\n"


def test_help_names_every_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended_with(monkeypatch, "--help") == 0
    shown = capsys.readouterr().out
    assert re.findall(r"^  ([a-z]+)  ", shown, re.MULTILINE) == list(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_says_what_it_does(command: str) -> None:
    shown = CliRunner().invoke(cli.app, [command, "--help"])
    assert shown.exit_code == 0
    assert len(shown.output.splitlines()) > 3


def test_each_command_is_told_on_one_line_of_the_help() -> None:
    shown = CliRunner().invoke(cli.app, ["--help"], terminal_width=80).output
    lines = shown.split("Commands:\n")[1].split("\n\n")[0].splitlines()
    assert len(lines) == len(cli.app.registered_commands) + len(cli.app.registered_groups)
    assert all(line.endswith(".") and not line.endswith("...") for line in lines), shown


def test_the_page_of_commands_names_each(project: Path) -> None:
    page = (project / "docs/reference/commands.md").read_text("utf-8")
    assert re.findall(r"^\| `overarm ([a-z]+)", page, re.MULTILINE) == list(COMMANDS)


@pytest.mark.parametrize("words", [["nonsense"], ["odds", "--nonsense"], ["odds", "no-such-file.yaml"], []])
def test_bad_input_ends_with_2(words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    assert ended_with(monkeypatch, *words) == 2


def test_input_error_goes_to_the_error_channel(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> None:
        raise InputError("wing.yaml:3:9: mass is missing")

    monkeypatch.setattr(cli, "app", fail)
    assert ended_with(monkeypatch) == 2
    shown = capsys.readouterr()
    assert "wing.yaml:3:9" in shown.err
    assert shown.out == ""


def test_cancelling_ends_with_130(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "app", interrupt)
    assert ended_with(monkeypatch) == 130


def test_selfcheck_is_good() -> None:
    shown = CliRunner().invoke(cli.app, ["selfcheck"])
    assert shown.exit_code == 0, shown.output
    assert shown.output.splitlines()[-1] == "good"
    # A stone thrown at 12 m/s, 20 degrees, from 1.8 m: 2.6588 m high, on paper.
    assert re.search(r"greatest height \[m\]: 2\.65\d+, textbook 2\.6588", shown.output)


def test_selfcheck_stops_when_the_engine_disagrees(monkeypatch: pytest.MonkeyPatch) -> None:
    """With another gravity in the textbook, the flown throw must be found wrong."""
    monkeypatch.setattr(air, "GRAVITY_MPS2", 9.6)
    shown = CliRunner().invoke(cli.app, ["selfcheck"])
    assert shown.exit_code == 3
    assert "STOP" in shown.output
    assert math.isclose(air.GRAVITY_MPS2, 9.6)

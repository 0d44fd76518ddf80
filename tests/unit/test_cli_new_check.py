"""`overarm new` and `overarm check`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from overarm import cli
from overarm.cli.new import new
from overarm.describe import questions
from overarm.errors import InputError


def run(*words: str | Path, typed: str | None = None) -> Result:
    return CliRunner().invoke(cli.app, [str(word) for word in words], input=typed)


def refused(*words: str | Path) -> str:
    shown = run(*words)
    assert isinstance(shown.exception, InputError)
    return str(shown.exception)


def test_new_writes_a_setup_that_check_reads(tmp_path: Path) -> None:
    file = tmp_path / "wing.yaml"
    assert run("new", file, "--yes").exit_code == 0
    shown = run("check", file)
    assert shown.exit_code == 0
    assert "well formed" in shown.output
    assert "35 of 35 uncertain inputs are guessed" in shown.output


def test_new_asks_and_asks_again_after_a_wrong_answer(tmp_path: Path) -> None:
    file = tmp_path / "wing.yaml"
    shown = run("new", file, typed="spin-in-hand\nTern\nconventional\n640\n640 g measured\n" + "\n" * 30)
    assert shown.exit_code == 0
    assert "has no unit" in shown.output
    text = file.read_text("utf-8")
    assert 'name: "Tern"' in text
    assert "mass: 640 g measured" in text


def test_new_without_answers_ends_as_cancelled(tmp_path: Path) -> None:
    shown = run("new", tmp_path / "wing.yaml", typed="")
    assert isinstance(shown.exception, KeyboardInterrupt) or shown.exit_code == 130
    assert list(tmp_path.iterdir()) == []


def test_new_takes_answers_from_a_file(tmp_path: Path) -> None:
    answers = tmp_path / "answers.txt"
    answers.write_text("# mine\nstyle: line-launched\n\nmass: 2.8 kg measured\n", "utf-8")
    assert run("new", tmp_path / "d.yaml", "--answers", answers).exit_code == 0
    assert "style: line-launched" in (tmp_path / "d.yaml").read_text("utf-8")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"mass: 640\n", "mass: has no unit"),
        (b"wingspan: 2 m\n", "wingspan: is not a question"),
        (b"mass 640 g\n", "answers.txt:1:1: is not an answer"),
        (b"\xff\xfe", "cannot be read as text"),
        (b"#" * 200_000, "is too large"),
    ],
)
def test_new_refuses_wrong_answers(text: bytes, said: str, tmp_path: Path) -> None:
    answers = tmp_path / "answers.txt"
    answers.write_bytes(text)
    assert said in refused("new", tmp_path / "d.yaml", "--answers", answers)
    assert not (tmp_path / "d.yaml").exists()


def test_new_never_writes_over_a_file_unless_told_to(tmp_path: Path) -> None:
    file = tmp_path / "wing.yaml"
    file.write_text("mine", "utf-8")
    assert "is there already" in refused("new", file, "--yes")
    assert file.read_text("utf-8") == "mine"
    assert run("new", file, "--yes", "--force").exit_code == 0
    assert file.read_text("utf-8") != "mine"


def test_new_says_when_it_cannot_write(tmp_path: Path) -> None:
    assert "cannot be written" in refused("new", tmp_path / "no" / "wing.yaml", "--yes")


def test_a_file_that_appears_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It comes while the answers are asked for, after the command has looked."""
    file = tmp_path / "wing.yaml"
    plain = questions.answers_with

    def slowly(answers: dict[str, str]) -> dict[str, str]:
        file.write_text("mine", "utf-8")
        return plain(answers)

    monkeypatch.setattr(questions, "answers_with", slowly)
    assert "is there already" in refused("new", file, "--yes")
    assert [path.name for path in tmp_path.iterdir()] == ["wing.yaml"]
    assert file.read_text("utf-8") == "mine"


def test_check_of_the_example_that_only_looks_fine(examples: Path) -> None:
    shown = run("check", examples / "e-looks-fine.yaml")
    assert shown.exit_code == 3
    assert "STOP" in shown.output
    assert "stall speed        7.50 m/s" in shown.output


def test_check_in_json(examples: Path) -> None:
    shown = run("check", examples / "b-kestrel.yaml", "--json")
    said = json.loads(shown.output)
    assert said["good"] is True
    # Wing B of the example table: 7.81 m/s.
    assert said["derived"]["stall_speed_mps"] == pytest.approx(7.81, abs=0.02)
    assert "airframe.drag_zero" in said["unknown_inputs"]
    assert {item["word"] for item in said["findings"]} <= {"good", "watch", "stop", "not known"}


def test_check_in_json_of_a_bad_setup(tmp_path: Path) -> None:
    file = tmp_path / "bad.yaml"
    file.write_text("overarm: 1\nname: bad\nstyle: throw-started\nairframe: {mas: 640 g}\n", "utf-8")
    shown = run("check", file, "--json")
    assert shown.exit_code == 2
    said = json.loads(shown.output)
    assert said["good"] is False
    problem = next(item for item in said["problems"] if item["key"] == "airframe.mas")
    assert (problem["line"], problem["column"], problem["cure"]) == (4, 12, "Did you mean mass?")


def test_a_wrong_answer_in_a_file_is_told_with_its_line(tmp_path: Path) -> None:
    answers = tmp_path / "answers.txt"
    answers.write_text("name: Tern\nmass: 640\n", "utf-8")
    with pytest.raises(InputError, match=r"answers\.txt:2: mass: has no unit"):
        new(tmp_path / "wing.yaml", answers=answers)
    assert [path.name for path in tmp_path.iterdir()] == ["answers.txt"]


def test_answers_that_do_not_fit_together_write_nothing(tmp_path: Path) -> None:
    """A wing of 5 m with chords of 1.5 m has more area than any card takes."""
    answers = tmp_path / "answers.txt"
    answers.write_text("span: 5 m\nroot_chord: 1.5 m\ntip_chord: 1.5 m\n", "utf-8")
    with pytest.raises(InputError, match=r"wing\.yaml \(not written\).*airframe\.area"):
        new(tmp_path / "wing.yaml", answers=answers)
    assert [path.name for path in tmp_path.iterdir()] == ["answers.txt"]

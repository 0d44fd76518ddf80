"""Bad setups: each fault is told with file, line, column, key and cure; nothing else happens.

The first example is the base; each case changes it by hand. Lines and columns are counted in the
changed text by the test itself, from the words at which the message has to point.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

import overarm
from overarm import cli
from overarm.errors import InputError
from tests.changed import BASE, problems_of, replaced, spot, written

# (what is replaced, with what, where the message points, key, words in the message)
VALUES = [
    ("mass: 0.60 kg measured", "mass: 0.60 m", "0.60 m ", "airframe.mass", "is not a mass"),
    ("mass: 0.60 kg measured", "mass: 0.60", "0.60   ", "airframe.mass", "has no unit"),
    ("mass: 0.60 kg measured", "mass: .inf", ".inf", "airframe.mass", "not a finite number"),
    ("mass: 0.60 kg measured", "mass: .nan", ".nan", "airframe.mass", "not a finite number"),
    ("mass: 0.60 kg measured", "mass: inf kg", "inf kg", "airframe.mass", "not a number with a unit"),
    ("mass: 0.60 kg measured", "mass: nan kg", "nan kg", "airframe.mass", "not a number with a unit"),
    ("mass: 0.60 kg measured", "mass: 1e999 kg", "1e999 kg", "airframe.mass", "not a finite number"),
    ("mass: 0.60 kg measured", "mass: 1e30 kg", "1e30 kg", "airframe.mass", "is outside 0.05 kg to 10 kg"),
    ("mass: 0.60 kg measured", f"mass: {'9' * 400}", "9" * 400, "airframe.mass", "not a finite number"),
    ("mass: 0.60 kg measured", "mass: true", "true", "airframe.mass", "is true, not a mass"),
    ("mass: 0.60 kg measured", "mass:", "mass:      # all-up", "airframe.mass", "not a number with a unit"),
    ("mass: 0.60 kg measured", "mass: [1 kg]", "[1 kg]", "airframe.mass", "not a number with a unit"),
    ("mass: 0.60 kg measured", "mass: 0,6 kg", "0,6 kg", "airframe.mass", "has a comma"),
    ("mass: 0.60 kg measured", "mass: 0.6 kg sure", "0.6 kg sure", "airframe.mass", "'sure' behind its unit"),
    ("mass: 0.60 kg measured", "mass: 0.6 pund", "0.6 pund", "airframe.mass", "unknown unit"),
    ("mass: 0.60 kg measured", "mass: 6 kg**9**9**9", "6 kg**9", "airframe.mass", "unknown unit"),
    ("mass: 0.60 kg measured", "mass: 0.6 kg +- -1 %", "0.6 kg +-", "airframe.mass", "negative spread"),
    ("mass: 0.60 kg measured", "mass: 0.6 kg +- 1 m", "0.6 kg +-", "airframe.mass", "that is not a mass"),
    ("mass: 0.60 kg measured", "mass: 0.6 kg +- 900 %", "0.6 kg +-", "airframe.mass", "too large"),
    ("mass: 0.60 kg measured", "mass: {spread: 1 %}", "{spread", "airframe.mass", "has no value"),
    ("mass: 0.60 kg measured", "mass: {value: 1 kg, sd: 1}", "{value", "airframe.mass", "unknown part sd"),
    ("mass: 0.60 kg measured", f"mass: {'9 ' * 90_000}kg", "9 9 9" + " 9" * 89_997, "airframe.mass", "unit"),
    ("area: 0.210 m2 measured", "area: 0 m2", "0 m2", "airframe.area", "is outside 0.005 m2 to 3 m2"),
    ("roll_inertia: 0.020", "roll_inertia: -0.020", "-0.020", "airframe.roll_inertia", "is outside 1e-05"),
    ("tilt: 1.0 deg measured", "tilt: 12 %", "12 %", "airframe.board.tilt", "is not an angle"),
    ("cells: 3\n", "cells: true\n", "true", "power.cells", "is not a whole number"),
    ("cells: 3\n", "cells: 3S\n", "3S", "power.cells", "is not a whole number"),
    ("cells: 3\n", "cells: 0\n", "0\n  capacity", "power.cells", "is below 1"),
    ("position: pusher", "position: pushr", "pushr", "power.position", "none of pusher, tractor"),
    ("propeller: 6x4.5 in", "propeller: 6 in", "6 in", "power.propeller", "is not a propeller size"),
    ("propeller: 6x4.5 in", "propeller: 5x9 in", "5x9 in", "power.propeller", "did you swap them"),
    ("propeller: 6x4.5 in", "propeller: 600x4 in", "600x4", "power.propeller", "diameter outside"),
    ("moment_zero: 0.025", "moment_zero: .nan", ".nan", "airframe.coefficients.moment_zero", "finite"),
    ("moment_zero: 0.025", "moment_zero: lots", "lots", "airframe.coefficients.moment_zero", "not a number"),
    ("ground: meadow", "ground: [meadow]", "[meadow]", "site.ground", "is none of short grass"),
    ("distance: 80 m", "distance: 80 kg", "80 kg", "site.obstacles.0.distance", "is not a length"),
    ("name: A, small foam wing", "name: 5", "5\nstyle", "name", "is not text"),
    ("style: throw-started", "style: trown-started", "trown", "style", "is none of throw-started"),
    ("overarm: 1", "overarm: 2", "2\nname", "overarm", "form that this version does not read"),
    ("overarm: 1", "overarm: true", "true\nname", "overarm", "form that this version does not read"),
    ("overarm: 1", "overarm: 1.0", "1.0\nname", "overarm", "form that this version does not read"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "at", "key", "words"), VALUES, ids=[f"{k}-{n[:24]}" for _, n, _, k, _ in VALUES]
)
def test_wrong_value(tmp_path: Path, old: str, new: str, at: str, key: str, words: str) -> None:
    text = replaced(BASE, old, new)
    file = written(tmp_path, text)
    (problem,) = problems_of(file)
    assert problem.file == str(file)
    assert problem.key == key
    assert words in problem.message
    assert (problem.line, problem.column) == spot(text, at)


KEYS = [
    ("  mass: 0.60", "  masss: 0.60", "masss", "airframe.masss", "Did you mean mass?"),
    ("  jerk_level: 5", "  jerk_lvel: 5", "jerk_lvel", "settings.jerk_lvel", "Did you mean jerk_level?"),
    ("  throttle_rise:", "  zzz:", "zzz", "settings.zzz", "Its keys are jerk_level"),
    ("    tilt: 1.0", "    tillt: 1.0", "tillt", "airframe.board.tillt", "Did you mean tilt?"),
    ("day:\n", "weather: fine\nday:\n", "weather", "weather", "Its keys are overarm"),
    ("{name: hedge,", "{name: hedge, zzz: 3 m,", "zzz", "site.obstacles.0.zzz", "Its keys are name"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "key", "cure"), KEYS)
def test_unknown_key(tmp_path: Path, old: str, new: str, at: str, key: str, cure: str) -> None:
    text = replaced(BASE, old, new)
    file = written(tmp_path, text)
    problem = next(item for item in problems_of(file) if item.key == key)
    assert problem.message == "is not a key of this card"
    assert cure in problem.cure
    assert (problem.file, problem.line, problem.column) == (str(file), *spot(text, at))


ON_SCALES = "  mass: 0.60 kg measured      # all-up, on scales, with the flight pack\n"
FORECAST = "  wind_height: 10 m             # a forecast; a meter in the hand is at 1.5 m\n"
MISSING = [
    (ON_SCALES, "airframe.mass", "airframe:"),
    ("  release_speed: 9.6 m/s measured\n", "thrower.release_speed", "thrower:"),
    (FORECAST, "day.wind_height", "day:"),
    ("overarm: 1\n", "overarm", None),
    ("style: throw-started   # throw-started | spin-in-hand | line-launched\n", "style", None),
]  # fmt: skip


@pytest.mark.parametrize(("line", "key", "at"), MISSING)
def test_missing_key(tmp_path: Path, line: str, key: str, at: str | None) -> None:
    text = replaced(BASE, line, "")
    file = written(tmp_path, text)
    (problem,) = problems_of(file)
    assert (problem.key, problem.message) == (key, "is missing")
    assert (problem.line, problem.column) == (spot(text, at) if at else (1, 1))
    assert problem.file == str(file)


def test_missing_card(tmp_path: Path) -> None:
    text = BASE[: BASE.index("day:\n")]
    (problem,) = problems_of(written(tmp_path, text))
    assert (problem.key, problem.message, problem.line) == ("day", "is missing", 1)


FORMS = [
    ("", 1, 1, "is empty"),
    ("# only a comment\n", 1, 1, "is empty"),
    ("just words\n", 1, 1, "is not a setup"),
    ("- a\n- b\n", 1, 1, "is not a setup"),
    ("overarm: 1\nname:\tx\n\tstyle: y\n", 2, 6, "is not YAML"),
    ("overarm: 1\nname: 'x\n", 3, 1, "is not YAML"),
    ("overarm: 1\nname: x: y\n", 2, 8, "is not YAML"),
    ("overarm: 1\nname: *there\n", 2, 7, "anchor or alias"),
    ("overarm: 1\nname: &there x\n", 2, 7, "anchor or alias"),
    ("overarm: 1\n&there name: x\n", 2, 1, "is no plain key"),
    ("overarm: 1\n? [a, b]\n: x\n", 2, 3, "is no plain key"),
    ("overarm: 1\nname: !!python/object/apply:os.system ['true']\n", 2, 7, "YAML tag"),
    ("overarm: 1\nname: !!python/object:object {}\n", 2, 7, "YAML tag"),
    ("overarm: 1\nname: !own 5\n", 2, 7, "YAML tag"),
    ("%YAML 1.1\n---\noverarm: 1\n", 2, 1, "directive"),
    ("overarm: 1\n---\noverarm: 1\n", 2, 1, "second document"),
    ("a: " + "[" * 40 + "]" * 40, 1, 11, "nested too deep"),
    ("a: {" * 40 + "}" * 40, 1, 32, "nested too deep"),
    ("overarm: 1\nname: \x07\n", 2, 7, "U+0007"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "line", "column", "words"), FORMS, ids=[repr(form[0][:30]) for form in FORMS]
)
def test_wrong_form(tmp_path: Path, text: str, line: int, column: int, words: str) -> None:
    file = written(tmp_path, text)
    (problem,) = problems_of(file)
    assert words in problem.message
    assert (problem.file, problem.line, problem.column) == (str(file), line, column)


def test_alias_bomb(tmp_path: Path) -> None:
    """Ten levels of ten aliases would be ten thousand million values."""
    lines = ["a0: &a0 [x, x]", *(f"a{k}: &a{k} [{', '.join([f'*a{k - 1}'] * 10)}]" for k in range(1, 11))]
    (problem,) = problems_of(written(tmp_path, "\n".join(lines)))
    assert "anchor or alias" in problem.message
    assert (problem.line, problem.column) == (1, 5)


def test_ten_megabytes(tmp_path: Path) -> None:
    (problem,) = problems_of(written(tmp_path, BASE + "# filler\n" * 1_200_000))
    assert "is larger than" in problem.message


def test_key_twice_names_both_lines(tmp_path: Path) -> None:
    text = replaced(BASE, "  span: 0.95 m measured\n", "  span: 0.95 m measured\n  span: 9.5 m\n")
    (problem,) = problems_of(written(tmp_path, text))
    assert problem.key == "airframe.span"
    assert f"after line {spot(text, 'span: 0.95')[0]}" in problem.message
    assert (problem.line, problem.column) == spot(text, "span: 9.5 m")


def test_byte_order_mark_is_fine(tmp_path: Path) -> None:
    marked = overarm.load(written(tmp_path, b"\xef\xbb\xbf" + BASE.encode()))
    assert marked.hash() == overarm.load(written(tmp_path, BASE)).hash()


@pytest.mark.parametrize(
    ("raw", "line", "column", "words"),
    [
        (BASE.encode("utf-16"), 1, 1, "is not text in UTF-8"),
        ("overarm: 1\nname: Flügel\n".encode("latin-1"), 2, 9, "is not text in UTF-8"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), 1, 1, "is not text in UTF-8"),
        (b"overarm: 1\n\x00\x01", 2, 1, "U+0000"),
    ],
)  # fmt: skip
def test_not_text(tmp_path: Path, raw: bytes, line: int, column: int, words: str) -> None:
    (problem,) = problems_of(written(tmp_path, raw))
    assert words in problem.message
    assert (problem.line, problem.column) == (line, column)


def test_no_such_file_and_folder(tmp_path: Path) -> None:
    (missing,) = problems_of(tmp_path / "none.yaml")
    assert "cannot be read" in missing.message
    assert missing.file == str(tmp_path / "none.yaml")
    (folder,) = problems_of(tmp_path)
    assert "cannot be read" in folder.message
    (odd,) = problems_of(Path("a\0b.yaml"))
    assert "cannot be read" in odd.message


def split(folder: Path, name: str) -> tuple[str, str]:
    """Return the base with its airframe card taken out to a named file, and that card's text."""
    start, end = BASE.index("airframe:\n"), BASE.index("power:\n")
    inner = "".join(f"{line[2:]}\n" for line in BASE[start:end].splitlines()[1:])
    return f"{BASE[:start]}airframe: {name}\n\n{BASE[end:]}", inner


def test_card_in_its_own_file(tmp_path: Path) -> None:
    text, inner = split(tmp_path, "cards/wing.yaml")
    (tmp_path / "cards").mkdir()
    written(tmp_path / "cards", inner)
    apart = overarm.load(written(tmp_path, text, "setup.yaml"))
    assert apart.hash() == overarm.load(written(tmp_path, BASE)).hash()


def test_faults_in_both_files_at_once(tmp_path: Path) -> None:
    text, inner = split(tmp_path, "card.yaml")
    inner = inner.replace("span: 0.95 m measured", "span: 0.95 kg")
    card = written(tmp_path, inner, "card.yaml")
    text = replaced(text, "cells: 3\n", "cells: x\n")
    file = written(tmp_path, text, "setup.yaml")
    first, second = problems_of(file)
    assert (first.key, first.file, first.line) == ("power.cells", str(file), spot(text, "cells: x")[0])
    assert (second.key, second.file) == ("airframe.span", str(card))
    assert (second.line, second.column) == spot(inner, "0.95 kg")


def test_missing_key_of_a_card_file(tmp_path: Path) -> None:
    text, inner = split(tmp_path, "card.yaml")
    card = written(
        tmp_path, "\n".join(line for line in inner.splitlines() if "mass:" not in line), "card.yaml"
    )
    (problem,) = problems_of(written(tmp_path, text, "setup.yaml"))
    assert (problem.key, problem.file, problem.line) == ("airframe.mass", str(card), 1)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("../card.yaml", "leads out of the folder"),
        ("x/../../card.yaml", "leads out of the folder"),
        ("/etc/card.yaml", "leads out of the folder"),
        ("none.yaml", "is not a file that is there"),
        ('"a\\0b.yaml"', "is not a file that is there"),
        (f"{'a' * 5000}.yaml", "is not a file that is there"),
        ("out.yaml", "leads out of the folder"),
        ("folder.yaml", "is not a file that is there"),
        ("card.txt", "is not a card"),
    ],
    ids=lambda item: item[:20],
)
def test_card_file_that_cannot_be(tmp_path: Path, name: str, words: str) -> None:
    text, inner = split(tmp_path, name)
    written(tmp_path, inner, "card.yaml")
    inside = tmp_path / "setups"
    (inside / "folder.yaml").mkdir(parents=True)
    (inside / "out.yaml").symlink_to(tmp_path / "card.yaml")
    file = written(inside, text)
    problem = next(item for item in problems_of(file) if item.key == "airframe")
    assert words in problem.message
    line, column = spot(text, "airframe: ")
    assert (problem.file, problem.line, problem.column) == (str(file), line, column + len("airframe: "))


def test_a_bad_card_file_is_told_with_its_own_name(tmp_path: Path) -> None:
    text, _ = split(tmp_path, "card.yaml")
    card = written(tmp_path, "mass: 'x\n", "card.yaml")
    found = problems_of(written(tmp_path, text, "setup.yaml"))
    assert any(problem.file == str(card) and "is not YAML" in problem.message for problem in found)


def test_coefficient_table_stays_inside(tmp_path: Path) -> None:
    text = replaced(BASE, "  cells: 3\n", "  cells: 3\n  coefficient_table: ../rows.csv\n")
    (problem,) = problems_of(written(tmp_path, text))
    assert problem.key == "power.coefficient_table"
    assert (problem.line, problem.column) == spot(text, "../rows.csv")


@pytest.mark.parametrize(
    "text", ["", "a: [", BASE.replace("0.60 kg", "0.60 m"), BASE.replace("153.5", "180")]
)
@pytest.mark.parametrize("command", ["check", "odds", "sheet"])
def test_commands_end_with_2_and_write_nothing(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    command: str,
    text: str,
) -> None:
    file = written(tmp_path, text)
    before = file.read_bytes()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", ["overarm", command, file.name])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith("wing.yaml:")
    assert "Traceback" not in shown.err
    assert list(tmp_path.iterdir()) == [file]
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("old", "new", "at", "words"),
    [
        ("section: reflexed", "section: nosuchsection9", "nosuchsection9", "section database"),
        ("moment_zero: 0.025", "moment_zeroo: 0.025", "0.025", "is not a coefficient"),
        ("neutral_point: 172 mm\n", "yaw_inertia: 9 kg m2\n", "0.020 kg m2", "larger than the other two"),
    ],
)
def test_what_is_found_later_still_points_to_the_file(
    tmp_path: Path, old: str, new: str, at: str, words: str
) -> None:
    """Some faults show only when figures are derived; they carry file, line and column too."""
    from overarm.describe.derived import derive

    text = replaced(BASE, old, new)
    file = written(tmp_path, text)
    with pytest.raises(InputError) as found:
        derive(overarm.load(file))
    (problem,) = found.value.problems
    assert words in problem.message
    assert (problem.file, problem.line, problem.column) == (str(file), *spot(text, at))

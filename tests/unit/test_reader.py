"""The reader: what the examples give, which changes the hash sees, and where values stand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import overarm
from overarm.describe.document import read_document
from overarm.errors import InputError
from tests.changed import BASE, replaced, spot, written
from tests.examples import FILES

# A number with its unit behind a key: each is changed on its own.
NUMBER = re.compile(r"(?<=: )-?\d+(?:\.\d+)?")


def hash_of(folder: Path, text: str) -> str:
    return overarm.load(written(folder, text)).hash()


def spots_of(text: str) -> list[tuple[int, int]]:
    """Return where the numbers of a setup stand, comments left out."""
    found, at = [], 0
    for line in text.splitlines(keepends=True):
        code = line.split("#", 1)[0]
        found += [(at + match.start(), at + match.end()) for match in NUMBER.finditer(code)]
        at += len(line)
    return found


@pytest.mark.parametrize("letter", sorted(FILES))
def test_every_number_changes_the_hash(tmp_path: Path, letter: str) -> None:
    """A change of half a percent, which no rule refuses but that of the version and the whole numbers."""
    text = FILES[letter].read_text("utf-8")
    before, changed, refused = hash_of(tmp_path, text), 0, []
    for start, end in spots_of(text):
        number = f"{float(text[start:end]) * 1.005 or 0.001:.6g}"
        try:
            after = hash_of(tmp_path, text[:start] + number + text[end:])
        except InputError as error:
            refused.append(error.problems[0].key)
            continue
        assert after != before, text[start - 30 : end]
        changed += 1
    assert changed > 45
    assert refused == ["overarm", "power.cells"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("arm: right", "arm: left"),
        ("throw: overarm", "throw: side"),
        ("cells: 3\n", "cells: 4\n"),
        ("ground: meadow", "ground: crops"),
        ("name: hedge", "name: wall"),
        ("section: reflexed", "section: symmetric"),
        ("after_task: come home and circle", "after_task: carry on"),
        ("0.60 kg measured", "0.60 kg guessed"),
        ("0.60 kg measured", "0.60 kg +- 3 % measured"),
        ("    tilt: 1.0 deg", "    winds_up_in_hand: false\n    tilt: 1.0 deg"),
        ("  jerk_level: 5", "  jerks: 2\n  jerk_level: 5"),
    ],
)
def test_words_and_spreads_change_the_hash(tmp_path: Path, old: str, new: str) -> None:
    changed = replaced(BASE, old, new).replace("pack_volts: 12.2", "pack_volts: 13.2")
    plain = BASE.replace("pack_volts: 12.2", "pack_volts: 13.2")
    assert hash_of(tmp_path, changed) != hash_of(tmp_path, plain)


@pytest.mark.parametrize("letter", sorted(FILES))
def test_comments_units_and_order_do_not_change_the_hash(tmp_path: Path, letter: str) -> None:
    text = FILES[letter].read_text("utf-8")
    bare = "\n".join(line.split("#", 1)[0].rstrip() for line in text.splitlines())
    parts = re.split(r"\n(?=\w)", bare.strip())
    before = hash_of(tmp_path, text)
    assert hash_of(tmp_path, "\n".join(reversed(parts)) + "\n") == before
    assert hash_of(tmp_path, f"# more\n{text.replace(':', ':  ', 3)}\n\n# end\n") == before
    assert hash_of(tmp_path, bare.replace("\n", "\r\n")) == before
    assert hash_of(tmp_path, bare.replace("15 C", "288.15 K")) == before


def test_defaults_written_out_do_not_change_the_hash(tmp_path: Path) -> None:
    """The hash is of all values, defaults filled in."""
    longer = replaced(BASE, "  arm: right\n", "  arm: right\n  two_person: false\n  slip_share: 1.5 %\n")
    assert hash_of(tmp_path, longer) == hash_of(tmp_path, BASE)


def test_the_hash_is_of_what_a_table_holds(tmp_path: Path) -> None:
    text = replaced(BASE, "  cells: 3\n", "  cells: 3\n  coefficient_table: rows.csv\n")
    rows = written(tmp_path, "J,CT,CP\n0,0.1,0.05\n", "rows.csv")
    first = hash_of(tmp_path, text)
    other = tmp_path / "other"
    other.mkdir()
    written(other, rows.read_bytes(), "rows.csv")
    assert hash_of(other, text) == first
    written(other, "J,CT,CP\n0,0.2,0.05\n", "rows.csv")
    assert hash_of(other, text) != first


def test_a_setup_knows_where_it_was_written(tmp_path: Path) -> None:
    file = written(tmp_path, BASE)
    origin = overarm.load(file).origin
    assert origin.file == str(file)
    place = origin.place_of("airframe.mass")
    assert place is not None
    assert (place.file, place.line, place.column) == (str(file), *spot(BASE, "0.60 kg"))
    assert origin.place_of("mass") == place
    assert origin.place_of("distance") == origin.place_of("site.obstacles.0.distance")
    assert origin.place_of("throttle") is None  # stands twice
    assert origin.place_of("nothing") is None


def test_equal_setups_from_two_files_are_equal(tmp_path: Path) -> None:
    one, two = (overarm.load(written(tmp_path, BASE, name)) for name in ("one.yaml", "two.yaml"))
    assert one == two


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("~", None), ("null", None), ("true", True), ("False", False), ("yes", "yes"), ("on", "on"),
        ("12", 12), ("-3", -3), ("+4", 4), ("012", 12), ("1e3", 1000.0), (".5", 0.5), ("5.", 5.0),
        ("-.inf", float("-inf")), ("1_000", "1_000"), ("0x1F", "0x1F"), ("12:30", "12:30"),
        ("2001-01-01", "2001-01-01"), ('"12"', "12"), ("'true'", "true"), ('"~"', "~"), ("a b", "a b"),
        ("|\n  a\n  b\n", "a\nb\n"), ("[1, x]", [1, "x"]), ("{a: 1}", {"a": 1}), ("[]", []), ("{}", {}),
        ('"\\u00e9"', "é"), ('"\\ud83d\\ude00"', "\U0001f600"),
    ],
)  # fmt: skip
def test_scalars(tmp_path: Path, text: str, value: object) -> None:
    """The core schema of YAML 1.2.2, section 10.3.2, less octal and hexadecimal; no dates, no yes."""
    found = read_document(written(tmp_path, f"key: {text}\n")).data
    assert found == {"key": value}
    assert type(found["key"]) is type(value)


def test_not_a_number(tmp_path: Path) -> None:
    found = read_document(written(tmp_path, "key: .nan\n")).data["key"]
    assert found != found  # noqa: PLR0124

"""Files made to keep the reader busy: each is refused, soon, and in few words."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

import overarm
from overarm.describe.document import MOST_BYTES
from overarm.errors import InputError

ROOM = MOST_BYTES - 1_000
HEAD = "overarm: 1\nname: x\nstyle: throw-started\n"
BUSY = {
    "comments": "# x\n" * (ROOM // 4),
    "spaces in quotes": 'a: "' + " " * ROOM + '"',
    "one long word": "a: " + "x" * ROOM,
    "keys": "".join(f"k{i}: 1\n" for i in range(ROOM // 10)),
    "one key": "a: 1\n" * (ROOM // 5),
    "a list": "a: [" + "1," * (ROOM // 2) + "]",
    "obstacles": HEAD + "site: {obstacles: [" + "{name: a}," * (ROOM // 10) + "]}",
    "unknown keys": HEAD + "airframe:\n" + "".join(f"  k{i}: 1\n" for i in range(ROOM // 12)),
    "brackets": "[" * ROOM,
    "dashes": "- " * (ROOM // 2),
    "documents": "---\n" * (ROOM // 4),
    "percent signs": "%" * ROOM,
    "digits": HEAD + "airframe: {mass: " + "9" * ROOM + "}",
    "parts of a mass": HEAD + "airframe: {mass: {" + ",".join(f"k{i}: 1" for i in range(ROOM // 12)) + "}}",
    "parts of a unit": HEAD + "airframe: {mass: 1" + " kg" * (ROOM // 3) + "}",
}


@pytest.mark.parametrize("name", BUSY)
def test_busy_files_are_refused_soon(name: str, tmp_path: Path) -> None:
    file = tmp_path / "busy.yaml"
    file.write_text(BUSY[name], "utf-8")
    begun = time.process_time()
    with pytest.raises(InputError) as found:
        overarm.load(file)
    assert time.process_time() - begun < 5.0
    assert len(str(found.value)) < 1_000_000


def test_ten_megabytes_are_not_even_parsed(tmp_path: Path) -> None:
    file = tmp_path / "big.yaml"
    file.write_text("a: 1\n" * 2_000_000, "utf-8")
    begun = time.process_time()
    with pytest.raises(InputError, match="larger than"):
        overarm.load(file)
    assert time.process_time() - begun < 0.5


def test_what_never_ends_is_not_read_to_its_end() -> None:
    with pytest.raises(InputError, match="larger than"):
        overarm.load("/dev/zero")

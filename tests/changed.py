"""Example setups changed by hand, and what is told about them.

Lines and columns are counted in the changed text from the words at which a message has to point.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import overarm
from overarm.errors import InputError, Problem

PROJECT = Path(__file__).resolve().parents[1]
BASE = (PROJECT / "examples/a-sparrow.yaml").read_text("utf-8")
LINE_BASE = (PROJECT / "examples/d-line-mapper.yaml").read_text("utf-8")


def written(folder: Path, text: str | bytes, name: str = "wing.yaml") -> Path:
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return file


def problems_of(file: Path) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as found:
        overarm.load(file)
    assert found.value.problems
    for problem in found.value.problems:
        assert problem.message
        assert problem.cure, problem
        assert "\n" not in str(problem)
    return found.value.problems


def spot(text: str, words: str) -> tuple[int, int]:
    """Return line and column of words that stand in a text once, from 1."""
    assert text.count(words) == 1, f"{words!r} stands {text.count(words)} times in the text"
    before = text[: text.index(words)]
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def replaced(base: str, old: str, new: str) -> str:
    assert base.count(old) == 1, old
    return base.replace(old, new)

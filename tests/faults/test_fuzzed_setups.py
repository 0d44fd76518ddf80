"""Example setups, damaged at random: each still loads, or is refused with clear problems. Nothing else."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import overarm
from fuzz.setup_yaml import hold
from overarm.errors import InputError
from tests.examples import FILES

TEXTS = {letter: file.read_text("utf-8") for letter, file in FILES.items()}
MARKS = [
    "- ",
    "  ",
    "\t",
    ":",
    "#",
    "[",
    "}",
    "{",
    "]",
    "&a ",
    "*a",
    "!!x ",
    "'",
    '"',
    "|",
    ">",
    "?",
    "%",
    "---\n",
]
WORDS = [
    "~",
    "null",
    "true",
    ".nan",
    "-.inf",
    "0",
    "-1",
    "1e999",
    "0x10",
    "2001-01-01",
    "1_000 kg",
    "5 %",
    "<<",
]


@st.composite
def damaged(draw: st.DrawFn) -> str:
    """Return an example with one to four pieces of damage."""
    text = TEXTS[draw(st.sampled_from(sorted(TEXTS)))]
    for _ in range(draw(st.integers(1, 4))):
        lines = text.splitlines(keepends=True) or [""]
        k = draw(st.integers(0, len(lines) - 1))
        at = draw(st.integers(0, len(lines[k])))
        other = draw(st.integers(0, len(lines) - 1))
        how = draw(st.sampled_from(["cut", "twice", "swap", "insert", "letters", "value", "indent", "half"]))
        if how == "cut":
            del lines[k]
        elif how == "twice":
            lines.insert(other, lines[k])
        elif how == "swap":
            lines[k], lines[other] = lines[other], lines[k]
        elif how == "insert":
            lines[k] = lines[k][:at] + draw(st.sampled_from(MARKS + WORDS)) + lines[k][at:]
        elif how == "letters":
            lines[k] = lines[k][:at] + draw(st.text(max_size=8)) + lines[k][at + 1 :]
        elif how == "value":
            key, colon, _ = lines[k].partition(":")
            lines[k] = f"{key}{colon} {draw(st.sampled_from(WORDS))}\n"
        elif how == "indent":
            lines[k] = " " * draw(st.integers(0, 6)) + lines[k].lstrip(" ")
        else:
            lines = lines[:k]
        text = "".join(lines)
    return text


def refused_or_whole(file: Path) -> None:
    try:
        setup = overarm.load(file)
    except InputError as error:
        refusal = error
    else:
        hold(setup)
        return
    assert refusal.problems
    for problem in refusal.problems:
        assert problem.message
        assert problem.cure
        assert problem.file == str(file)
        assert "\n" not in str(problem)
        assert len(str(problem)) < 1000 + len(str(file))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzz")


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=damaged())
def test_damaged_example(folder: Path, text: str) -> None:
    file = folder / "damaged.yaml"
    file.write_text(text, encoding="utf-8", errors="surrogatepass")
    refused_or_whole(file)


@settings(max_examples=150, deadline=None)
@given(raw=st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_any_bytes(folder: Path, raw: bytes) -> None:
    file = folder / "bytes.yaml"
    file.write_bytes(raw)
    refused_or_whole(file)


@settings(max_examples=150, deadline=None)
@given(
    key=st.sampled_from(
        ["mass: 0.60 kg measured", "cells: 3\n", "ground: meadow", "section: reflexed", "tilt: 1.0 deg"]
    ),
    value=st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
        max_leaves=6,
    ),
)
def test_any_value(folder: Path, key: str, value: object) -> None:
    """Whatever JSON can say stands where a value is wanted (JSON is YAML)."""
    written = TEXTS["a"].replace(key, f"{key.partition(':')[0]}: {json.dumps(value)}\n  #", 1)
    file = folder / "value.yaml"
    file.write_text(written, "utf-8")
    refused_or_whole(file)

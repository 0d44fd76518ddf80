"""Every input that fuzzing kept goes through its door again: read, or refused in clear words, and soon.

The inputs of `tests/fuzz_corpus` are the least that reach what coverage-guided fuzzing reached
(fuzz/README.md). Those whose name begins with "broke" found a fault once; each says which.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fuzz import TARGETS
from fuzz.door import held, hold_words, target_of
from overarm.errors import InputError, Problem

CORPUS = Path(__file__).resolve().parents[1] / "fuzz_corpus"
MOST_BYTES = 2_000_000


@pytest.mark.parametrize("name", TARGETS)
def test_kept_inputs(name: str) -> None:
    target = target_of(name)
    files = sorted((CORPUS / name).iterdir())
    assert len(files) >= 5, "no corpus"
    for file in files:
        try:
            held(target, file.read_bytes())
        except Exception as error:
            error.add_note(f"the input is {file}")
            raise


@pytest.mark.parametrize("name", TARGETS)
def test_first_inputs_go_through(name: str) -> None:
    target = target_of(name)
    for data in target.seeds():
        assert len(data) <= target.longest
        held(target, data)


def test_the_corpus_is_small_and_has_no_other_folders() -> None:
    assert {folder.name for folder in CORPUS.iterdir()} == set(TARGETS)
    assert sum(file.stat().st_size for file in CORPUS.rglob("*") if file.is_file()) < MOST_BYTES


def test_each_target_has_its_file_and_the_other_way_round(project: Path) -> None:
    machinery = {"__init__", "bodies", "door", "hostile", "keep", "mutate", "run"}
    assert {file.stem for file in (project / "fuzz").glob("*.py")} - machinery == set(TARGETS)


@pytest.mark.parametrize("problem", [Problem("", "x", "f"), Problem("a", "b", "f", value="x" * 4_000)])
def test_a_bad_refusal_is_seen(problem: Problem) -> None:
    """The holder of refusals holds something: no words, a novel."""
    with pytest.raises(AssertionError):
        hold_words(InputError([problem]))

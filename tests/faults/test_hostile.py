"""A sample of the hostile inputs of `fuzz/hostile.py`: each is answered, or refused in clear words, and soon.

All 24,000 are a command of their own (fuzz/README.md); docs/reference/faults.md says when they were run last.
"""

from __future__ import annotations

import random
import time
from collections import Counter

import pytest

from fuzz import TARGETS, hostile, mutate
from fuzz.door import hold_words
from overarm.errors import InputError, Problem

SAMPLE = 300
EVERY = hostile.INPUTS // SAMPLE - 1  # no multiple of the round, so that every door has its turn


def test_a_sample() -> None:
    doors, refused, faults = Counter[str](), 0, []
    for number in range(0, SAMPLE * EVERY, EVERY):
        found = hostile.tried(hostile.SEED, number)
        doors[found.door] += 1
        refused += found.refused
        if found.fault:
            faults.append(f"{number}: {found.door}: {found.fault}")
    assert not faults, "\n".join(faults)
    assert doors.keys() == TARGETS.keys()
    assert sum(doors.values()) == SAMPLE
    assert 0.3 * SAMPLE < refused < SAMPLE, "hostile, and not all alike"


def test_an_input_depends_on_its_number_alone() -> None:
    first = [hostile.input_of(1, number) for number in range(60)]
    assert [hostile.input_of(1, number) for number in reversed(range(60))] == first[::-1]
    assert len({data for _, data in first}) > 50
    assert [hostile.input_of(2, number) for number in range(60)] != first


def test_damage_to_a_deep_tree_takes_no_time() -> None:
    """Of a tree that is as deep as its damage may make it, one branch is gone down, not all."""
    deep: object = 1
    for _ in range(mutate.DEEP):
        deep = [deep]
    begun = time.process_time()
    for number in range(200):
        mutate.damaged_tree(deep, random.Random(number))
    assert time.process_time() - begun < 5.0


def test_a_fault_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample would see one: an exception of another kind, and a process that grows."""

    def broken(_target: object, _data: bytes) -> None:
        raise KeyError("x")

    monkeypatch.setattr("fuzz.door.held", broken)
    assert hostile.tried(1, 0).fault == "KeyError: 'x'"
    monkeypatch.setattr("fuzz.door.held", lambda _target, _data: None)
    sizes = iter([100.0, 100.0 + hostile.MOST_MIB + 1.0])
    monkeypatch.setattr(hostile, "_mib", lambda: next(sizes))
    assert "grew" in hostile.tried(1, 0).fault


def test_a_refusal_must_say_where() -> None:
    with pytest.raises(AssertionError, match="without a place"):
        hold_words(InputError([Problem("is wrong", "Do it right")]))

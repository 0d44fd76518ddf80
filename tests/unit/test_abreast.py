"""Launches flown eight abreast: those flown one by one, whatever flies beside them."""

from __future__ import annotations

import re
from typing import Any

import numba
import numpy as np
import pytest

from overarm.flight import abreast
from overarm.flight.campaign import blank_summary, fly_numbered, fly_one, fly_records
from overarm.flight.draw import draw
from overarm.flight.outcomes import SUMMARY
from overarm.flight.trace import empty_trace
from overarm.jit import FAST
from overarm.slots import ABREAST, blank, size
from tests.examples import inputs_of

SEED = 11
COUNT = 200
# Sums are put together in another order by vector instructions: last digits differ, and grow on the way.
RELATIVE = 1e-8


def close(one: np.ndarray, other: np.ndarray) -> None:
    """Hold two tables of summaries against each other, column by column."""
    assert np.array_equal(one["outcome"], other["outcome"])
    for name in SUMMARY.names or ():
        assert np.allclose(one[name], other[name], rtol=RELATIVE, atol=1e-9), name


@pytest.mark.parametrize("letter", ["a", "c", "d", "e"])
def test_abreast_as_one_by_one(letter: str) -> None:
    inputs = inputs_of(letter)
    records, _ = draw(inputs.base, inputs.rules, COUNT, SEED, 0)
    alone = [fly_one(inputs, records[k : k + 1], SEED, k, empty_trace()) for k in range(COUNT)]
    close(fly_records(inputs, records, SEED), np.concatenate(alone))


@pytest.mark.parametrize("letter", ["b", "d"])
def test_neighbours_change_no_bit(letter: str) -> None:
    inputs = inputs_of(letter)
    records, _ = draw(inputs.base, inputs.rules, COUNT, SEED, 0)
    together = fly_records(inputs, records, SEED)
    order = np.random.default_rng(3).permutation(COUNT)
    mixed = fly_numbered(inputs, records[order], SEED, order)
    assert mixed.tobytes() == together[order].tobytes()
    for some in (np.arange(1), np.arange(ABREAST + 1), np.arange(50, 120)):
        assert fly_numbered(inputs, records[some], SEED, some).tobytes() == together[some].tobytes()


def test_line_and_hand_side_by_side() -> None:
    """Both styles in one call, as a study of a fleet may have them: each as on its own."""
    line, hand = inputs_of("d"), inputs_of("b")
    few, _ = draw(line.base, line.rules, 20, SEED, 0)
    others, _ = draw(hand.base, hand.rules, 20, SEED, 0)
    both = np.concatenate([few, others])
    numbers = np.concatenate([np.arange(20), np.arange(20)])
    beside = fly_numbered(line, both, SEED, numbers)
    close(beside[:20], fly_records(line, few, SEED))
    close(beside[20:], fly_records(line, others, SEED))  # where no line is flown, other loops fly them


def test_no_launch_is_no_row() -> None:
    inputs = inputs_of("b")
    nothing = fly_records(inputs, inputs.base[:0], SEED)
    assert nothing.dtype == SUMMARY
    assert nothing.tobytes() == blank_summary(0, 0).tobytes()


@pytest.mark.parametrize("loop", [abreast.start_all, abreast.half_all, abreast.end_all])
def test_a_loop_over_lanes_becomes_vector_instructions(loop: Any) -> None:
    """What the compiler does is not told by a result: a loop that lost its vectors is only slower."""
    alone = numba.njit(error_model="numpy", fastmath=FAST)(loop.py_func)
    alone.compile((numba.float64[::1],))
    (code,) = alone.inspect_llvm().values()
    assert len(re.findall(r"= f(?:add|sub|mul|div)[a-z ]* <\d+ x double>", code)) > 20
    assert not re.findall(r"= fdiv[a-z ]* double ", code)


def test_slots_of_a_nested_tuple() -> None:
    pair = blank(tuple[float, tuple[float, float]])
    assert pair == (0.0, (0.0, 0.0))
    assert size(pair) == 3

"""The counting of the benchmarks, their array version of the step, and the table that they print."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.array_step import separated
from benchmarks.counting import COUNTS, Number, counting_math
from benchmarks.parts.arrays import AGREED, Flown, misfit, start
from benchmarks.rows import Row, example, in_words
from benchmarks.table import BEGIN, END, PARTS, table, written
from overarm.flight.draw import draw


def test_a_known_expression_is_counted() -> None:
    """By hand: two roots of b^2 - 4 a c with one comparison."""
    COUNTS.clear()
    a, b, c = Number(1.0), Number(-3.0), Number(2.0)
    under = b * b - 4.0 * a * c
    assert under > 0.0
    root = counting_math().sqrt(under)
    high, low = (-b + root) / (2.0 * a), (-b - root) / (2.0 * a)
    assert (float(high), float(low)) == (2.0, 1.0)
    assert COUNTS == {"multiplications": 5, "additions": 3, "divisions": 2, "roots": 1, "comparisons": 1}


def test_functions_of_the_library_are_counted_and_right() -> None:
    COUNTS.clear()
    maths = counting_math()
    assert float(maths.exp(Number(0.0)) + maths.atan2(Number(0.0), 1.0)) == 1.0
    assert int(maths.floor(Number(2.5))) == 2
    assert COUNTS == {"elementary functions": 2, "additions": 1}


def test_arrays_agree_with_the_compiled_step() -> None:
    """Also where the flow has come off the wing, and in still air."""
    _, inputs = example()
    records, _ = draw(inputs.base, inputs.rules, 400, 1, 0)
    assert misfit(records, inputs.table) < AGREED
    flown = Flown(records, inputs.table, np.float64)
    share = separated(flown.rec.wing, np.arctan2(flown.body.w, flown.body.u))
    assert np.any(share > 0.5)
    assert np.any(share == 0.0)


def test_single_precision_stays_single() -> None:
    _, inputs = example()
    records, _ = draw(inputs.base, inputs.rules, 10, 1, 0)
    assert {value.dtype for value in Flown(records, inputs.table, np.float32).after(2)} == {
        np.dtype(np.float32)
    }
    assert start(10)[0].shape == (10, 14)


@pytest.mark.parametrize(
    ("seconds", "words"), [(2.5, "2.5 s"), (0.0123, "12.3 ms"), (4.2e-5, "42 µs"), (9.1e-8, "91 ns")]
)
def test_times_in_words(seconds: float, words: str) -> None:
    assert in_words(seconds) == words


def test_the_table_goes_between_the_markers() -> None:
    part = next(iter(PARTS))
    told = table({part: [Row("one", "1 s", "2 times"), Row("two", "2 s")]})
    assert [line.count("|") for line in told.splitlines()] == [5] * 4
    page = written(f"before\n\n{BEGIN}\nold\n{END}\n\nafter\n", told)
    assert "old" not in page
    assert page.startswith(f"before\n\n{BEGIN}\n\n| Part")
    assert page.endswith(f"{END}\n\nafter\n")
    assert written(page, told) == page

"""Units: there and back, and nothing but a UnitError for any text."""

from __future__ import annotations

import math
from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from overarm import units
from overarm.units import Dimension, UnitError, from_si, to_si

DIMENSIONS = [item for item in vars(units).values() if isinstance(item, Dimension)]
UNITS = [
    (item, unit) for item in DIMENSIONS if item.si for unit in item.units.replace(" or ", ", ").split(", ")
]
NUMBERS = st.floats(1e-6, 1e6) | st.floats(-1e6, -1e-6)


@given(st.sampled_from(UNITS), NUMBERS)
def test_there_and_back(kind: tuple[Dimension, str], number: float) -> None:
    dimension, unit = kind
    si = to_si(f"{number!r} {unit}", dimension)
    # A temperature near zero loses digits against its zero point.
    slack = 1e-9 if dimension is units.TEMPERATURE else 0.0
    assert float(from_si(si, dimension, unit, 12).split(" ")[0]) == pytest.approx(number, rel=1e-5, abs=slack)


@given(st.sampled_from([item for item in UNITS if item[0] is not units.TEMPERATURE]), NUMBERS)
def test_twice_the_number_is_twice_the_amount(kind: tuple[Dimension, str], number: float) -> None:
    dimension, unit = kind
    twice, once = to_si(f"{2.0 * number!r} {unit}", dimension), to_si(f"{number!r} {unit}", dimension)
    assert twice == pytest.approx(2.0 * once, rel=1e-13)


@given(st.text(max_size=100), st.sampled_from(DIMENSIONS))
@example("5 " + "m" * 78, units.LENGTH)
@example("1 µ", units.LENGTH)
@example("1 °", units.MASS)
@example("٣ kg", units.MASS)
def test_any_text_is_an_amount_or_a_unit_error(text: str, dimension: Dimension) -> None:
    with suppress(UnitError):
        assert math.isfinite(to_si(text, dimension))


@given(st.from_regex(r"[0-9]{1,3} ?[A-Za-z%/*^ 0-9.·²-]{1,20}", fullmatch=True), st.sampled_from(DIMENSIONS))
def test_any_unit_is_an_amount_or_a_unit_error(text: str, dimension: Dimension) -> None:
    with suppress(UnitError):
        assert math.isfinite(to_si(text, dimension))

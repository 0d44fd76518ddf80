"""Quantities: value, spread and flag in every way they may be written."""

from __future__ import annotations

import math
from typing import Any

import pytest

from overarm import units
from overarm.describe.quantity import Amount, Quantity
from overarm.errors import Problem
from overarm.units import UnitError

MASS = Amount(units.MASS, 0.05, 10.0, "1 %", "8 %", "lognormal", "Mass.", "")
TILT = Amount(units.ANGLE, -1.5, 1.5, "0.5 deg", "3 deg", "normal", "Tilt.", "")
SHARE = Amount(units.SHARE, 0.0, 1.0, "1 %", "2 %", "normal", "Share.", "")
WARM = Amount(units.TEMPERATURE, 250.0, 335.0, "1 C", "3 C", "normal", "Warm.", "")


@pytest.mark.parametrize(
    ("raw", "spread", "known"),
    [
        ("1.60 kg", 0.128, "guessed"),
        ("1.60 kg guessed", 0.128, "guessed"),
        ("1.60 kg measured", 0.016, "measured"),
        ("  1.60 kg   measured  ", 0.016, "measured"),
        ("1.60 kg +- 2 %", 0.032, "guessed"),
        ("1.60 kg +- 2% measured", 0.032, "measured"),
        ("1.60 kg ± 16 g measured", 0.016, "measured"),
        ("1.60 kg +/- 0.05 kg guessed", 0.05, "guessed"),
        ("1600 g+-0 g measured", 0.0, "measured"),
        ({"value": "1.60 kg"}, 0.128, "guessed"),
        ({"value": "1.60 kg", "spread": "16 g"}, 0.016, "guessed"),
        ({"value": "1600 g", "spread": "2 %", "known": "measured"}, 0.032, "measured"),
    ],
)
def test_ways_to_write_a_mass(raw: Any, spread: float, known: str) -> None:
    found = MASS.parse(raw)
    assert found.value == pytest.approx(1.6, rel=1e-15)
    assert found.spread == pytest.approx(spread, rel=1e-12)
    assert (found.kind, found.known) == ("lognormal", known)


def test_the_text_is_kept_without_spread_and_flag() -> None:
    assert MASS.parse("1.60 kg +- 2 % measured").text == "1.60 kg"


def test_a_negative_value_has_a_positive_spread() -> None:
    assert TILT.parse("-10 deg +- 10 %").spread == pytest.approx(math.radians(1.0))


def test_the_spread_of_a_share_is_of_the_whole() -> None:
    assert SHARE.parse("50 % +- 4 %").spread == pytest.approx(0.04)


def test_the_spread_of_a_temperature_is_a_difference() -> None:
    found = WARM.parse("15 C +- 2 C")
    assert (found.value, found.spread) == (pytest.approx(288.15), pytest.approx(2.0))
    assert WARM.parse("15 C measured").spread == pytest.approx(1.0)


def test_the_same_in_other_units_is_the_same() -> None:
    one, other = MASS.parse("0.64 kg +- 1 %"), MASS.parse("640 g +- 1 %")
    assert (one.value, one.spread) == (other.value, other.spread)


def test_a_usual_spread_is_never_larger_than_a_positive_value() -> None:
    delay = Amount(units.TIME, 0.01, 2.0, "0.03 s", "0.05 s", "lognormal", "Delay.", "")
    assert delay.parse("20 ms").spread == pytest.approx(0.02)
    assert delay.parse("150 ms").spread == pytest.approx(0.05)


def test_a_quantity_passes() -> None:
    made = Quantity(1.0, 0.1, "normal", "measured", "1 kg")
    assert MASS.parse(made) is made


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ("1.6 kg +- -2 %", "negative spread"),
        ("1.6 kg +- 2 m", "spread"),
        ("1.6 kg +- ", "spread"),
        ("1.6 kg +- 2", "spread that has no unit"),
        ("1.6 kg +- 150 %", "spread"),
        ("1.6 kg +- nan %", "spread"),
        ("1.6 kg sure", "only measured or guessed may follow"),
        ("1,25 kg", "a comma; write a decimal point"),
        ("measured", "number with a unit"),
        ("11 kg", "outside 50 g to 1e\\+04 g|outside 50 g to 10000 g|outside 0.05 kg to 10 kg"),
        ({"value": "1.6 kg", "spred": "1 %"}, "spred"),
        ({"spread": "1 %"}, "value"),
        ({"value": "1.6 kg", "known": "sure"}, "measured or guessed|measured"),
        ({"value": {"value": "1.6 kg"}}, "."),
        ({"value": "1.6 kg", "spread": []}, "."),
        ("1.6 kg +- 1 % " + "measured " * 40, "."),
    ],
)
def test_what_is_refused(raw: Any, said: str) -> None:
    with pytest.raises(UnitError, match=said) as found:
        MASS.parse(raw)
    assert "; " in str(found.value), "no cure"


def test_an_odd_part_cannot_write_on_the_screen() -> None:
    problem = Problem("has the unknown part \x1b[2J\n", "Write value", "wing.yaml", 3, 9, "airframe.mass")
    assert str(problem) == "wing.yaml:3:9: airframe.mass: has the unknown part ?[2J?. Write value"

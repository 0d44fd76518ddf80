"""Bench readings that cannot be: each is refused with the card's key, what was read, and a cure."""

from __future__ import annotations

import pytest

from overarm.describe.derived.blade import Speed, blade_table, generic_blade
from overarm.describe.derived.propulsion import Drive, Reading, calibrated
from overarm.errors import InputError
from overarm.physics.motor import Motor, Pack
from overarm.physics.propeller import Propeller


def bench_drive() -> Drive:
    return Drive(
        Propeller(0.2286, 7e-5, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0),
        blade_table(generic_blade(0.2286, 0.1524), Speed(0.2286, 50.0)),
        Motor(0.0106, 0.044, 1.3, 0.05, 0.15, 5.0),
        Pack(16.2, 0.022, 5.0),
        1.225,
    )


def test_bench_reading_of_another_motor() -> None:
    with pytest.raises(InputError, match="does not turn so"):
        calibrated(bench_drive(), (Reading(0.95, 15.4, None, None, 25000.0),))


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (Reading(0.95, 120.0, 17.0, 11.9, None), "is more than 16.0 N"),
        (Reading(0.95, 16.1, 17.0, 11.9, None), "is more than 16.0 N"),
        (Reading(0.95, 120.0, None, None, None), "times the pull"),
        (Reading(0.95, 2.0, None, None, None), "times the pull"),
        (Reading(0.95, 15.4, None, None, 8000.0), "times the torque"),
    ],
)
def test_bench_reading_that_no_propeller_gives(reading: Reading, words: str) -> None:
    """9 in, 202.3 W: (2 x 1.225 x 0.04104 x 202.3^2)^(1/3) = 16.03 N, worked by hand."""
    with pytest.raises(InputError, match=words) as found:
        calibrated(bench_drive(), (reading,))
    (problem,) = found.value.problems
    assert problem.key == "power.bench"
    assert f"pull {reading.pull_n:.3g} N" in problem.value
    assert problem.cure


def test_bench_reading_just_below_the_ideal_is_taken() -> None:
    _, notes = calibrated(bench_drive(), (Reading(0.95, 15.9, 17.0, 11.9, None),))
    assert notes

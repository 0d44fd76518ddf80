"""Synthetic recordings of every outcome, with every defect, and of a phone."""

from __future__ import annotations

import io
import itertools
from functools import cache

import numpy as np
import polars as pl
import pytest

from overarm.air import GRAVITY_MPS2
from overarm.errors import InputError
from overarm.recordings.defects import DEFECTS
from overarm.specimens import Options, Specimen, make
from overarm.specimens.corpus import Found, found_of, orders_of
from overarm.specimens.options import Rates
from overarm.specimens.phone import make_phone
from overarm.specimens.spoil import MEASURED, SPOILERS
from tests.examples import derived_of, inputs_of, setup_of

# From `overarm.flight.outcomes`; the outcomes that a style cannot have at all are left out.
BROUGHT_ABOUT = {
    "b": {"clean", "dipped", "grounded", "stalled", "no start", "hand at risk", "mushed"},
    "d": {"clean", "hook stuck", "no start", "struck obstacle"},
}

ENOUGH = {"b": 90, "d": 150}  # launches to look through


@cache
def found(letter: str) -> list[Found]:
    return found_of({letter: setup_of(letter)}, seed=1, most=3, launches=ENOUGH[letter])[letter]


@cache
def spoilt(*names: str) -> Specimen:
    wanted = Options(rates=Rates(airspeed_hz=10.0), extras=(), defects=names)
    return make(setup_of("b"), derived_of("b"), seed=1, launch=0, options=wanted, inputs=inputs_of("b"))


def table_of(made: Specimen) -> pl.DataFrame:
    return pl.read_csv(io.BytesIO(made.csv), infer_schema_length=None)


@pytest.mark.parametrize("letter", BROUGHT_ABOUT)
def test_outcomes_are_brought_about(letter: str) -> None:
    assert {one.outcome for one in found(letter)} >= BROUGHT_ABOUT[letter]


def test_orders_depend_on_the_seed_alone() -> None:
    two = {"b": found("b"), "d": found("d")}
    assert orders_of(two, 12, 5) == orders_of(two, 12, 5)
    assert orders_of(two, 12, 5) == orders_of(two, 20, 5)[:12]
    assert orders_of(two, 12, 5) != orders_of(two, 12, 6)


@pytest.mark.parametrize("name", [*SPOILERS, *MEASURED])
def test_a_defect_changes_the_file_and_stands_in_the_truth(name: str) -> None:
    made = spoilt(name)
    (told,) = made.truth["defects"]
    assert told["defect"] in DEFECTS  # the words of the room that reads
    sound = spoilt()
    assert made.csv != sound.csv
    assert made.truth["launches"][-1]["events"] == sound.truth["launches"][-1]["events"]


def test_unknown_defect() -> None:
    with pytest.raises(InputError, match=r"moths.*is not a defect|is not a defect.*moths"):
        spoilt("moths")


def test_clock_that_steps_back_does() -> None:
    steps = np.diff(table_of(spoilt("clock two seconds back"))["time_s"].to_numpy())
    assert np.count_nonzero(steps < 0.0) == 1


def test_rollover_of_32_bits() -> None:
    """A count of microseconds in 32 bits is full at 4 294 967 296, after 71.6 minutes."""
    clock = table_of(spoilt("rollover"))["time_us"].to_numpy()
    (where,) = np.flatnonzero(np.diff(clock) < 0)
    assert clock[where] > 2**32 - 50_000
    assert clock[where + 1] < 50_000


def test_gravity_removed_reads_nothing_at_rest() -> None:
    table = table_of(spoilt("gravity removed")).filter(pl.col("time_s") < 9.0)
    size = [float(table[f"force_{axis}_mps2"].drop_nulls().mean() or 0.0) for axis in "xyz"]
    assert float(np.linalg.norm(size)) < 0.1 * GRAVITY_MPS2


def test_phone_at_rest_feels_gravity_along_z() -> None:
    """Flat, screen up: accelerationIncludingGravity is (0, 0, 9.8) (W3C Device Orientation and Motion)."""
    for signs in (1.0, -1.0):
        made = make_phone(1, 0, "shake", signs=signs)
        rest = table_of(made).filter(pl.col("timestamp") < 2500.0)
        z = float(rest["accelerationIncludingGravity.z"].mean() or 0.0)
        assert z == pytest.approx(signs * GRAVITY_MPS2, abs=0.1)


def test_phone_shakes_and_throws_are_those_of_the_truth() -> None:
    """A sine of half-way X at f has the peak X (2 pi f)^2 (textbook); the way does not depend on the grid."""
    made = make_phone(3, 1, "shake", rate_hz=100.0)
    table = table_of(made)
    for shake in made.truth["shakes"]:
        within = table.filter(
            (pl.col("timestamp") > 1e3 * shake["from_s"]) & (pl.col("timestamp") < 1e3 * shake["to_s"])
        )
        peak = float(np.max(np.abs(within["acceleration.y"].to_numpy())))
        usual = shake["travel_m"] * (2.0 * np.pi * shake["rate_hz"]) ** 2
        assert peak == pytest.approx(usual, rel=0.2)
    assert len(make_phone(3, 1, "throw").truth["throws"]) == 5


@pytest.mark.parametrize("letter", "bd")
def test_truth_is_in_order(letter: str) -> None:
    """Phases follow one another without holes, and events come in the order of a launch."""
    for one in found(letter):
        launch = one.launches[0]
        if one.changes:
            continue
        made = make(setup_of(letter), derived_of(letter), seed=1, launch=launch, inputs=inputs_of(letter))
        spans = made.truth["phases"]
        assert all(a[2] == b[1] for a, b in itertools.pairwise(spans))
        events = made.truth["launches"][-1]["events"]
        order = [events[name] for name in ("wind_up", "stroke", "release", "handover") if name in events]
        assert order == sorted(order)

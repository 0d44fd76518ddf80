"""Synthetic recordings: the same bytes each time, and physics that add up."""

from __future__ import annotations

import io

import numpy as np
import polars as pl
import pytest

from overarm.air import GRAVITY_MPS2
from overarm.specimens import Options, Specimen, make
from tests.examples import derived_of, inputs_of, setup_of


def specimen(letter: str, launch: int = 0, **options: object) -> Specimen:
    return make(
        setup_of(letter),
        derived_of(letter),
        seed=1,
        launch=launch,
        options=Options(**options),  # type: ignore[arg-type]
        inputs=inputs_of(letter),
    )


def column(made: Specimen, name: str) -> tuple[np.ndarray, np.ndarray]:
    table = pl.read_csv(io.BytesIO(made.csv), infer_schema_length=None).filter(pl.col(name).is_not_null())
    return table["time_s"].to_numpy(), table[name].to_numpy()


def test_same_bytes() -> None:
    one, other = specimen("b"), specimen("b")
    assert one.csv == other.csv
    assert one.truth_json == other.truth_json
    assert specimen("b", 1).csv != one.csv


@pytest.mark.parametrize("letter", "abcde")
def test_at_rest_gravity_is_felt(letter: str) -> None:
    """At rest an accelerometer feels 1 g up, whatever way it lies (ISO 1151 axes; bias and noise allowed)."""
    made = specimen(letter)
    felt = [column(made, f"force_{axis}_mps2") for axis in "xyz"]
    rest = felt[0][0] < 10.0
    size = np.sqrt(sum(values[rest].mean() ** 2 for _, values in felt))
    assert size == pytest.approx(GRAVITY_MPS2, abs=0.4)


@pytest.mark.parametrize("letter", "abe")
def test_stroke_gives_the_throw_speed(letter: str) -> None:
    """The felt force less gravity, summed over the stroke, is the speed at release (Newton)."""
    made = specimen(letter)
    launch = made.truth["launches"][-1]
    t_s, x = column(made, "force_x_mps2")
    stroke = (t_s > launch["events"]["stroke"]) & (t_s < launch["events"]["release"])
    bias = launch["estimates"]["force_bias_mps2"] + GRAVITY_MPS2 * np.sin(
        launch["estimates"]["board_tilt_rad"] + launch["estimates"]["release_pitch_rad"]
    )
    gained = float(np.sum(x[stroke] - bias)) / 100.0
    assert gained == pytest.approx(launch["estimates"]["throw_speed_mps"], rel=0.06)

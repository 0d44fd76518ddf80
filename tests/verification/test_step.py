"""The step of the free flight: its error and its order (Hairer, Norsett, Wanner, *Solving Ordinary
Differential Equations I*, 2nd ed. (1993), section II.1: a rule of order two divides the error by
four when the step is halved)."""

from __future__ import annotations

import numpy as np
import pytest

from overarm.flight.campaign import fly_records, trace_record
from overarm.flight.inputs import overridden
from tests.examples import inputs_of

CALM = {"air.gust_scale": 0.0, "air.wind_10m_mps": 0.0, "board.noise_mps2": 0.0}
SECONDS = 2.0


def height_after(letter: str, step_s: float) -> float:
    inputs = overridden(inputs_of(letter), {**CALM, "logic.step_s": step_s})
    trace = trace_record(inputs, inputs.base, seed=1)
    # The first sample of the free flight is the first one with an incidence.
    start = trace["t_s"][np.nonzero(trace["alpha_rad"])[0][0]]
    assert trace["t_s"][-1] > start + SECONDS
    return float(np.interp(start + SECONDS, trace["t_s"], trace["height_m"]))


@pytest.mark.parametrize("letter", list("abcde"))
def test_height_after_two_seconds_is_within_one_centimetre(letter: str) -> None:
    assert height_after(letter, 0.01) == pytest.approx(height_after(letter, 0.0005), abs=0.01)


def test_flight_step_is_second_order() -> None:
    exact = height_after("d", 0.000625)
    errors = [abs(height_after("d", step) - exact) for step in (0.01, 0.005)]
    assert 1.5 < np.log2(errors[0] / errors[1]) < 3.0


def test_gusts_do_not_depend_on_the_step() -> None:
    """The same launches with a step of half the size keep their gusts: odds within noise."""
    inputs = overridden(inputs_of("b"), {"air.wind_10m_mps": 4.0})
    from overarm.flight.draw import draw

    records, _ = draw(inputs.base, inputs.rules, 400, 3)
    coarse = fly_records(inputs, records, 3)
    records["logic"]["step_s"] = 0.005
    fine = fly_records(inputs, records, 3)
    assert np.mean(coarse["outcome"] == fine["outcome"]) > 0.97

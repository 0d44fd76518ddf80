"""Each outcome can happen: one launch of an example, changed so that it must come to it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from overarm.flight.campaign import fly_records
from overarm.flight.inputs import overridden
from overarm.flight.outcomes import Outcome
from tests.examples import inputs_of

CALM = {"air.wind_10m_mps": 0.0, "air.gust_scale": 0.0}
CASES: list[tuple[Outcome, str, dict[str, float]]] = [
    (Outcome.CLEAN, "b", {}),
    (Outcome.FAILED_NUMERICALLY, "b", {"wing.lift_alpha": float("nan")}),
    (Outcome.HAND_AT_RISK, "b", {"logic.start_wait_s": 0.0, "motor.start_delay_s": 0.01}),
    (
        Outcome.FALSE_START,
        "b",
        {"hand.carry_pitch_rad": 1.2, "hand.carry_s": 0.4, "logic.start_wait_s": 2.5},
    ),
    (Outcome.HOOK_STUCK, "d", {"line.stuck": 1.0}),
    (Outcome.NO_START, "b", {"trigger.level_mps2": 90.0}),
    (Outcome.POWER_LOST, "b", {"pack.floor_volts": 16.0}),
    (Outcome.POWER_LOST, "c", {"pack.floor_volts": 12.0}),
    (Outcome.ROLLED_OVER, "b", {"hand.roll_rate_radps": 25.0, "surfaces.pitch_travel_rad": 0.05}),
    (Outcome.STALLED, "b", {"air.wind_10m_mps": -3.0, "hand.speed_mps": 7.0}),
    (Outcome.GROUNDED, "b", {"hand.path_rad": -0.4, "hand.pitch_rad": -0.4}),
    (Outcome.MUSHED, "c", {"logic.climb_pitch_rad": 0.03, "logic.launch_ceiling": 0.6}),
    (Outcome.DIPPED, "b", {"hand.height_m": 0.9, "hand.path_rad": -0.12, "hand.pitch_rad": 0.1}),
    (Outcome.OVER_HEIGHT, "b", {"logic.legal_ceiling_m": 20.0}),
]


@pytest.mark.parametrize(("outcome", "letter", "changes"), CASES)
def test_outcome_happens(outcome: Outcome, letter: str, changes: dict[str, float]) -> None:
    inputs = overridden(inputs_of(letter), {**CALM, "air.wind_10m_mps": 3.0, **changes})
    assert Outcome(int(fly_records(inputs, inputs.base, 1)["outcome"][0])) == outcome


def test_an_obstacle_in_the_way_is_struck() -> None:
    inputs = replace(inputs_of("b"), obstacles=np.array([[40.0, -50.0, 40.0, 50.0, 30.0]]))
    table = fly_records(inputs, inputs.base, 1)
    assert table["outcome"][0] == Outcome.STRUCK_OBSTACLE
    assert table["obstacle_gap_m"][0] < 0.0


def test_every_outcome_has_its_case() -> None:
    assert {case[0] for case in CASES} | {Outcome.STRUCK_OBSTACLE} == set(Outcome)

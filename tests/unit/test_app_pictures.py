"""What the odds room draws around the fan, held to the launches of a campaign and to the launch sheet."""

from __future__ import annotations

import numpy as np
import pytest

import overarm
from overarm.flight.inputs import inputs_of
from overarm.sheets.evidence import race_data
from overarm.sheets.launches import carpet_share
from overarm.sheets.reading import subject_of
from tests.examples import FILES, derived_of, setup_of
from tests.unit.test_app_rooms import holds
from tests.workbench import running

SETUP = {"text": FILES["b"].read_text("utf-8")}


def test_the_scene_shows_the_campaign_of_the_same_seed() -> None:
    form = {"setup": SETUP, "seed": 5, "traced": 6, "launches": 100}
    said = running().post("/api/odds/scene", form).json()
    holds("SceneAnswer", said)
    result = overarm.odds(setup_of("b"), 100, 5, trace=6)
    assert said["setup_hash"] == result.to_dict()["setup_hash"]
    subject = subject_of(
        setup_of("b"), derived_of("b"), inputs_of(setup_of("b"), derived_of("b")), result.table
    )
    race = race_data(subject, result.table, result.traces)
    assert said["race"]["hand_share"] == pytest.approx(race.hand_share.tolist(), abs=1e-3)
    assert said["race"]["earliest_s"] == pytest.approx(race.earliest_s)
    assert said["site"]["ahead"] == [{"name": "trees", "distance_m": 140.0, "height_m": 15.0}]
    assert said["airframe"]["span_m"] == 1.35
    assert said["failed"] == result.to_dict()["failed_launches"]
    first = said["failed"]["first"][-1]
    flown = running().post("/api/odds/trace", {"setup": SETUP, "seed": 5, "launch": first}).json()
    assert flown["outcome"] != "clean"
    assert len(said["middle"]["distance_m"]) == len(said["middle"]["speed_ratio"]) > 50


def test_a_change_moves_the_scene() -> None:
    form = {"setup": SETUP, "traced": 5, "launches": 25, "changes": {"settings.start_wait": "0.9 s"}}
    said = running().post("/api/odds/scene", form).json()
    assert said["race"]["wait_s"] == 0.9


def test_the_carpet_is_that_of_the_sheet_with_intervals() -> None:
    said = running().answer("/api/odds/carpet", {"setup": SETUP, "seed": 3, "launches": 50})
    holds("CarpetAnswer", said)
    shape = (len(said["speeds_mps"]), len(said["headwinds_mps"]))
    cells = np.array([[(c["low"], c["share"], c["high"]) for c in row] for row in said["cells"]])
    assert cells.shape == (*shape, 3)
    assert np.all(np.diff(cells, axis=2) >= 0)
    inputs = inputs_of(setup_of("b"), derived_of("b"))
    subject = subject_of(setup_of("b"), derived_of("b"), inputs, np.empty(0))
    share = carpet_share(inputs, 3, hand_share=subject.hand_share, line_speed_mps=None, launches=50)
    for i, j in ((0, 2), (2, 1), (5, 6)):
        assert cells[i, j, 1] == share(said["speeds_mps"][i], said["headwinds_mps"][j])

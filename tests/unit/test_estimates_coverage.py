"""The errors of the estimates are honest: over synthetic launches the truth lies within them often enough.

A normal error has 68 % of its values within one standard deviation and 95 % within two (any textbook). The
recordings and their truth come from `overarm.specimens`, which shares nothing with the estimators; the events
are true ones, moved by chance by as much as their errors say.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from overarm.recordings.estimates import estimates_of
from overarm.recordings.launch import Event, LaunchRecord
from overarm.recordings.reading import read_recording
from overarm.specimens import Options, make
from overarm.specimens.options import Rates
from tests.examples import derived_of, inputs_of, setup_of

EVENT_ERRORS_S = {
    "stroke": 0.02,
    "wind_up": 0.03,
    "shake": 0.05,
    "release": 0.015,
    "first_spin": 0.04,
    "climb": 0.1,
    "handover": 0.05,
    "ground": 0.05,
}
# Cue of a spinning propeller in the hand: the truth is without the shaking, which the board feels.
BY_THROW_ALONE = {"longest_above_s", "throw_peak_mps2"}
# The carry of the truth begins with the recording, that of these launches with listening.
NOT_COMPARED = {"carry_peak_mps2"}
EACH = 4


class Found(NamedTuple):
    """One estimate beside its truth."""

    letter: str
    name: str
    value: float
    error: float
    truth: float


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> list[Found]:
    """Return the estimates of four launches of each example setup."""
    rng = np.random.default_rng(12)
    folder: Path = tmp_path_factory.mktemp("specimens")
    told: list[Found] = []
    for letter in "abcde":
        for k in range(EACH):
            told += _of_one(letter, k, folder / f"{letter}{k}.csv", rng)
    return told


def _of_one(letter: str, k: int, file: Path, rng: np.random.Generator) -> list[Found]:
    setup, derived = setup_of(letter), derived_of(letter)
    options = Options(rates=Rates(airspeed_hz=20.0), extras=())
    seed = 400 + 100 * ord(letter) + k
    made = make(setup, derived, seed=seed, launch=k, options=options, inputs=inputs_of(letter))
    file.write_bytes(made.csv)
    recording = read_recording(file)
    told = []
    for one in made.truth["launches"]:
        if "estimates" not in one or "release" not in one["events"]:
            continue
        events = {
            name: Event(one["events"][name] + float(rng.normal(0.0, error)), error, "truth")
            for name, error in EVENT_ERRORS_S.items()
            if name in one["events"]
        }
        launch = LaunchRecord(1, "launch", one["from_s"], one["to_s"], (), events, one["ended"], ())
        for name, estimate in estimates_of(recording, launch, setup, derived).items():
            truth = one["estimates"].get(name)
            if truth is None or estimate.value is None or estimate.bound or name in NOT_COMPARED:
                continue
            told.append(Found(letter, name, estimate.value, estimate.error, float(truth)))
    return told


def _scores(found: list[Found], name: str) -> np.ndarray:
    """Return (value - truth)/error of one estimate."""
    used = [one for one in found if one.name == name and not (name in BY_THROW_ALONE and one.letter == "c")]
    return np.array([(one.value - one.truth) / one.error for one in used])


def test_enough_is_told(found: list[Found]) -> None:
    names = {one.name for one in found}
    assert len(names) >= 22
    for name in ("throw_speed_mps", "release_path_rad", "static_thrust_n", "low_point_m", "headwind_mps"):
        assert _scores(found, name).size >= 12


def test_the_truth_is_within_the_errors_as_often_as_it_should_be(found: list[Found]) -> None:
    """Over all estimates; errors rather a little too large than too small."""
    names = sorted({one.name for one in found})
    scores = np.abs(np.concatenate([_scores(found, name) for name in names]))
    assert 0.64 < np.mean(scores < 1.0) < 0.92
    assert np.mean(scores < 2.0) > 0.92
    assert np.mean(scores < 3.0) > 0.97


def test_no_estimate_is_overconfident(found: list[Found]) -> None:
    """Each by itself; 20 launches leave a standard error of 10 % in a share of 68 %."""
    for name in sorted({one.name for one in found}):
        scores = np.abs(_scores(found, name))
        if scores.size < 10:
            continue
        assert np.mean(scores < 1.0) > 0.4, (name, np.sort(scores)[-5:])
        assert np.mean(scores < 3.0) > 0.84, (name, np.sort(scores)[-5:])
        assert np.median(scores) < 1.3, name


def test_errors_are_as_small_as_the_trade_expects(found: list[Found]) -> None:
    """What such a log can tell (common practice, no source): root mean squares over all launches."""
    most = {
        "throw_speed_mps": 0.5,
        "release_path_rad": np.radians(5.0),
        "release_pitch_rad": np.radians(5.0),
        "release_bank_rad": np.radians(5.0),
        "headwind_mps": 1.0,
        "sink_m": 0.3,
        "satellite_lag_s": 0.05,
        "climb_mps": 0.3,
        "thrust_match_after_s": 0.2,
    }
    for name, limit in most.items():
        off = np.array([one.value - one.truth for one in found if one.name == name])
        assert float(np.sqrt(np.mean(off**2))) < limit, name
    shares = np.array([one.value / one.truth - 1.0 for one in found if one.name == "static_thrust_n"])
    assert float(np.median(np.abs(shares))) < 0.12

"""Phases of synthetic recordings with the truth beside them: the five examples, and what can go wrong."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from overarm.recordings.launch import Event, LaunchRecord, Phase, Phases
from overarm.recordings.phases import phases_of
from overarm.recordings.reading import opened
from overarm.recordings.recording import Recording
from overarm.specimens import Options, make
from overarm.specimens.options import Rates
from tests.examples import derived_of, inputs_of, setup_of
from tests.throws import recorded

USUAL = Options()
SEED = 11
RATES_400 = Rates(400.0, 10.0, 5.0, 25.0, 25.0, 10.0, airspeed_hz=10.0)


def recording_of(
    folder: Path, letter: str, launch: int = 0, options: Options = USUAL
) -> tuple[Recording, dict[str, Any]]:
    """Return a cleaned synthetic recording and its truth."""
    made = make(
        setup_of(letter),
        derived_of(letter),
        seed=SEED,
        launch=launch,
        options=options,
        inputs=inputs_of(letter),
    )
    file = folder / f"{letter}.csv"
    file.write_bytes(made.csv)
    return opened(file), made.truth


def found_in(
    folder: Path, letter: str, launch: int = 0, options: Options = USUAL
) -> tuple[Phases, list[dict[str, Any]]]:
    recording, truth = recording_of(folder, letter, launch, options)
    return phases_of(recording, setup_of(letter)), truth["launches"]


def kinds(found: Phases) -> list[str]:
    return [launch.kind for launch in found.launches]


def far(event: Event, t_s: float) -> float:
    """Return how many standard errors an event is from the truth."""
    return abs(event.t_s - t_s) / event.error_s


def held_to(launch: LaunchRecord, truth: dict[str, Any], names: tuple[str, ...], most: float = 4.0) -> None:
    """Hold events to the truth within a few of their own standard errors."""
    told = truth["events"]
    for name in names:
        if name in told:
            assert far(launch.events[name], told[name]) < most, (name, launch.events[name], told[name])


@pytest.mark.parametrize("letter", "abcde")
def test_a_clean_launch(tmp_path: Path, letter: str) -> None:
    found, (truth,) = found_in(tmp_path, letter, 1)
    assert kinds(found) == ["launch"]
    launch = found.launches[0]
    names = ("release", "stroke", "first_throttle", "first_spin", "climb", "handover", "shake", "wind_up")
    held_to(launch, truth, names)
    assert launch.ended == truth["ended"] == "handed over"
    assert launch.events["release"].error_s < (0.03 if letter in "abe" else 0.15)
    pulled = any("launch from a line" in remark for remark in launch.remarks)
    assert pulled == (letter == "d")
    assert (Phase.SHAKEN in [span.phase for span in launch.spans]) == (letter == "c")


@pytest.mark.parametrize("number", [0, 11])
def test_a_start_that_the_motor_hides_has_a_wide_error(tmp_path: Path, number: int) -> None:
    """C spins its motor in the hand: here the forward force never comes to rest before the stroke."""
    found, (truth,) = found_in(tmp_path, "c", number)
    stroke = found.launches[0].events["stroke"]
    assert stroke.method == "the forward force rises"
    assert far(stroke, truth["events"]["stroke"]) < 3.0


@pytest.mark.parametrize(
    "rates",
    [
        Rates(inertial_hz=25.0, attitude_hz=10.0),
        Rates(inertial_hz=10.0, attitude_hz=10.0),
        Rates(throttle_hz=0.0),
        Rates(throttle_hz=0.0, power_hz=0.0),
        Rates(100.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    ],
    ids=["25 Hz", "10 Hz", "no throttle", "no motor", "forces alone"],
)
def test_with_less_recorded(tmp_path: Path, rates: Rates) -> None:
    found, (truth,) = found_in(tmp_path, "b", 1, Options(rates=rates))
    assert kinds(found) == ["launch"]
    launch = found.launches[0]
    held_to(launch, truth, ("release", *(name for name in ("handover", "climb") if name in launch.events)))
    if rates.baro_hz or rates.satellite_hz:
        assert "handover" in launch.events


@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 10.0])
def test_a_track(tmp_path: Path, rate_hz: float) -> None:
    """Satellite alone: coarse, but the launch and its handover are there."""
    recording, told = recording_of(tmp_path, "b", 1, Options(rates=Rates(satellite_hz=rate_hz)))
    names = ("ground_speed_mps", "satellite_height_m", "latitude_rad", "longitude_rad")
    found = phases_of(recorded({name: recording.channels[name] for name in names}), setup_of("b"))
    assert kinds(found) == ["launch"]
    launch = found.launches[0]
    held_to(launch, told["launches"][0], ("release", "handover"))
    assert launch.ended == "handed over"
    assert any("No force" in remark for remark in launch.remarks)


@pytest.mark.parametrize("letter", "bc")
def test_carried_turned_shaken_and_broken_off(tmp_path: Path, letter: str) -> None:
    """One throw broken off, then the launch: by all channels, and by the forces alone."""
    extras = ("turn round", "nose-up carry", "shake", "aborted throw")
    for rates in (Rates(), Rates(100.0, 0.0, 0.0, 0.0, 0.0, 0.0)):
        found, truth = found_in(tmp_path, letter, 2, Options(extras=extras, rates=rates))
        assert kinds(found) == ["aborted throw", "launch"]
        assert found.launches[0].ended == "in the hand"
        held_to(found.launches[1], truth[1], ("release",))


@pytest.mark.parametrize(("launch", "carried"), [(98, "turn round"), (49, "")])
def test_a_throw_broken_off_after_a_restless_carry(tmp_path: Path, launch: int, carried: str) -> None:
    """It gives 3.3 m/s, little more than the least of a stroke, and ends when the arm is at rest."""
    made = make(
        setup_of("a"),
        derived_of("a"),
        seed=1,
        launch=launch,
        options=Options(
            rates=RATES_400, extras=("turn round", "aborted throw") if carried else ("aborted throw",)
        ),
        inputs=inputs_of("a"),
    )
    file = tmp_path / "a.csv"
    file.write_bytes(made.csv)
    found = phases_of(opened(file), setup_of("a"))
    assert kinds(found) == ["aborted throw", "launch"]
    aborted = made.truth["launches"][0]
    assert found.launches[0].events["stroke"].t_s == pytest.approx(aborted["events"]["stroke"], abs=0.1)
    assert found.launches[0].to_s == pytest.approx(aborted["to_s"], abs=0.3)


def test_a_weak_throw_under_power_has_an_honest_release(tmp_path: Path) -> None:
    """The force hardly falls at release, and has no gap that the release could lie in."""
    made = make(setup_of("c"), derived_of("c"), seed=3015, launch=15, inputs=inputs_of("c"))
    file = tmp_path / "c.csv"
    file.write_bytes(made.csv)
    (launch,) = phases_of(opened(file), setup_of("c")).launches
    truth = made.truth["launches"][0]["events"]["release"]
    assert far(launch.events["release"], truth) < 2.0
    assert launch.events["release"].t_s == pytest.approx(truth, abs=0.2)


def test_two_launches_in_a_file(tmp_path: Path) -> None:
    found, truth = found_in(tmp_path, "a", 3, Options(second=4))
    assert kinds(found) == ["launch", "launch"]
    for launch, told in zip(found.launches, truth, strict=True):
        held_to(launch, told, ("release", "first_throttle", "handover"))


def test_starts_in_the_air(tmp_path: Path) -> None:
    found, _ = found_in(tmp_path, "a", 1, Options(before="in the air"))
    assert kinds(found) == ["already in the air"]


def test_the_log_ends_in_flight(tmp_path: Path) -> None:
    found, (truth,) = found_in(tmp_path, "b", 1, Options(after="log ends"))
    assert kinds(found) == ["launch"]
    assert found.launches[0].ended == truth["ended"] == "log ends"


@pytest.mark.parametrize("defect", ["gap", "gap in flight", "jitter", "duplicates"])
def test_with_a_defect(tmp_path: Path, defect: str) -> None:
    found, (truth,) = found_in(tmp_path, "b", 5, Options(defects=(defect,)))
    assert kinds(found) == ["launch"]
    held_to(found.launches[0], truth, ("release",))


def test_the_state_alone_decides_nothing(tmp_path: Path) -> None:
    """A recorded state that is false from the start to the end changes no phase but the end of a climb."""
    recording, told = recording_of(tmp_path, "b", 6, Options(rates=Rates(state_hz=10.0)))
    state = recording.channels["state"]
    luck = np.random.default_rng(1)
    wrong = type(state)(state.t_s, luck.integers(0, 9, state.t_s.size).astype(float), "made up")
    lying = recorded({**recording.channels, "state": wrong})
    found = phases_of(lying, setup_of("b"))
    assert kinds(found) == ["launch"]
    held_to(found.launches[0], told["launches"][0], ("release", "first_throttle", "handover"))


def test_errors_are_honest(tmp_path: Path) -> None:
    """Over many launches the truth is within one standard error about as often as a normal one would be."""
    far_off: dict[str, list[float]] = {}
    for letter in "abe":
        for launch in range(20, 24):
            found, (truth,) = found_in(tmp_path, letter, launch)
            for name, event in found.launches[0].events.items():
                if name in truth["events"]:
                    far_off.setdefault(name, []).append(far(event, truth["events"][name]))
    for name in ("release", "stroke", "first_throttle", "first_spin", "handover", "climb"):
        assert len(far_off[name]) >= 9
        assert np.mean(np.array(far_off[name]) < 1.0) >= 0.5, (name, far_off[name])
        assert np.mean(np.array(far_off[name]) < 3.0) >= 0.9, (name, far_off[name])


def test_rows_in_any_order_are_no_crash(tmp_path: Path) -> None:
    """A table that was sorted by another column: its clock cannot be trusted, which is told, and no more."""
    made = make(setup_of("b"), derived_of("b"), seed=3, launch=0)
    head, *rows = made.csv.decode().splitlines()
    random.Random(1).shuffle(rows)
    file = tmp_path / "mixed.csv"
    file.write_text("\n".join([head, *rows]) + "\n")
    recording = opened(file)
    assert any(repair.word == "stop" for repair in recording.repairs)
    for launch in phases_of(recording, setup_of("b")).launches:
        assert launch.spans

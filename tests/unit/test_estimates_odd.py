"""Estimates of odd launches: no thrust, a trigger that fired long before, a late low point, the ground."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from overarm.recordings.estimates import estimates_of
from overarm.recordings.estimates.thrust import fit_thrust
from overarm.recordings.launch import Estimate, Event, LaunchRecord
from overarm.recordings.recording import Channel, Recording
from tests.examples import derived_of, setup_of
from tests.thrown import Numbers, Throw, launch_of, recording_of

THROW = Throw(noise_mps2=0.1)


def _with(recording: Recording, name: str, t_s: Numbers, values: Numbers) -> Recording:
    more = Channel(t_s, values, name)
    return dataclasses.replace(recording, channels={**recording.channels, name: more})


def _with_throttle(recording: Recording, until_s: float, rise_per_s: float = 0.5) -> Recording:
    """Add a throttle that opens 0.6 s after the stroke began."""
    t = np.arange(0.0, until_s, 0.04)
    return _with(recording, "throttle", t, np.clip(rise_per_s * (t - THROW.begins_s - 0.6), 0.0, 0.95))


def _with_event(launch: LaunchRecord, name: str, t_s: float, error_s: float = 0.03) -> LaunchRecord:
    return launch._replace(events={**launch.events, name: Event(t_s, error_s, "truth")})


def _told(recording: Recording, launch: LaunchRecord) -> dict[str, Estimate]:
    return estimates_of(recording, launch, setup_of("b"), derived_of("b"))


@pytest.mark.parametrize("thrust_n", [-8.0, 0.0])
def test_no_factor_makes_a_drive_brake(thrust_n: float) -> None:
    """A model of the thrust times a positive factor is never negative: there is no fit, and no error."""
    throttle = np.linspace(0.3, 0.95, 12)
    assert fit_thrust(np.full(12, thrust_n), 14.0 * throttle**1.75, throttle, np.full(12, 0.3)) is None
    nothing = np.zeros(0)
    assert fit_thrust(nothing, nothing, nothing, nothing) is None


def test_thrust_that_does_not_show_is_not_told() -> None:
    """Under full throttle the model is braked by 1 g, as by a tree: no thrust can be read from that."""
    recording = _with_throttle(recording_of(THROW, lasts_s=12.0), 12.0)
    force = recording.channels["force_x_mps2"]
    braked = np.where(force.t_s > THROW.release_s + 0.3, -9.8, force.values)
    t = np.arange(0.0, 12.0, 0.05)
    recording = _with(recording, "force_x_mps2", force.t_s, braked)
    recording = _with(recording, "airspeed_mps", t, np.where(t > THROW.begins_s, 10.0, 0.0))
    launch = _with_event(launch_of(THROW, to_s=12.0), "first_spin", THROW.begins_s + 0.9)
    thrust = _told(recording, launch)["static_thrust_n"]
    assert thrust.value is None
    assert "no thrust" in thrust.why_not


def test_a_throttle_still_rising_at_the_end_is_a_bound() -> None:
    ends_s = THROW.begins_s + 3.6
    recording = _with_throttle(recording_of(THROW, lasts_s=ends_s), ends_s, 0.2)
    ceiling = _told(recording, launch_of(THROW, to_s=ends_s))["throttle_ceiling"]
    assert ceiling.bound == "at least"
    assert ceiling.value == pytest.approx(0.6, abs=0.02)


def test_a_trigger_that_fired_long_before_did_not_start_this_launch() -> None:
    """The cue stays over its level for ten seconds before the throw, so it never listens again."""
    late = dataclasses.replace(THROW, begins_s=16.0)
    recording = recording_of(late, lasts_s=19.0)
    force = recording.channels["force_x_mps2"]
    loud = np.where((force.t_s > 4.0) & (force.t_s < late.begins_s), 12.0, force.values)
    recording = _with(recording, "force_x_mps2", force.t_s, loud)
    t = np.arange(0.0, 19.0, 0.04)
    recording = _with(recording, "throttle", t, np.clip(2.0 * (t - 16.6), 0.0, 0.95))
    found = _told(recording, launch_of(late, to_s=19.0))
    for name in ("start_wait_s", "detection_to_release_s"):
        assert found[name].value is None
        assert "too early" in found[name].why_not


def test_the_least_speed_is_that_of_the_flight_not_of_the_ground() -> None:
    lands_s = 8.0
    recording = recording_of(THROW)
    t = np.arange(0.0, 9.0, 0.05)
    speed = np.where(t < THROW.begins_s, 0.0, np.where(t < lands_s, 9.0, 0.0))
    recording = _with(recording, "airspeed_mps", t, speed)
    ratio = _told(recording, _with_event(launch_of(THROW), "ground", lands_s))["low_speed_ratio"]
    assert ratio.value == pytest.approx(9.0 / derived_of("b").stall_speed_mps, abs=2.0 * ratio.error)


def test_a_low_point_long_after_release_is_found_by_air_pressure() -> None:
    """It flies level for 20 s, sinks by 1.2 m in 4 s and climbs away (the made-up truth)."""
    level = dataclasses.replace(THROW, path_rad=0.0, pitch_rad=0.0, decay_mps2=0.0)
    recording = recording_of(level, lasts_s=45.0)
    t = np.arange(0.0, 45.0, 0.04)
    noise = np.random.default_rng(1).normal(0.0, 0.1, t.size)
    way = np.interp(t, [26.0, 30.0, 33.0, 45.0], [0.0, -1.2, -1.2, 3.0])
    recording = _with(recording, "baro_height_m", t, 37.0 + level.height_m + way + noise)
    found = _told(recording, launch_of(level, to_s=45.0))
    sink, low = found["sink_m"], found["low_point_m"]
    assert sink.value == pytest.approx(1.2, abs=2.0 * sink.error)
    assert sink.error < 0.5
    assert low.value == pytest.approx(level.height_m - 1.2, abs=2.0 * low.error)


def test_ground_that_nothing_felt_and_the_height_denies_is_no_low_point() -> None:
    """The state model says down, without a blow; the height by air pressure stays that of release."""
    level = dataclasses.replace(THROW, path_rad=0.0, pitch_rad=0.0, decay_mps2=0.0)
    recording = recording_of(level)
    denied = _told(recording, _with_event(launch_of(level), "ground", 8.0, 0.6))["low_point_m"]
    assert denied.value == pytest.approx(level.height_m, abs=3.0 * denied.error)
    felt = _told(recording, _with_event(launch_of(level), "ground", 8.0, 0.03))["low_point_m"]
    assert felt.value == 0.0


def test_the_arm_that_broke_a_throw_off_is_no_carry() -> None:
    """The launch begins where the last one ends; half a second later the arm is at rest."""
    recording = recording_of(THROW)
    force = recording.channels["force_x_mps2"]
    swings = np.where(force.t_s < 1.3, force.values + 20.0, force.values)
    recording = _with(recording, "force_x_mps2", force.t_s, swings)
    launch = launch_of(THROW)._replace(from_s=1.2)
    peak = _told(recording, launch)["carry_peak_mps2"]
    assert peak.value is not None
    assert peak.value < 5.0

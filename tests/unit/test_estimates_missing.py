"""Estimates of launches that lack something: every name is told, with a value or the reason for none."""

from __future__ import annotations

import dataclasses
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.recordings.estimates import estimates_of, events_and_estimates, with_estimated_events
from overarm.recordings.launch import ESTIMATES, Estimate, Event, LaunchRecord
from overarm.recordings.recording import Channel, Recording
from tests.examples import derived_of, setup_of
from tests.thrown import Throw, launch_of, recording_of

THROW = Throw(noise_mps2=0.1)
WHOLE = recording_of(THROW)


def _with_drive(recording: Recording, throw: Throw) -> Recording:
    """Add a throttle that opens 0.6 s after the stroke began and rises at 2 a second to 0.95."""
    t = np.arange(0.0, 9.0, 0.04)
    throttle = np.clip(2.0 * (t - throw.begins_s - 0.6), 0.0, 0.95)
    return dataclasses.replace(
        recording, channels={**recording.channels, "throttle": Channel(t, throttle, "throttle")}
    )


def _without(recording: Recording, *names: str) -> Recording:
    return dataclasses.replace(
        recording, channels={k: v for k, v in recording.channels.items() if k not in names}
    )


def _told(recording: Recording, launch: LaunchRecord, letter: str = "b") -> dict[str, Estimate]:
    return estimates_of(recording, launch, setup_of(letter), derived_of(letter))


def _sound(found: dict[str, Estimate]) -> None:
    """Every name is there; a value has a finite error and a method, none has a reason."""
    assert list(found) == list(ESTIMATES)
    for name, one in found.items():
        assert one.name == name
        if one.value is None:
            assert one.why_not.endswith("."), (name, one)
        else:
            assert np.isfinite([one.value, one.error]).all()
            assert one.error >= 0.0
            assert one.method
            assert not one.why_not


@pytest.mark.parametrize("missing", sorted(WHOLE.channels))
def test_any_one_channel_may_be_missing(missing: str) -> None:
    _sound(_told(_without(_with_drive(WHOLE, THROW), missing), launch_of(THROW)))


def test_a_height_once_a_second_alone_tells_no_low_point() -> None:
    """A free fall of 0.5 s, caught in another 0.5 s, is over a metre deep and lies between two samples."""
    kept = {name: c for name, c in WHOLE.channels.items() if not name.startswith(("force", "baro"))}
    baro = WHOLE.channels["baro_height_m"]
    sparse = baro.t_s.searchsorted(np.arange(0.0, 9.0, 1.0))
    sparse = sparse[sparse < baro.t_s.size]
    kept["baro_height_m"] = Channel(baro.t_s[sparse], baro.values[sparse], "once a second")
    found = _told(dataclasses.replace(WHOLE, channels=kept), launch_of(THROW))
    assert found["low_point_m"].value is None
    assert "a dip between two is not seen" in found["low_point_m"].why_not
    dense = dataclasses.replace(WHOLE, channels={**kept, "baro_height_m": baro})
    assert _told(dense, launch_of(THROW))["low_point_m"].value is not None


@settings(max_examples=60, deadline=None)
@given(
    kept=st.sets(st.sampled_from(sorted([*WHOLE.channels, "throttle"]))),
    every=st.integers(1, 40),
    from_s=st.floats(0.0, 7.0),
    to_s=st.floats(5.5, 9.0),
    setup=st.booleans(),
)
def test_any_channels_at_any_rate_over_any_part(
    kept: set[str], every: int, from_s: float, to_s: float, setup: bool
) -> None:
    whole = _with_drive(WHOLE, THROW)
    channels = {}
    for name in kept:
        channel = whole.channels[name]
        used = (channel.t_s >= from_s) & (channel.t_s <= to_s)
        channels[name] = Channel(channel.t_s[used][::every], channel.values[used][::every], name)
    launch = launch_of(THROW)._replace(from_s=min(from_s, 6.0), to_s=to_s)
    recording = dataclasses.replace(whole, channels=channels)
    given_setup = (setup_of("b"), derived_of("b")) if setup else (None, None)
    _sound(estimates_of(recording, launch, *given_setup))
    with_estimated_events(recording, launch, *given_setup)


def test_nothing_was_seen() -> None:
    """A launch already in the air has no stroke and no release: all of the throw is told as unknown."""
    launch = launch_of(THROW)._replace(events={}, kind="already in the air")
    found = _told(WHOLE, launch)
    _sound(found)
    for name in ("throw_speed_mps", "release_pitch_rad", "stroke_time_s", "low_point_m", "climb_mps"):
        assert found[name].value is None


def test_without_forces_the_satellite_tells_the_speed() -> None:
    found = _told(_without(WHOLE, "force_x_mps2"), launch_of(THROW))
    speed = found["throw_speed_mps"]
    assert speed.value == pytest.approx(THROW.speed_mps, abs=1.0)
    assert 0.2 < speed.error < 2.0
    assert "satellite" in speed.method
    assert "force less gravity" not in speed.method


def test_a_clipped_force_leaves_the_satellite_and_alone_a_bound() -> None:
    throw = dataclasses.replace(THROW, range_mps2=25.0)
    recording = recording_of(throw)
    both = _told(recording, launch_of(throw))["throw_speed_mps"]
    assert both.value == pytest.approx(throw.speed_mps, abs=2.5 * both.error)
    assert "clipped" in both.method
    assert both.bound == ""
    alone = _told(_without(recording, "ground_speed_mps", "climb_mps"), launch_of(throw))["throw_speed_mps"]
    assert alone.bound == "at least"
    assert alone.value is not None
    assert alone.value < throw.speed_mps
    length = _told(recording, launch_of(throw))["stroke_length_m"]
    assert length.value is None
    assert "range" in length.why_not


def test_detection_is_told_by_the_rate_of_the_samples() -> None:
    """At least 50 Hz: told; 25 to 50: coarse; below: cannot tell (domain rule)."""
    for rate, word in ((100.0, "replayed"), (40.0, "coarse"), (20.0, "")):
        throw = dataclasses.replace(THROW, rate_hz=rate)
        recording = _with_drive(recording_of(throw), throw)
        found = _told(recording, launch_of(throw))
        detection, wait = found["detection_to_release_s"], found["start_wait_s"]
        if word:
            assert detection.value is not None
            assert word in detection.method
            assert wait.value is not None
        else:
            assert detection.value is None
            assert wait.value is None
            assert "few" in detection.why_not


def test_detection_wait_and_rise_of_a_known_throw() -> None:
    """The cue of a half sine without a filter passes 8 m/s2 where sin(pi t/T) does, and lasts the dwell."""
    setup = setup_of("b")
    recording = _with_drive(recording_of(Throw()), Throw())
    launch = launch_of(Throw())
    found = _told(recording, launch)
    assert found["throttle_rise_per_s"].value == pytest.approx(2.0, rel=0.01)
    assert found["throttle_ceiling"].value == pytest.approx(0.95, abs=0.002)
    peak = 0.25 * np.pi * Throw().speed_mps ** 2 / Throw().stroke_m
    level = setup.settings.jerk_level_mps2.value - 9.80665 * np.sin(Throw().pitch_rad)
    lag = 1.0 / (2.0 * np.pi * setup.airframe.board.filter_hz.value)  # of a slow rise through the low pass
    over = Throw().stroke_s / np.pi * np.arcsin(level / peak) + lag
    fires = over + setup.settings.jerk_dwell_s.value
    to_release = found["detection_to_release_s"]
    assert to_release.value == pytest.approx(Throw().stroke_s - fires, abs=0.02)
    assert found["start_wait_s"].value == pytest.approx(0.6 - fires, abs=0.02)


def test_events_are_added_and_seen_ones_kept() -> None:
    recording = _with_drive(WHOLE, THROW)
    launch = launch_of(THROW)
    more = with_estimated_events(recording, launch, setup_of("b"), derived_of("b"))
    assert {"detection", "clear"} <= set(more.events)
    release, clear = more.events["release"].t_s, more.events["clear"].t_s
    reach = derived_of("b").hand_reach
    assert reach is not None
    assert 0.7 * reach.p50_s < clear - release < reach.p99_s
    seen = Event(5.5, 0.1, "the recorder said so")
    kept = launch._replace(events={**launch.events, "detection": seen})
    assert with_estimated_events(recording, kept, setup_of("b")).events["detection"] == seen
    bare = with_estimated_events(recording, launch)
    assert dict(bare.events) == dict(launch.events)


def test_gravity_taken_off_is_put_back() -> None:
    """The same throw without gravity in its forces gives the same speed."""
    t = WHOLE.channels["force_x_mps2"].t_s
    rest = {
        "force_x_mps2": 9.80665 * np.sin(THROW.pitch_rad),
        "force_y_mps2": 0.0,
        "force_z_mps2": -9.80665 * np.cos(THROW.pitch_rad),
    }
    free = {name: Channel(t, WHOLE.channels[name].values - g, name) for name, g in rest.items()}
    recording = dataclasses.replace(WHOLE, channels={**WHOLE.channels, **free}, gravity_felt=False)
    one, other = (_told(r, launch_of(THROW))["throw_speed_mps"] for r in (WHOLE, recording))
    assert one.value == pytest.approx(other.value, abs=0.02)


def test_speed_ratio_without_airspeed_is_a_band_in_words() -> None:
    ratio = _told(WHOLE, launch_of(THROW))["low_speed_ratio"]
    assert ratio.value is None
    assert "no airspeed" in ratio.why_not
    assert "band from" in ratio.why_not


def test_tilt_is_not_claimed_where_nothing_shows_it() -> None:
    """The recorded pitch is exactly that of the accelerometers: a tilt would be in both."""
    found = _told(recording_of(Throw()), launch_of(Throw()))
    assert found["board_tilt_rad"].value is None
    assert found["force_bias_mps2"].value is None
    assert "nose up" in found["force_bias_mps2"].why_not


def test_one_launch_of_an_hour_is_quick() -> None:
    """The launch is cut out of the hour; 0.3 s is asked for, a busy machine gets more."""
    long = {}
    for name, channel in _with_drive(WHOLE, THROW).channels.items():
        step = float(np.median(np.diff(channel.t_s)))
        before = np.arange(-3000.0, -step / 2, step)
        t = np.concatenate([before, channel.t_s]) + 3000.0
        long[name] = Channel(
            t, np.concatenate([np.full(before.size, channel.values[0]), channel.values]), name
        )
    recording = dataclasses.replace(WHOLE, channels=long)
    events = {k: v._replace(t_s=v.t_s + 3000.0) for k, v in launch_of(THROW).events.items()}
    launch = launch_of(THROW)._replace(from_s=3000.0, to_s=3009.0, events=events)
    _told(recording, launch)
    begin = time.perf_counter()
    found = _told(recording, launch)
    assert time.perf_counter() - begin < 1.0
    assert found["throw_speed_mps"].value == pytest.approx(THROW.speed_mps, abs=0.3)


@pytest.mark.parametrize("with_setup", [True, False])
def test_events_and_estimates_together_are_those_of_each(with_setup: bool) -> None:
    recording, launch = _with_drive(WHOLE, THROW), launch_of(THROW)
    given_setup = (setup_of("b"), derived_of("b")) if with_setup else ()
    record, found = events_and_estimates(recording, launch, *given_setup)
    assert record == with_estimated_events(recording, launch, *given_setup)
    assert found == estimates_of(recording, record, *given_setup)

"""Values that are no number, cannot be, stand still, stop at an end or jump; and units."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest

from overarm.recordings.cleaning import clean
from overarm.recordings.recording import Recording
from tests.mending import FORCES, RATES, Numbers, found, launch, recording, scaled, with_channel

RNG = np.random.default_rng(5)
T_S = np.arange(0.0, 30.0, 0.01)
DEGREES = 180.0 / math.pi


@pytest.mark.parametrize("letter", "abcde")
def test_a_clean_launch_comes_back_as_it_is(letter: str) -> None:
    whole = launch(letter)
    assert clean(whole) is whole


def test_samples_without_a_number_are_left_out_and_counted() -> None:
    values = RNG.normal(size=T_S.size)
    bad = values.copy()
    bad[[10, 500, 501]] = np.nan, np.inf, -np.inf
    whole = recording({"force_x_mps2": (T_S, bad)})
    (repair,) = found(whole, "not finite")
    assert (repair.channel, repair.times, repair.from_s, repair.to_s) == ("force_x_mps2", 3, 0.1, 5.01)
    assert np.array_equal(clean(whole).channels["force_x_mps2"].values, np.delete(values, [10, 500, 501]))


def test_values_that_cannot_be_are_left_out_and_counted() -> None:
    volts = 12.0 + 0.01 * RNG.normal(size=T_S.size)
    volts[[100, 200]] = 655.35, -3.0
    whole = recording({"volts_v": (T_S, volts)})
    (repair,) = found(whole, "beyond range")
    assert (repair.channel, repair.times) == ("volts_v", 2)
    assert (repair.from_s, repair.to_s) == pytest.approx((1.0, 2.0))
    assert clean(whole).channels["volts_v"].values.size == T_S.size - 2


STUCK = ("force_y_mps2", "pitch_rate_radps", "pitch_rad", "baro_height_m", "airspeed_mps", "ground_speed_mps")


@pytest.mark.parametrize("name", STUCK)
def test_a_sensor_that_stands_still_in_flight_is_left_out_from_there(name: str) -> None:
    whole = launch("b")
    channel = whole.channels[name]
    stands = channel.t_s > 10.5
    values = np.where(stands, channel.values[stands][0], channel.values)
    (repair,) = found(with_channel(whole, name, values), "stuck")
    assert (repair.channel, repair.word) == (name, "watch")
    assert repair.times == int(stands.sum())
    assert repair.from_s == channel.t_s[stands][0]
    assert clean(with_channel(whole, name, values)).channels[name].t_s.max() < 10.51


def test_a_sensor_that_never_moves_is_left_out_altogether() -> None:
    whole = launch("b")
    dead = with_channel(whole, "force_y_mps2", np.full_like(whole.channels["force_y_mps2"].values, 0.25))
    (repair,) = found(dead, "stuck")
    assert repair.word == "stop"
    assert clean(dead).channel("force_y_mps2") is None


def test_a_throttle_that_stands_at_full_is_not_stuck() -> None:
    assert float(np.ptp(launch("a").channels["throttle"].values[-40:])) == 0.0
    assert not found(launch("a"), "stuck")


UNITS = [
    (FORCES, 1.0 / 9.80665, "g", "stop"),
    (FORCES, 100.0, "cm/s2", "stop"),
    (FORCES, 1.0 / 0.3048, "ft/s2", "stop"),
    (("pitch_rad",), DEGREES, "degrees", "stop"),
    (("heading_rad",), DEGREES, "degrees", "stop"),
    (("latitude_rad",), DEGREES, "degrees", "stop"),
    (RATES, DEGREES, "degrees a second", "stop"),
    (RATES, 1.0 / DEGREES, "radians", "stop"),
    (("throttle",), 100.0, "per cent", "stop"),
    (("volts_v",), 1000.0, "thousandths of a volt", "stop"),
    (("current_a",), 1000.0, "thousandths of an ampere", "stop"),
    (("ground_speed_mps",), 3.6, "km/h", "stop"),
    (("ground_speed_mps",), 3600.0 / 1852.0, "knots", "stop"),
    (("climb_mps",), 1.0 / 0.00508, "ft/min", "stop"),
    (("climb_mps",), -1.0, "downwards", "stop"),
    (("baro_height_m",), 1.0 / 0.3048, "feet", "stop"),
    (("baro_height_m",), 100.0, "cm", "stop"),
    (("propeller_radps",), 30.0 / math.pi, "turns a minute", "stop"),
    (("airspeed_mps",), 3.6, "km/h", "watch"),
]


@pytest.mark.parametrize(("by", "unit"), [(0.3048, "though feet are said"), (1.0 / 0.3048, "feet")])
def test_of_two_heights_and_a_climb_the_odd_one_is_left_out(by: float, unit: str) -> None:
    """Height by satellite and rate of climb agree: the height by air pressure is the one to doubt."""
    wrong = scaled(launch("b"), ("baro_height_m",), by)
    assert {"climb_mps", "satellite_height_m"} <= set(wrong.channels)
    (repair,) = found(wrong, "unit")
    assert (repair.channel, repair.word) == ("baro_height_m", "stop")
    assert unit in repair.sentence
    assert clean(wrong).channel("climb_mps") is wrong.channels["climb_mps"]


@pytest.mark.parametrize(("names", "by", "unit", "word"), UNITS)
def test_another_unit_is_told_and_never_converted(
    names: tuple[str, ...], by: float, unit: str, word: str
) -> None:
    wrong = scaled(launch("b"), names, by)
    (repair,) = found(wrong, "unit")
    assert (repair.channel, repair.word) == (names[0], word)
    assert unit in repair.sentence
    assert "say the unit in the mapping" in repair.sentence
    cleaned = clean(wrong)
    for name in names:
        left = cleaned.channel(name)
        assert left is None if word == "stop" else left is wrong.channels[name]


def test_a_pulse_of_the_throttle_is_told() -> None:
    throttle = launch("b").channels["throttle"].values
    for pulse in (1000.0 + 1000.0 * throttle, 10.0 + 10.0 * throttle):  # as read, or said to be per cent
        (repair,) = found(with_channel(launch("b"), "throttle", pulse), "unit")
        assert "microseconds" in repair.sentence


def test_milliseconds_taken_for_seconds_are_told() -> None:
    slow = {name: (1000.0 * c.t_s, c.values) for name, c in launch("b").channels.items() if name in FORCES}
    (repair,) = found(recording(slow), "unit")
    assert repair.channel == ""
    assert "0.1 samples of force a second" in repair.sentence


def _clipped(at: float) -> Recording:
    force = launch("b").channels["force_x_mps2"]
    return with_channel(launch("b"), "force_x_mps2", np.clip(force.values, -at, at))


@pytest.mark.parametrize("at", [2.0 * 9.80665, 4.0 * 9.80665])
def test_a_flat_top_is_a_lower_bound(at: float) -> None:
    (repair,) = found(_clipped(at), "saturation")
    flat = launch("b").channels["force_x_mps2"].values >= at
    assert (repair.channel, repair.times) == ("force_x_mps2", int(flat.sum()))
    times = launch("b").channels["force_x_mps2"].t_s[flat]
    assert (repair.from_s, repair.to_s) == (times[0], times[-1])
    assert "at least" in repair.sentence


def test_a_rounded_crest_in_coarse_steps_is_no_flat_top() -> None:
    stroke = np.where(np.abs(T_S - 15.0) < 0.14, 57.0 * np.cos(np.pi * (T_S - 15.0) / 0.28), 0.0)
    coarse = np.round(stroke + 0.1 * RNG.normal(size=T_S.size))
    assert (coarse == coarse.max()).sum() >= 3
    assert not found(recording({"force_x_mps2": (T_S, coarse)}), "saturation")


@pytest.mark.parametrize("by_m", [-6.0, 8.0])
def test_a_step_of_the_height_is_told_and_left(by_m: float) -> None:
    baro = launch("b").channels["baro_height_m"]
    stepped = with_channel(launch("b"), "baro_height_m", baro.values + by_m * (baro.t_s > 12.0))
    (repair,) = found(stepped, "height step")
    assert (repair.channel, repair.times) == ("baro_height_m", 1)
    assert repair.from_s == pytest.approx(12.04)
    assert clean(stepped).channels["baro_height_m"] is stepped.channels["baro_height_m"]


def test_a_new_origin_of_the_height_is_named() -> None:
    baro = launch("b").channels["baro_height_m"]
    late = baro.t_s > 14.0
    reset: Numbers = np.where(late, baro.values - baro.values[late][0], baro.values)
    (repair,) = found(with_channel(launch("b"), "baro_height_m", reset), "height step")
    assert "its origin was set again" in repair.sentence


def test_an_hour_at_a_hundred_samples_a_second_takes_less_than_a_second() -> None:
    t_s = np.arange(360_000) / 100.0
    rest = dict(zip(FORCES, (0.0, 0.0, -9.8), strict=True))
    names = [*rest, *(f"unheard_of_{k}" for k in range(37))]
    whole = recording({name: (t_s, rest.get(name, 0.0) + RNG.normal(size=t_s.size)) for name in names})
    begin_s = time.process_time()
    assert clean(whole) is whole
    assert time.process_time() - begin_s < 1.0

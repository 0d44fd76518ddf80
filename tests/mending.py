"""Recordings of the example launches with sensors, clean to begin with, for the tests of cleaning."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import trace_launch
from overarm.recordings.cleaning import clean
from overarm.recordings.recording import Channel, Recording, Repair
from tests.examples import inputs_of

Numbers = NDArray[np.float64]
HOLD_S = 8.0
EARTH_M = 6_371_008.8
G_MPS2 = 9.80665
FORCES = ("force_x_mps2", "force_y_mps2", "force_z_mps2")
RATES = ("roll_rate_radps", "pitch_rate_radps", "yaw_rate_radps")


def recording(channels: dict[str, tuple[Numbers, Numbers]]) -> Recording:
    """Return a recording of channels given as times and values."""
    made = {name: Channel(t_s, values, name) for name, (t_s, values) in channels.items()}
    return Recording("made.csv", "0" * 64, "table", made)


def with_channel(whole: Recording, name: str, values: Numbers, t_s: Numbers | None = None) -> Recording:
    """Return the recording with other values, or other times too, of one channel."""
    times = whole.channels[name].t_s if t_s is None else t_s
    return replace(whole, channels={**whole.channels, name: Channel(times, values, name)})


def scaled(whole: Recording, names: tuple[str, ...], by: float) -> Recording:
    """Return the recording with some channels multiplied."""
    for name in names:
        whole = with_channel(whole, name, by * whole.channels[name].values)
    return whole


def without(whole: Recording, *names: str) -> Recording:
    """Return the recording without some channels."""
    return replace(whole, channels={k: c for k, c in whole.channels.items() if k not in names})


def found(whole: Recording, defect: str) -> list[Repair]:
    """Clean the recording, hold that cleaning again does nothing, and return the repairs of a defect."""
    cleaned = clean(whole)
    assert clean(cleaned).repairs == cleaned.repairs
    return [repair for repair in cleaned.repairs if repair.defect == defect]


@cache
def launch(letter: str, lag_s: float = 0.0) -> Recording:
    """Return launch 0 of an example as a log of 100 Hz, held still for eight seconds before.

    Noise (common practice, no source): 0.1 m/s2, 0.01 rad/s, 0.1 m by air pressure; satellite at 10 Hz.
    """
    trace = trace_launch(inputs_of(letter), 1, 0)
    rng = np.random.default_rng(1)
    t_s = np.arange(0.0, HOLD_S + trace["t_s"][-1], 0.01)
    made: dict[str, tuple[Numbers, Numbers]] = {}

    def add(name: str, values: Numbers, noise: float, every: int = 1, late_s: float = 0.0) -> None:
        at_s = t_s[::every]
        seen = np.interp(at_s - late_s, t_s, values) + rng.normal(0.0, noise, at_s.size)
        made[name] = (at_s, seen)

    def was(name: str) -> Numbers:
        return np.interp(t_s - HOLD_S, trace["t_s"], trace[name])

    for axis, name in zip(("felt_mps2", "felt_y_mps2", "felt_z_mps2"), FORCES, strict=True):
        add(name, was(axis), 0.1)
    for name in RATES:
        add(name, was(name), 0.01)
    for name in ("bank_rad", "pitch_rad", "heading_rad"):
        add(name, was(name), 0.003)
    knots_s = np.arange(0.0, t_s[-1] + 1.4, 0.7)
    gusts = 1.0 + 0.2 * np.interp(t_s, knots_s, rng.normal(size=knots_s.size))
    add("airspeed_mps", was("airspeed_mps") * np.where(t_s < HOLD_S, gusts, 1.0), 0.1, 2)
    add("ground_speed_mps", np.hypot(was("ahead_mps"), was("right_mps")), 0.03, 10, lag_s)
    made["ground_speed_mps"] = (made["ground_speed_mps"][0], np.abs(made["ground_speed_mps"][1]))
    add("latitude_rad", 0.9 + was("x_m") / EARTH_M, 1e-8, 10, lag_s)
    add("longitude_rad", 0.1 + was("y_m") / EARTH_M / np.cos(0.9), 1e-8, 10, lag_s)
    add("satellite_height_m", 120.0 + was("height_m"), 0.3, 10, lag_s)
    add("climb_mps", -was("down_mps"), 0.1, 5)
    add("baro_height_m", was("height_m"), 0.1, 4)
    add("throttle", was("throttle"), 0.0, 5)
    add("volts_v", was("volts_v"), 0.02, 10)
    add("current_a", was("current_a"), 0.1, 10)
    add("propeller_radps", was("rpm") * np.pi / 30.0, 0.0, 10)
    return recording(made)

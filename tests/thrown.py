"""A throw with a known answer, as a recording: rest, a half-sine stroke, and a glide without change.

The truth is closed form: a stroke of length L to speed v takes ``T = 2 L/v``,
``a = (pi v/(2 T)) sin(pi t/T)`` (mechanics; the half sine is the stroke of docs/theory/throw.md).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.launch import Event, LaunchRecord
from overarm.recordings.recording import Channel, Recording

G = 9.80665
Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Throw:
    """What is thrown, and how it is recorded."""

    speed_mps: float = 8.4
    stroke_m: float = 1.25
    path_rad: float = math.radians(8.0)
    pitch_rad: float = math.radians(8.0)  # held all the time: the path is along the nose
    begins_s: float = 6.0
    decay_mps2: float = -1.2  # forward force after release
    rate_hz: float = 100.0
    satellite_hz: float = 5.0
    lag_s: float = 0.2
    noise_mps2: float = 0.0
    bias_mps2: float = 0.0
    range_mps2: float = 1e9
    height_m: float = 1.8

    @property
    def stroke_s(self) -> float:
        """Return how long the stroke takes [s]."""
        return 2.0 * self.stroke_m / self.speed_mps

    @property
    def release_s(self) -> float:
        """Return when the model leaves the hand [s]."""
        return self.begins_s + self.stroke_s


def speed_at(throw: Throw, t_s: Numbers) -> Numbers:
    """Return the speed along the path [m/s]."""
    since = t_s - throw.begins_s
    stroke = 0.5 * throw.speed_mps * (1.0 - np.cos(np.pi * np.clip(since / throw.stroke_s, 0.0, 1.0)))
    slowing = throw.decay_mps2 - G * math.sin(throw.path_rad)
    return np.where(since < 0.0, 0.0, stroke + slowing * np.maximum(0.0, t_s - throw.release_s))


def height_at(throw: Throw, t_s: Numbers) -> Numbers:
    """Return the height over the ground [m]: that of release less the way along the path."""
    fine = np.arange(0.0, float(t_s[-1]) + 0.01, 0.001)
    way = np.concatenate([[0.0], np.cumsum(speed_at(throw, fine)[1:] * 0.001)])
    at_release = float(np.interp(throw.release_s, fine, way))
    return throw.height_m + (np.interp(t_s, fine, way) - at_release) * math.sin(throw.path_rad)


def recording_of(throw: Throw, *, seed: int = 1, lasts_s: float = 9.0) -> Recording:
    """Return the recording of a throw."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, lasts_s, 1.0 / throw.rate_hz)
    within = (t >= throw.begins_s) & (t < throw.release_s)
    push = 0.5 * math.pi * throw.speed_mps / throw.stroke_s
    along = push * np.sin(np.pi * (t - throw.begins_s) / throw.stroke_s)
    level = G * math.sin(throw.pitch_rad)
    forward = np.where(within, level + along, np.where(t < throw.begins_s, level, throw.decay_mps2))
    noise = throw.noise_mps2 * rng.standard_normal((3, t.size))
    forward = np.clip(forward + throw.bias_mps2 + noise[0], -throw.range_mps2, throw.range_mps2)
    sat = np.arange(0.13, lasts_s, 1.0 / throw.satellite_hz)
    speed = speed_at(throw, sat - throw.lag_s)
    baro = np.arange(0.0, lasts_s, 0.04)
    still = np.zeros(t.size)
    values = {
        "force_x_mps2": (t, forward),
        "force_y_mps2": (t, noise[1]),
        "force_z_mps2": (t, -G * math.cos(throw.pitch_rad) + noise[2]),
        "roll_rate_radps": (t, still),
        "pitch_rate_radps": (t, still),
        "yaw_rate_radps": (t, still),
        "pitch_rad": (t, still + throw.pitch_rad),
        "bank_rad": (t, still),
        "ground_speed_mps": (sat, speed * math.cos(throw.path_rad)),
        "climb_mps": (sat, speed * math.sin(throw.path_rad)),
        "baro_height_m": (baro, height_at(throw, baro) + 37.0),
    }
    channels = {name: Channel(when, what, name) for name, (when, what) in values.items()}
    return Recording("throw.csv", "0" * 64, "table", channels)


def launch_of(throw: Throw, *, to_s: float = 9.0, error_s: float = 0.005) -> LaunchRecord:
    """Return the launch with its true events."""
    events = {
        "stroke": Event(throw.begins_s, error_s, "truth"),
        "release": Event(throw.release_s, error_s, "truth"),
    }
    return LaunchRecord(1, "launch", 0.0, to_s, (), events, "log ends", ())

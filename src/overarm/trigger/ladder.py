"""The trigger ladder: what the cue reads, from a board at rest to a throw, on one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.recording import Numbers
from overarm.trigger.gestures import pose_force
from overarm.trigger.hear import Heard
from overarm.trigger.settings import Listening

POSE_S = 1.0

Source = Literal["recorded", "card", "usual", "not known"]


class Rung(NamedTuple):
    """One bar of the ladder, in m/s2 of the cue; nothing is drawn where the source is not known."""

    name: str
    low_mps2: float
    high_mps2: float
    most_mps2: float  # the highest that was seen; `high` if nothing was recorded
    source: Source
    words: str  # what the ends are, and of how many


def _unknown(name: str, words: str) -> Rung:
    return Rung(name, 0.0, 0.0, 0.0, "not known", words)


def _values(heard: Sequence[Heard], label: str) -> Numbers:
    parts = [one.series.cue.metric_mps2 for one in heard if one.label.label == label]
    return np.concatenate(parts) if parts else np.zeros(0)


def _percentiles(values: Numbers, low: float, high: float) -> tuple[float, float, float]:
    found = np.percentile(values, [low, high])
    return float(found[0]), float(found[1]), float(values.max())


def _sensor(listening: Listening) -> Rung:
    tilt = listening.tilt_rad if listening.raw else 0.0
    middle = GRAVITY_MPS2 * math.sin(tilt) + listening.bias_mps2
    off = 2.0 * math.hypot(
        GRAVITY_MPS2 * listening.tilt_sd_rad if listening.raw else 0.0, listening.bias_sd_mps2
    )
    words = "held level at rest, two standard deviations either way"
    source: Source = "card" if listening.setup_hash else "usual"
    return Rung("board: tilt and bias", middle - off, middle + off, middle + off, source, words)


def _pose(listening: Listening, heard: Sequence[Heard]) -> Rung:
    name = "nose-up carry"
    carries = [one for one in heard if one.label.label == "carry" and one.series.cue.t_s.size]
    felt = [one for one in carries if one.series.cue.tilt_felt]
    if felt:
        values = np.concatenate([pose_force(one.series.cue, POSE_S) for one in felt])
        low, high, most = _percentiles(values, 5.0, 95.0)
        return Rung(name, low, high, most, "recorded", "slow part of the carries, p5 to p95")
    if not listening.raw:
        return Rung(
            name, 0.0, 0.0, 0.0, "card" if listening.setup_hash else "usual", "this cue feels no tilt"
        )
    low, high = (
        GRAVITY_MPS2 * math.sin(pose + listening.tilt_rad) + listening.bias_mps2
        for pose in (listening.carry_low_rad, listening.carry_rad)
    )
    words = "pose of the card, two standard deviations either way" if listening.setup_hash else "usual poses"
    return Rung(name, low, high, high, "card" if listening.setup_hash else "usual", words)


def _walk(heard: Sequence[Heard]) -> Rung:
    values = _values(heard, "carry")
    if not values.size:
        return _unknown("carried", "no carry was recorded")
    return Rung(
        "carried", *_percentiles(values, 50.0, 99.0), "recorded", "all carries, p50 to p99; line: highest"
    )


def _other(heard: Sequence[Heard]) -> Rung:
    name, values = "running, other", _values(heard, "other")
    if not values.size:
        return _unknown(name, "nothing of the kind was recorded")
    return Rung(name, *_percentiles(values, 50.0, 99.0), "recorded", "p50 to p99; line: highest")


def _wind_up(listening: Listening, heard: Sequence[Heard]) -> Rung:
    name = "wind-up"
    peaks = [g.before_mps2 for one in heard if one.label.label == "throw" for g in one.gestures]
    if peaks:
        values = np.array(peaks)
        return Rung(
            name, *_percentiles(values, 5.0, 95.0), "recorded", _of(peaks, "in the second before a throw")
        )
    if listening.wind_up is None:
        return _unknown(name, "no throw was recorded")
    low, high = listening.wind_up
    return Rung(name, low, high, high, "card", "from the thrower card, give or take half")


def _gesture(heard: Sequence[Heard], label: str, card: tuple[float, float] | None) -> Rung:
    name = "your shake" if label == "shake" else "your throw"
    peaks = [g.peak_mps2 for one in heard if one.label.label == label for g in one.gestures]
    if peaks:
        values = np.array(peaks)
        return Rung(name, *_percentiles(values, 5.0, 95.0), "recorded", _of(peaks, "peaks, p5 to p95"))
    if card is None:
        return _unknown(name, f"no {label} was recorded")
    return Rung(
        name, *card, card[1], "card", "peak from the thrower card, two standard deviations either way"
    )


def _of(peaks: Sequence[float], words: str) -> str:
    return f"{words}, {len(peaks)} of them"


def ladder_of(heard: Sequence[Heard], listening: Listening) -> tuple[Rung, ...]:
    """Return the rungs from the bottom up: what must not start it, then what must."""
    return (
        _sensor(listening),
        _pose(listening, heard),
        _walk(heard),
        _other(heard),
        _wind_up(listening, heard),
        _gesture(heard, "shake", listening.shake),
        _gesture(heard, "throw", listening.throw),
    )

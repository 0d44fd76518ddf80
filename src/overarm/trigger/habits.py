"""How a person carries and shakes the model, from recordings: figures for the thrower card.

A rehearsal carries a phone or a model without its motor. What it cannot tell has a reason in place of a
figure. Checked in ``tests/unit/test_habits.py`` against movements of known size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from overarm.describe.card import amount_of, keys_of
from overarm.describe.thrower import Thrower
from overarm.recordings.channels import FORCES
from overarm.recordings.recording import Label, Numbers, Recording
from overarm.trigger.gestures import lobes_of, shakes_of
from overarm.trigger.hear import Heard, hear
from overarm.trigger.settings import Listening
from overarm.units import from_si

SLOW_S = 2.0  # what changes slower than this is pose, what changes faster is sway or steps
LEAST_CARRIED_S, LEAST_SHAKES = 10.0, 3
BLOCK_S = 5.0  # poses this far apart are taken to be independent; own estimate
PLACING_RAD = math.radians(2.0)  # how well a phone is laid along the nose; own estimate
SWAYS_HZ = (0.2, 5.0)  # the range of the card
LEAST_ERROR_SHARE = 0.03  # of a shake's rate and travel; own estimate
NO_CARRY = f"no carry of {LEAST_CARRIED_S:.0f} s or more was recorded"
NO_SHAKES = f"fewer than {LEAST_SHAKES} shakes were recorded"
UNITS = {
    "carry_pitch": "deg", "carry_pitch_scatter": "deg", "sway": "m/s2", "sway_rate": "Hz",
    "shake_rate": "Hz", "shake_travel": "cm", "shakes": "",
}  # fmt: skip
CANNOT = {
    "release_speed": "a rehearsed throw is not let go of, and a phone weighs less than the model",
    "wind_up": "an acceleration that is summed up twice loses the way of the arm",
}


class Habit(NamedTuple):
    """One figure for the thrower card; SI."""

    key: str
    name: str
    value: float
    error: float  # one standard deviation; 0 where the card takes none
    text: str  # as the card writes it
    words: str  # what it was taken from


class Habits(NamedTuple):
    """The figures that the recordings give, and why the others are lacking, by their keys."""

    found: tuple[Habit, ...]
    lacking: dict[str, str]


def habits_of(recordings: Sequence[tuple[Recording, Label]], listening: Listening) -> Habits:
    """Return what recordings, each with its label or "", tell for the thrower card."""
    heard = [hear(recording, listening, label) for recording, label in recordings]
    telling = [one for one in heard if one.tells != "cannot tell" and one.series.cue.t_s.size]
    lacking = dict(CANNOT)
    found: list[Habit] = []
    for values, why, keys in (
        (_carried(telling), NO_CARRY, ("carry_pitch", "sway")),
        (_shaken(telling), NO_SHAKES, ("shake_rate", "shake_travel")),
    ):  # fmt: skip
        for key, (value, error, words) in values.items():
            found.append(_habit(key, value, error, words))
        lacking |= dict.fromkeys((key for key in keys if key not in values), why)
    outside = {item.key: "it is outside what the card takes" for item in found if not _on_card(item)}
    return Habits(tuple(item for item in found if item.key not in outside), lacking | outside)


Figures = dict[str, tuple[float, float, str]]


def _carried(heard: Sequence[Heard]) -> Figures:
    """Return pose and sway of the carries: key -> (value, error, words)."""
    carries = [one for one in heard if one.label.label == "carry" and one.heard_s >= LEAST_CARRIED_S]
    if not carries:
        return {}
    seconds = np.array([one.heard_s for one in carries])
    words = f"{seconds.sum():.0f} s of carrying"
    sways = np.array([_sway(one.recording) for one in carries])
    size, rate = (float(column @ seconds / seconds.sum()) for column in sways.T)
    figures: Figures = {"sway": (size, 0.0, words), "sway_rate": (rate, 0.0, words)}
    felt = [one for one in carries if one.recording.gravity_felt]
    if felt:
        pitch = np.concatenate([_pitch(one.recording) for one in felt])
        blocks = max(1.0, sum(one.heard_s for one in felt) / BLOCK_S)
        scatter = float(pitch.std())
        error = math.hypot(scatter / math.sqrt(blocks), PLACING_RAD)
        figures["carry_pitch"] = (float(pitch.mean()), error, words)
        figures["carry_pitch_scatter"] = (scatter, 0.0, words)
    return figures


def _even(recording: Recording) -> tuple[Numbers, float]:
    """Return the forces at even times, shape (3, n) [m/s2], and their rate [Hz]; a missing one is nought."""
    forward = recording.channels["force_x_mps2"]
    rate = float(np.clip(forward.rate_hz, 20.0, 200.0))
    t_s = np.arange(forward.t_s[0], forward.t_s[-1], 1.0 / rate)
    parts = [recording.channel(name) for name in FORCES]
    rows = [np.zeros(t_s.size) if one is None else np.interp(t_s, one.t_s, one.values) for one in parts]
    return np.array(rows), rate


def _slow(values: Numbers, rate_hz: float) -> Numbers:
    """Return the mean over `SLOW_S` around each sample; shorter near the ends."""
    from scipy.ndimage import uniform_filter1d

    return np.asarray(uniform_filter1d(values, size=max(1, round(SLOW_S * rate_hz)), axis=-1, mode="nearest"))


def _pitch(recording: Recording) -> Numbers:
    """Return the nose-up angle [rad] over time, shape (n,), of what is felt at rest: ``asin(f_x / |f|)``."""
    forces, rate = _even(recording)
    slow = _slow(forces, rate)
    size = np.maximum(np.linalg.norm(slow, axis=0), 1.0)
    return np.asarray(np.arcsin(np.clip(slow[0] / size, -1.0, 1.0)))


def _sway(recording: Recording) -> tuple[float, float]:
    """Return amplitude [m/s2] and rate [Hz] of a sine with the power of the fast forward force."""
    from scipy.signal import welch

    forces, rate = _even(recording)
    fast = forces[0] - _slow(forces[0], rate)
    hertz, power = welch(fast, rate, nperseg=min(fast.size, round(8.0 * rate)))
    seen = (hertz >= SWAYS_HZ[0]) & (hertz <= SWAYS_HZ[1])
    return math.sqrt(2.0) * float(fast.std()), float(hertz[seen][np.argmax(power[seen])])


def _shaken(heard: Sequence[Heard]) -> Figures:
    """Return rate, half travel and count of the shakes: key -> (value, error, words).

    A body that swings as a sine of half travel ``s`` at ``f`` feels ``s (2 pi f)^2`` at its ends (textbook).
    """
    rows: list[tuple[float, float, int]] = []
    for one in heard:
        if one.label.label != "shake":
            continue
        cue = one.series.cue
        forward = one.recording.channels["force_x_mps2"]
        for row in shakes_of(lobes_of(cue), cue.t_s):
            tops = [
                cue.t_s[lobe.first + int(np.argmax(cue.metric_mps2[lobe.first : lobe.last]))] for lobe in row
            ]
            rate = (len(row) - 1) / float(tops[-1] - tops[0])
            inside = (forward.t_s >= tops[0]) & (forward.t_s <= tops[-1])
            low, high = np.percentile(forward.values[inside], [2.0, 98.0])
            rows.append((rate, 0.5 * float(high - low) / (2.0 * math.pi * rate) ** 2, len(row)))
    if len(rows) < LEAST_SHAKES:
        return {}
    rates, travels, counts = (np.array(column, dtype=np.float64) for column in zip(*rows, strict=True))
    words = f"{len(rows)} shakes"
    return {
        "shake_rate": (float(rates.mean()), _error(rates), words),
        "shake_travel": (float(travels.mean()), _error(travels), words),
        "shakes": (float(round(float(np.median(counts)))), 0.0, words),
    }


def _error(values: Numbers) -> float:
    scatter = float(values.std(ddof=1)) / math.sqrt(values.size)
    return max(scatter, LEAST_ERROR_SHARE * float(values.mean()))


def _habit(key: str, value: float, error: float, words: str) -> Habit:
    info, unit = keys_of(Thrower)[key], UNITS[key]
    amount = amount_of(info)
    if amount is None:
        text = f"{value:.0f}"
    elif error > 0.0:
        said = (from_si(number, amount.dimension, unit, 2) for number in (value, error))
        text = f"{' +- '.join(said)} measured"
    else:
        text = from_si(value, amount.dimension, unit, 2)
    return Habit(key, key.replace("_", " "), value, error, text, words)


def _on_card(habit: Habit) -> bool:
    amount = amount_of(keys_of(Thrower)[habit.key])
    return amount is None or amount.low <= habit.value <= amount.high

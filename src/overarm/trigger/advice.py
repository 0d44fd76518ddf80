"""The level and dwell with the widest margins both ways, or why none works."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from overarm.physics.trigger import self_start_tilt
from overarm.recordings.recording import Numbers
from overarm.trigger.count import Counts
from overarm.trigger.hear import Heard
from overarm.trigger.settings import Listening

# A knock lasts this long; a dwell is held against it as against the longest time of a carry.
KNOCK_S = 0.04  # common practice, no source
LEAST_MPS2 = 0.5  # below it a carry is taken to read this much
ALIKE = 0.02
THIN = 1.0 / 0.6  # a level over 0.6 of the weakest throw is high; common practice, no source


class Margins(NamedTuple):
    """How far a level and dwell are from what they must not meet; a ratio over 1 is on the right side."""

    level_mps2: float
    dwell_s: float
    carry_mps2: float | None  # 99th percentile of the cue while carried
    carry_margin_mps2: float | None  # level less that
    at_rest_mps2: float  # cue at rest in the most nose-up pose
    top_pitch_rad: float  # that pose
    self_start_rad: float | None  # nose-up angle that fires at rest; None: no angle does
    carry_longest_s: float | None  # longest time over the level while carried
    dwell_over_carry: float | None  # dwell over that, or over a knock if that is longer
    weakest_peak_mps2: float | None  # of the gestures
    peak_ratio: float | None  # weakest peak over the level
    shortest_s: float | None  # shortest of the gestures' longest times over the level
    time_ratio: float | None  # that over the dwell


class Advice(NamedTuple):
    """What is advised, or why nothing is."""

    margins: Margins | None
    least: float  # the smallest of the four ratios; 0 if nothing is advised
    refused: str  # "" if something is advised
    cures: tuple[str, ...]


def _top_pitch(heard: Sequence[Heard], listening: Listening) -> float:
    """Return the most nose-up pose [rad]: as carried in the recordings, or that of the card if it is more."""
    seen = [
        one.top_pitch_rad for one in heard if one.label.label == "carry" and one.top_pitch_rad is not None
    ]
    return max([listening.carry_rad, *seen])


class Basis(NamedTuple):
    """What the margins are taken from."""

    carry_mps2: float | None
    peak_mps2: float | None
    top_pitch_rad: float
    at_rest_mps2: float


def basis_of(heard: Sequence[Heard], listening: Listening, counted: Counts) -> Basis:
    """Return the carry's 99th percentile, the weakest peak, and what the cue reads at rest, nose-up."""
    carries = [
        one.series.cue.metric_mps2 for one in heard if one.label.label == "carry" and one.series.cue.t_s.size
    ]
    peaks = [
        gesture.peak_mps2
        for one in heard
        if listening.starts in ("either", one.label.label)
        for gesture in one.gestures
    ]
    top = _top_pitch(heard, listening)
    return Basis(
        float(np.percentile(np.concatenate(carries), 99.0)) if carries else None,
        min(peaks) if peaks and counted.gestures else None,
        top,
        listening._replace(carry_rad=top).at_rest_mps2,
    )


def self_start(level_mps2: float, listening: Listening) -> float:
    """Return the nose-up angle [rad] at which a level is reached at rest; inf if no pose does."""
    if not listening.raw:
        return math.inf
    return self_start_tilt(level_mps2, listening.tilt_rad, listening.bias_mps2)


def margins_at(basis: Basis, listening: Listening, counted: Counts, place: tuple[int, int]) -> Margins:
    """Return the margins of one level and dwell of a grid."""
    a, b = place
    level, dwell = float(counted.levels_mps2[a]), float(counted.dwells_s[b])
    tilt = self_start(level, listening)
    carry = basis.carry_mps2
    lasts = float(counted.carry_longest_s[a]) if carry is not None else None
    shortest = float(counted.gesture_longest_s[:, a].min()) if counted.gestures else None
    peak = basis.peak_mps2
    return Margins(
        level,
        dwell,
        carry,
        None if carry is None else level - carry,
        basis.at_rest_mps2,
        basis.top_pitch_rad,
        tilt if math.isfinite(tilt) else None,
        lasts,
        None if lasts is None else dwell / max(lasts, KNOCK_S),
        peak,
        None if peak is None else peak / level,
        shortest,
        None if shortest is None else shortest / dwell,
    )


def _score(basis: Basis, counted: Counts) -> tuple[Numbers, Numbers]:
    """Return the smallest of the four ratios for each level and dwell, 0 where a recording says no; and
    the smaller of the two of the level alone.

    Ratios: level over what carry and pose reach; weakest peak over level; dwell over the longest time of a
    carry, or a knock; shortest time of a gesture over dwell.
    """
    levels, dwells = counted.levels_mps2[:, None], counted.dwells_s[None, :]
    reached = max(LEAST_MPS2, basis.carry_mps2 or 0.0, basis.at_rest_mps2)
    over = levels / reached
    under = (basis.peak_mps2 or 0.0) / levels
    long = dwells / np.maximum(counted.carry_longest_s, KNOCK_S)[:, None]
    short = counted.gesture_longest_s.min(axis=0)[:, None] / dwells
    right = (counted.false == 0) & (counted.early == 0) & (counted.missed == 0)
    level_alone = np.broadcast_to(np.minimum(over, under), right.shape)
    return np.where(right, np.minimum(level_alone, np.minimum(long, short)), 0.0), level_alone


def advise(heard: Sequence[Heard], listening: Listening, counted: Counts) -> Advice:
    """Return the level and dwell whose smallest margin is the largest, or the reason why none works."""
    basis = basis_of(heard, listening, counted)
    if basis.carry_mps2 is None:
        return _no("No carry was recorded that can tell: there is nothing to keep the level above.", _RECORD)
    if basis.peak_mps2 is None:
        what = "throw or shake" if listening.starts == "either" else listening.starts
        return _no(
            f"No {what} was recorded that can tell: there is nothing to keep the level below.", _RECORD
        )
    score, level_alone = _score(basis, counted)
    # Where the dwell sets the margin many levels are equally good: then the middle one.
    alike = score >= (1.0 - ALIKE) * score.max()
    place = np.unravel_index(int(np.argmax(np.where(alike, level_alone, 0.0))), score.shape)
    least = float(score[place])
    if least > 1.0:
        margins = margins_at(basis, listening, counted, (int(place[0]), int(place[1])))
        return Advice(margins, least, "", ())
    return _no(_reason(basis, counted), _CURES)


def _reason(basis: Basis, counted: Counts) -> str:
    """Return what closes the window."""
    assert basis.carry_mps2 is not None
    assert basis.peak_mps2 is not None
    carry, peak = max(basis.carry_mps2, basis.at_rest_mps2), basis.peak_mps2
    if carry >= peak:
        what = "the carry" if basis.carry_mps2 >= basis.at_rest_mps2 else "the nose-up pose alone"
        return (
            f"No level works: {what} reaches {carry:.1f} m/s2, the weakest gesture peaks at {peak:.1f} m/s2."
        )
    starts = (counted.missed == 0) & (counted.false == 0)
    if starts.any() and not (starts & (counted.early == 0)).any():
        return "No level and dwell work: what starts at the gesture starts at the draw-back before it, too."
    a = int(np.argmin(np.abs(counted.levels_mps2 - math.sqrt(max(carry, LEAST_MPS2) * peak))))
    lasts, short = counted.carry_longest_s[a], float(counted.gesture_longest_s[:, a].min())
    return (
        f"No dwell works: at {counted.levels_mps2[a]:.1f} m/s2 a carry stays over the level for "
        f"{lasts:.2f} s, the weakest gesture for {short:.2f} s."
    )


_RECORD = (
    "Record two minutes of carrying, and five throws, or shakes if it starts by them; motor unplugged.",
)
_CURES = (
    "Throw or shake more firmly, along the body; rehearse with an empty airframe.",
    "Carry it nose-down or level, and let it listen only at the line.",
    "Try a cue without gravity (settings.jerk_cue: tilt-free) or two jerks (settings.jerks: 2).",
)


def _no(reason: str, cures: tuple[str, ...]) -> Advice:
    return Advice(None, 0.0, reason, cures)

"""Throws and shakes in a recording, found by their shape alone: no level and no dwell has a say in it.

A throw is one lobe of the forward force that gives a speed; a shake is several lobes in a row. The sizes
are engineering estimates from the throws and shakes of `overarm.physics.hand`.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from overarm.physics.trigger import Trigger
from overarm.recordings.cue import Cue
from overarm.recordings.recording import Numbers, Recording

BASE_S = 2.0  # the pose is what the cue reads in the middle over this time
LOBE_FROM_MPS2 = 1.0  # over the pose
THROW_SPEED_MPS = 3.0  # gained in one lobe; as in the phases of a launch
THROW_PEAK_MPS2 = 6.0
THROW_LONGEST_S = 1.0
THROW_APART_S = 2.0  # of several lobes within it the one with the most speed is the throw
SHAKE_PEAK_MPS2 = 3.0
SHAKE_SHARE = 0.4  # of the strong lobes of this recording
SHAKE_LONGEST_S = 0.5
SHAKE_APART_S = 1.0  # lobes further apart are two shakes
SHAKE_LOBES = 2
LISTENS_S = 3.0  # before a gesture; a start in it is early
AFTER_S = 0.15  # the filter is late
STROKE_SHARE = 0.25  # of its peak: there a stroke has left the draw-back behind
POWERED = 0.05  # of the throttle; what comes then is thrust

Kind = Literal["throw", "shake"]


class Gesture(NamedTuple):
    """One throw or shake: the samples from which it is listened to, begins, and is over (not in it)."""

    kind: Kind
    listens: int
    begins: int
    ends: int
    at_s: float
    peak_mps2: float  # highest cue in it
    speed_mps: float  # gained in its strongest lobe
    before_mps2: float  # highest cue in the second before it: the end of the draw-back


class Lobe(NamedTuple):
    """A time over the pose: its samples (the last not in it), peak over the pose, and speed gained."""

    first: int
    last: int
    peak_mps2: float
    speed_mps: float
    length_s: float


def pose_force(cue: Cue, over_s: float = BASE_S) -> Numbers:
    """Return what the cue reads in the middle over some time [m/s2], shape (n,): pose and slow movement."""
    from scipy.ndimage import median_filter

    width = max(1, 2 * round(0.5 * over_s * cue.rate_hz) + 1)
    if cue.t_s.size < 2:
        return cue.metric_mps2
    return np.asarray(median_filter(cue.metric_mps2, size=min(width, 2 * cue.t_s.size - 1), mode="nearest"))


def lobes_of(cue: Cue) -> tuple[Lobe, ...]:
    """Return each time for which the cue is clearly over the pose, in order."""
    if not cue.t_s.size:
        return ()
    force = cue.metric_mps2 - pose_force(cue)
    over = force > LOBE_FROM_MPS2
    edge = over & (cue.begins | ~np.concatenate([[False], over[:-1]]))
    firsts = np.flatnonzero(edge)
    ends = np.flatnonzero(~over | cue.begins)
    found = []
    for first in firsts:
        later = ends[np.searchsorted(ends, first, side="right") :]
        last = int(later[0]) if later.size else cue.t_s.size
        step, part = cue.step_s[first:last], force[first:last]
        lobe = Lobe(int(first), last, float(part.max()), float(step @ part), float(step.sum()))
        found.append(lobe)
    return tuple(found)


def _unpowered(recording: Recording, cue: Cue, lobes: tuple[Lobe, ...]) -> tuple[Lobe, ...]:
    """Return the lobes that begin while the motor is off, as far as the recording says."""
    throttle = recording.channel("throttle")
    if throttle is None:
        return lobes
    place = np.searchsorted(throttle.t_s, cue.t_s, side="right") - 1
    on = np.where(place >= 0, throttle.values[np.maximum(place, 0)], 0.0) > POWERED
    return tuple(lobe for lobe in lobes if not on[lobe.first])


def throws_of(lobes: tuple[Lobe, ...], t_s: Numbers) -> tuple[Lobe, ...]:
    """Return the lobes that are throws: enough speed and peak in one go, the strongest within two seconds."""
    fit = [
        lobe
        for lobe in lobes
        if lobe.speed_mps >= THROW_SPEED_MPS
        and lobe.peak_mps2 >= THROW_PEAK_MPS2
        and lobe.length_s <= THROW_LONGEST_S
    ]
    kept: list[Lobe] = []
    for lobe in sorted(fit, key=lambda one: -one.speed_mps):
        if all(abs(t_s[lobe.first] - t_s[other.first]) >= THROW_APART_S for other in kept):
            kept.append(lobe)
    return tuple(sorted(kept))


def shakes_of(lobes: tuple[Lobe, ...], t_s: Numbers) -> tuple[tuple[Lobe, ...], ...]:
    """Return the shakes: two or more short strong lobes in a row, each at most a second after the last."""
    short = [lobe for lobe in lobes if lobe.length_s <= SHAKE_LONGEST_S and lobe.peak_mps2 >= SHAKE_PEAK_MPS2]
    if not short:
        return ()
    least = SHAKE_SHARE * float(np.percentile([lobe.peak_mps2 for lobe in short], 95.0))
    rows: list[list[Lobe]] = []
    for lobe in short:
        if lobe.peak_mps2 < least:
            continue
        if rows and t_s[lobe.first] - t_s[rows[-1][-1].last - 1] <= SHAKE_APART_S:
            rows[-1].append(lobe)
        else:
            rows.append([lobe])
    return tuple(tuple(row) for row in rows if len(row) >= SHAKE_LOBES)


def stroke_begins(metric_mps2: Numbers, lobe: Lobe, base_mps2: float) -> int:
    """Return the sample at which the stroke in a lobe begins: the trough before it rises to its peak.

    The arm is stopped at the end of the draw-back, which pushes forward too, without a pause: the stroke
    begins where the cue is lowest before it last rises through a quarter of its peak.
    """
    part = metric_mps2[lobe.first : lobe.last] - base_mps2
    top = int(np.argmax(part))
    under = np.flatnonzero(part[: top + 1] < STROKE_SHARE * part[top])
    place = int(under[-1]) if under.size else 0
    while place > 0 and part[place - 1] <= part[place]:
        place -= 1
    return lobe.first + place


def gestures_of(recording: Recording, cue: Cue, kind: Kind, trigger: Trigger) -> tuple[Gesture, ...]:
    """Return the throws or the shakes of a recording, each with the time before in which a start is early.

    Of the trigger only the still time counts, which is listened to in full, and the time a speed gate waits.
    """
    after_s = AFTER_S + (trigger.speed_window_s if trigger.speed_gate_mps > 0.0 else 0.0)
    lobes, base = _unpowered(recording, cue, lobes_of(cue)), pose_force(cue)
    spans = (
        [(lobe,) for lobe in throws_of(lobes, cue.t_s)]
        if kind == "throw"
        else list(shakes_of(lobes, cue.t_s))
    )
    found: list[Gesture] = []
    for row in spans:
        first, last = row[0].first, row[-1].last
        if kind == "throw":
            first = stroke_begins(cue.metric_mps2, row[0], float(base[first]))
        start = np.searchsorted(cue.t_s, cue.t_s[first] - max(LISTENS_S, trigger.still_s + 2.0))
        listens = max(int(start), found[-1].ends if found else 0)
        ends = int(np.searchsorted(cue.t_s, cue.t_s[last - 1] + after_s, side="right"))
        second = max(listens, int(np.searchsorted(cue.t_s, cue.t_s[first] - 1.0)))
        before = cue.metric_mps2[second : first + 1]
        found.append(
            Gesture(
                kind,
                listens,
                first,
                ends,
                float(cue.t_s[first]),
                float(cue.metric_mps2[first:ends].max()),
                max(lobe.speed_mps for lobe in row),
                float(before.max()) if before.size else float(cue.metric_mps2[first]),
            )
        )
    return tuple(found)

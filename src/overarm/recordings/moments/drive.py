"""First throttle and first turn of the propeller."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.cues.drive import shaken_by_motor, vibration
from overarm.recordings.launch import Event
from overarm.recordings.moments.cut import ROOT_12, combined, cut
from overarm.recordings.noise import noise_of
from overarm.recordings.recording import Channel, Numbers, Recording

THROTTLE_STEP = 0.0025
CURRENT_STEP_A = 0.5  # over idle: the propeller turns (common practice, no source)
SPIN_STEP_RADPS = 60.0
SLOW_S = 0.4  # a rise of the current later than that after the throttle may be after the first turn
COARSE_S = 0.15
VIBRATION = "vibration sets in"
AFTER_RELEASE_S = 0.2  # the stroke and the letting go shake the board themselves


def _onset(t_s: Numbers, on: NDArray[np.bool_], at_s: float) -> int | None:
    """Return the first sample of the run of True that holds, or first comes after, a time; None for none."""
    later = np.flatnonzero(on & (t_s >= at_s))
    if not later.size:
        return None
    k = int(later[0])
    off = np.flatnonzero(~on[:k])
    if not off.size:
        return None
    return int(off[-1]) + 1


def first_throttle(recording: Recording, from_s: float, release_s: float, to_s: float) -> Event | None:
    """Return when the throttle that powers the launch began to rise, if the recording has its beginning.

    A blip before is not it: the throttle must stay up until the launch. The rise is followed back to zero by
    the slope of the samples after it.
    """
    channel = recording.channel("throttle")
    if channel is None:
        return None
    t_s, values = cut(channel, from_s, to_s)
    if t_s.size < 3:
        return None
    base = float(np.min(values))
    idle = values[values < base + 0.02]
    k = _onset(t_s, values > base + max(THROTTLE_STEP, 5.0 * noise_of(idle)), release_s)
    if k is None:
        return None
    step_s = float(t_s[k] - t_s[k - 1])
    at_s, spread = float(t_s[k]) - 0.5 * step_s, step_s / ROOT_12
    if k + 2 < t_s.size and values[k + 1] > values[k]:
        slope = (values[k + 1] - values[k]) / (t_s[k + 1] - t_s[k])
        at_s = max(float(t_s[k - 1]), float(t_s[k] - (values[k] - base) / slope))
        spread = 0.35 * step_s / ROOT_12
    return Event(at_s, combined(spread, 0.004), "the throttle begins to rise")


def first_spin(
    recording: Recording, times_s: tuple[float, float, float], throttle: Event | None
) -> Event | None:
    """Return when the propeller began to turn: by current, else vibration, else its measured speed.

    ``times_s``: from when to look, the release, and the end of the flight [s].
    """
    from_s, release_s, to_s = times_s
    found = _by_current(recording, from_s, release_s, to_s, throttle)
    if found is not None and found.error_s < COARSE_S:
        return found
    speed = _by_speed(recording, from_s, release_s, to_s)
    if found is not None:  # the throttle rose so slowly that the current came late
        return speed if speed is not None else found
    return _by_vibration(recording, times_s) or speed


def _rise(
    channel: Channel, span: tuple[float, float], at_s: float, step: float
) -> tuple[float, float] | None:
    """Return (time of the last sample before a rise by ``step`` over rest, time of the first after) [s]."""
    t_s, values = cut(channel, *span)
    if t_s.size < 4:
        return None
    rest = float(np.median(values[: max(3, t_s.size // 4)]))
    rest = min(rest, float(np.quantile(values, 0.3)))
    k = _onset(t_s, values > rest + max(step, 4.0 * noise_of(values[: max(4, t_s.size // 4)])), at_s)
    return None if k is None else (float(t_s[k - 1]), float(t_s[k]))


def _by_current(
    recording: Recording, from_s: float, release_s: float, to_s: float, throttle: Event | None
) -> Event | None:
    channel = recording.channel("current_a")
    if channel is None:
        return None
    at_s = release_s if throttle is None else max(throttle.t_s, from_s)
    rise = _rise(channel, (from_s, to_s), at_s, CURRENT_STEP_A)
    if rise is None:
        return None
    before, after = rise
    error = combined((after - before) / ROOT_12, 0.05)
    if throttle is None:
        return Event(0.5 * (before + after), error, "the current rises over idle")
    before = min(after, max(before, throttle.t_s))
    late_s = max(0.0, after - throttle.t_s - SLOW_S)
    how = "the current rises over idle"
    if late_s > 0.0:
        how += ", late after the first throttle: the propeller may have turned slowly before"
    return Event(0.5 * (before + after) - 0.4 * late_s, combined(error, 0.35 * late_s), how)


def _by_vibration(recording: Recording, times_s: tuple[float, float, float]) -> Event | None:
    """Return when the board began to be shaken as by a motor, in flight or in the hand before."""
    found = vibration(recording)
    if found is None:
        return None
    t_s, level, rest = found
    from_s, release_s, to_s = times_s
    near = (t_s >= from_s) & (t_s <= to_s)
    t_s, level = t_s[near], level[near]
    if t_s.size < 10:
        return None
    on = shaken_by_motor(level, rest, (t_s.size - 1) / float(t_s[-1] - t_s[0]))
    held = (t_s > release_s - 1.6) & (t_s < release_s - 0.7)
    if held.any() and np.mean(on[held]) > 0.7:
        k = _onset(t_s, on, release_s - 1.0)
        at_s = float(t_s[k]) if k is not None else from_s
        return Event(at_s - 0.5, 1.2, "vibration in the hand; a slow start is felt late")
    later = np.flatnonzero(on & (t_s > release_s + AFTER_RELEASE_S))
    if not later.size:
        return None
    at_s = float(t_s[later[0]])
    error = 0.2 if at_s > release_s + AFTER_RELEASE_S + 0.1 else 0.4
    return Event(at_s, error, VIBRATION)


def _by_speed(recording: Recording, from_s: float, release_s: float, to_s: float) -> Event | None:
    channel = recording.channel("propeller_radps")
    if channel is None:
        return None
    rise = _rise(channel, (from_s, to_s), release_s, SPIN_STEP_RADPS)
    if rise is None:
        return None
    error = combined((rise[1] - rise[0]) / ROOT_12, 0.02)
    return Event(0.5 * (rise[0] + rise[1]), error, "the speed of the propeller rises")

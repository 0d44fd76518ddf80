"""First throttle and first turn of the propeller."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overarm.recordings.launch import Event
from overarm.recordings.moments.cut import ROOT_12, combined, cut, noise_of
from overarm.recordings.recording import Channel, Numbers, Recording

THROTTLE_STEP = 0.0025
CURRENT_STEP_A = 0.5  # over idle: the propeller turns (common practice, no source)
SPIN_STEP_RADPS = 60.0
VIBRATION_TIMES = 3.0
SLOW_S = 1.0  # a rise of the current so long after the throttle is not the first turn
COARSE_S = 0.15


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
    return _by_vibration(recording, to_s, throttle) or speed


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
    if throttle is not None:
        before = min(after, max(before, throttle.t_s))
        late_s = after - throttle.t_s
        if late_s > SLOW_S:
            how = "between the first throttle and the rise of the current, which came late"
            return Event(throttle.t_s + 0.35 * late_s, 0.25 * late_s, how)
    return Event(
        0.5 * (before + after), combined((after - before) / ROOT_12, 0.03), "the current rises over idle"
    )


def _by_vibration(recording: Recording, to_s: float, throttle: Event | None) -> Event | None:
    channel = recording.channel("force_z_mps2") or recording.channel("force_x_mps2")
    if channel is None or channel.rate_hz < 45.0 or throttle is None:
        return None
    t_s, values = cut(channel, throttle.t_s - 0.6, min(to_s, throttle.t_s + 4.0))
    if t_s.size < 60:
        return None
    jump = np.abs(np.diff(values, 2))
    wide = max(3, round(0.06 * channel.rate_hz))
    level = np.convolve(jump, np.ones(wide) / wide, mode="same")
    times = t_s[1:-1]
    quiet = level[times < throttle.t_s]
    if not quiet.size:
        return None
    loud = np.flatnonzero((level > VIBRATION_TIMES * float(np.mean(quiet))) & (times >= throttle.t_s))
    if not loud.size:
        return None
    return Event(float(times[loud[0]]), combined(0.08, 1.0 / channel.rate_hz), "vibration sets in")


def _by_speed(recording: Recording, from_s: float, release_s: float, to_s: float) -> Event | None:
    channel = recording.channel("propeller_radps")
    if channel is None:
        return None
    rise = _rise(channel, (from_s, to_s), release_s, SPIN_STEP_RADPS)
    if rise is None:
        return None
    error = combined((rise[1] - rise[0]) / ROOT_12, 0.02)
    return Event(0.5 * (rise[0] + rise[1]), error, "the speed of the propeller rises")

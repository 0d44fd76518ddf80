"""Low point, start of the climb and handover, from height and vertical speed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from overarm.recordings.cues.lobes import smoothed
from overarm.recordings.launch import Event
from overarm.recordings.moments.cut import ROOT_12, combined, crossing, cut
from overarm.recordings.noise import noise_of
from overarm.recordings.recording import Numbers, Recording

CLIMB_MPS = 0.5
CLIMB_FOR_S = 1.0
BARO_ERROR_M = 0.4  # drift and the pressure of the moving hand; a satellite's height wanders more
SATELLITE_ERROR_M = 1.5
USUAL_RELEASE_M = 1.8


class Heights(NamedTuple):
    """Heights of the launch [m] over where it was released, smoothed; their noise; and which instrument."""

    t_s: Numbers
    values: Numbers
    noise_m: float
    error_m: float
    late_s: float  # how late the instrument may be
    name: str


def heights_of(recording: Recording, release_s: float, to_s: float) -> Heights | None:
    """Return the heights from just before the release, by pressure if recorded, else by satellite."""
    for name, error_m, late_s, words in (
        ("baro_height_m", BARO_ERROR_M, 0.03, "height by air pressure"),
        ("satellite_height_m", SATELLITE_ERROR_M, 0.3, "height by satellite"),
    ):
        channel = recording.channel(name)
        if channel is None:
            continue
        t_s, values = cut(channel, release_s - 1.5, to_s + 0.5)
        if t_s.size < 6 or np.max(np.diff(t_s)) > max(1.0, 3.0 / max(channel.rate_hz, 0.1)):
            continue
        noise = noise_of(values)
        before = t_s < release_s + 0.1
        level = float(np.mean(values[before])) if before.any() else float(values[0])
        smooth = smoothed(t_s, values, 0.4)
        return Heights(
            t_s, smooth - level, noise / max(1.0, 0.4 * channel.rate_hz) ** 0.5, error_m, late_s, words
        )
    return None


def low_point(heights: Heights, release_s: float, until_s: float) -> Event | None:
    """Return when the height was lowest after release; as sure as the valley is sharp."""
    near = (heights.t_s >= release_s) & (heights.t_s <= until_s)
    t_s, values = heights.t_s[near], heights.values[near]
    if t_s.size < 3:
        return None
    k = int(np.argmin(values))
    reach = 2.0 * max(heights.noise_m, 0.03)
    within = np.flatnonzero(values <= values[k] + reach)  # of one valley, or of several
    first, last = int(within[0]), int(within[-1])
    width = float(t_s[last] - t_s[first])
    step = float(np.median(np.diff(t_s)))
    if first == 0:  # it rose from the hand: the low point may be the release itself
        at_s, spread = release_s + 0.3 * (float(t_s[last]) - release_s), 0.35 * (float(t_s[last]) - release_s)
    else:
        at_s, spread = 0.5 * float(t_s[k]) + 0.25 * float(t_s[first] + t_s[last]), 1.5 * width / ROOT_12
    error = combined(spread, step / ROOT_12, heights.late_s, 0.05)
    return Event(max(at_s, release_s), error, f"least {heights.name} after release")


def climb_start(heights: Heights, release_s: float, to_s: float) -> Event | None:
    """Return when the vertical speed passes 0.5 m/s and stays above it for a second."""
    t_s, values = heights.t_s, heights.values
    step = float(np.median(np.diff(t_s)))
    span = max(1, round(0.3 / step))
    rise = np.zeros(t_s.size)
    ahead = np.minimum(np.arange(t_s.size) + span, t_s.size - 1)
    behind = np.maximum(np.arange(t_s.size) - span, 0)
    rise = (values[ahead] - values[behind]) / np.maximum(1e-6, t_s[ahead] - t_s[behind])
    needed = max(1, round(CLIMB_FOR_S / step))
    up = (rise > CLIMB_MPS) & (t_s >= release_s)
    run = np.cumsum(up)
    for k in np.flatnonzero(up):
        last = k + needed - 1
        if last >= t_s.size or t_s[k] > to_s:
            return None
        if run[last] - run[k] == needed - 1:
            noise_mps = heights.noise_m * 2.0**0.5 / (2.0 * span * step)
            first_s, last_s = _doubtful(t_s, rise, int(k), 2.0 * noise_mps + 0.1)
            first_s = max(first_s, release_s)
            before_s, after_s = float(t_s[k]) - first_s, max(0.0, last_s - float(t_s[k]))
            error = combined(step / ROOT_12, 0.3 * before_s, 0.4 * after_s, heights.late_s, 0.08)
            how = f"{heights.name} rises by over 0.5 m/s for a second"
            return Event(float(t_s[k]) + 0.15 * after_s, error, how)
    return None


def _doubtful(t_s: Numbers, rise: Numbers, k: int, doubt_mps: float) -> tuple[float, float]:
    """Return from when to when the vertical speed is too near the level to tell, around sample k [s]."""
    before = np.flatnonzero(rise[: k + 1] < CLIMB_MPS - doubt_mps)
    later = np.flatnonzero((rise[k:] < CLIMB_MPS + doubt_mps) & (t_s[k:] < t_s[k] + 3.0))
    first = int(before[-1]) if before.size else 0
    return float(t_s[first]), float(t_s[k + int(later[-1])]) if later.size else float(t_s[k])


def _flagged(recording: Recording, climb_s: float, to_s: float) -> list[tuple[float, float]]:
    """Return (time, step) of each change of the recorded state on the way up [s]."""
    channel = recording.channel("state")
    if channel is None:
        return []
    t_s, values = cut(channel, climb_s, to_s)
    return [(float(t_s[k]), float(t_s[k] - t_s[k - 1])) for k in np.flatnonzero(np.diff(values) != 0.0) + 1]


def handover(
    recording: Recording,
    heights: Heights | None,
    wanted_m: float | None,
    span_s: tuple[float, float],
) -> Event | None:
    """Return the handover: where the height of the setup is reached, told closer by a change of the state.

    ``wanted_m``: height of the handover over the place of release [m], None if there is no setup;
    ``span_s``: from the start of the climb to the end of the launch [s]. A state alone counts only without
    a setup, and only its last change while the model climbs.
    """
    reached = _reached(heights, wanted_m, span_s[0])
    flags = _flagged(recording, *span_s)
    if reached is not None:
        near = [f for f in flags if abs(f[0] - reached.t_s) < 3.0 * reached.error_s + f[1]]
        if not near:
            return reached
        at_s, step = min(near, key=lambda f: abs(f[0] - reached.t_s))
        return Event(at_s - step, combined(0.6 * step, 0.02), f"{reached.method}; the state changes then")
    if wanted_m is None and flags:
        at_s, step = flags[-1]
        return Event(at_s - step, combined(0.6 * step, 0.05), "the recorded state changes in the climb")
    return None


def _reached(heights: Heights | None, wanted_m: float | None, from_s: float) -> Event | None:
    if heights is None or wanted_m is None:
        return None
    over = np.flatnonzero((heights.values >= wanted_m) & (heights.t_s >= from_s))
    if not over.size:
        return None
    k = int(over[0])
    at_s = crossing(heights.t_s, heights.values, k, wanted_m)
    back = max(0, int(np.searchsorted(heights.t_s, at_s - 1.0)))
    rise = (heights.values[k] - heights.values[back]) / max(0.1, float(heights.t_s[k] - heights.t_s[back]))
    error = combined(heights.error_m / max(0.3, float(rise)), heights.late_s)
    return Event(at_s, error, f"the {heights.name} reaches that of the handover")

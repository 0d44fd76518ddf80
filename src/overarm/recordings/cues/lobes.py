"""The cue of the stroke: a single forward lobe of force that leaves the model with speed.

A throw gives speed and the hand lets go; what follows brakes gently. A stroke that is broken off, a shake
and a step give the speed back at once. A line pulls hardest at first and then ever less, for longer.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.jit import over_samples
from overarm.recordings.cues.grid import Numbers, rolling_mean
from overarm.recordings.cues.peaks import peaks_of
from overarm.recordings.noise import noise_of
from overarm.recordings.recording import Recording

LEAST_PEAK_MPS2 = 7.0
LEAST_SPEED_MPS = 1.0
SHORTEST_S, THROW_MOST_S = 0.08, 0.65
PULLED_LEAST_S, PULLED_EARLY, PULLED_LEFT = 0.45, 0.4, 0.25
STRENGTH_MOST = 5.0  # of the score: nothing in a carry is that much stronger than the rest of it
SMOOTH_S = 0.045
COLUMNS = 11


class Lobe(NamedTuple):
    """A forward lobe of the force along the body."""

    peak_s: float
    from_s: float
    to_s: float
    peak_mps2: float  # over the level of rest
    rest_mps2: float
    rest_sd_mps2: float
    speed_mps: float  # given by the lobe
    kept: float  # least share of that speed in the time after, from the forces
    brake_mps2: float  # lowest force in the time after, over the level of rest
    cut: bool  # the recording breaks within it or just after it
    before_mps: float  # speed gained in the second before


@over_samples
def _edge(t: Any, u: Any, p: int, way: int, rest: float, limits: tuple[int, int]) -> tuple[int, bool]:
    """Return the last place of a lobe on one side of its peak, and whether the samples end there.

    A side ends at a fifth of the peak, at a valley, or 1.2 times as far beyond the half as that is from the
    peak: thrust may hold the force up after a lobe.
    """
    least, place, peak = u[p], p, u[p] - rest
    half_s = 0.0
    k = p
    while True:
        k += way
        if k < limits[0] or k >= limits[1]:
            return place, True
        away_s = abs(t[k] - t[p])
        if away_s > 2.0 or (half_s > 0.0 and away_s > 2.2 * half_s + 0.02):
            return place, False
        if half_s == 0.0 and u[k] - rest < 0.5 * peak:
            half_s = away_s
        if u[k] < least:
            least, place = u[k], k
        elif u[k] > least + 0.15 * peak:
            return place, False
        if u[k] - rest < 0.2 * peak:
            return k, False


@over_samples
def _rest(t: Any, u: Any, p: int, low: int, near_s: float, far_s: float) -> tuple[float, float]:
    """Return mean and standard deviation of the force in a time before a peak; (0, 0) if not recorded."""
    count, total, squares = 0, 0.0, 0.0
    k = p
    while k >= low and t[p] - t[k] <= far_s:
        if t[p] - t[k] >= near_s:
            count += 1
            total += u[k]
            squares += u[k] * u[k]
        k -= 1
    if count < 3:
        return 0.0, 0.0
    rest = total / count
    return rest, np.sqrt(max(0.0, squares / count - rest * rest))


@over_samples
def _calm(t: Any, u: Any, p: int, low: int) -> float:
    """Return the standard deviation of the force in the second calmest of six times before a peak [m/s2]."""
    calmest, second = 1e9, 1e9
    for i in range(6):
        spread = _rest(t, u, p, low, 0.9 + 0.8 * i, 1.7 + 0.8 * i)[1]
        if spread > 0.0 and spread < calmest:
            calmest, second = spread, calmest
        elif spread > 0.0 and spread < second:
            second = spread
    if second < 1e9:
        return second
    return calmest if calmest < 1e9 else 3.0


@over_samples
def _measure(t: Any, u: Any, noise: float, peaks: Any, lows: Any, highs: Any, out: Any) -> None:
    for i in range(peaks.size):
        p, low, high = peaks[i], lows[i], highs[i]
        rest = _rest(t, u, p, low, 0.9, 2.5)[0]
        spread = max(noise, _calm(t, u, p, low))
        rest = min(7.0, max(-7.0, rest))
        first, cut_before = _edge(t, u, p, -1, rest, (low, high))
        last, cut_after = _edge(t, u, p, 1, rest, (low, high))
        speed = 0.0
        for k in range(first + 1, last + 1):
            speed += 0.5 * (u[k] + u[k - 1] - 2.0 * rest) * (t[k] - t[k - 1])
        now, least, brake = speed, speed, u[last] - rest
        k = last + 1
        while k < high and t[k] - t[last] <= 0.45:
            now += 0.5 * (u[k] + u[k - 1] - 2.0 * rest) * (t[k] - t[k - 1])
            least = min(least, now)
            brake = min(brake, u[k] - rest)
            k += 1
        seen_after = t[k - 1] - t[last]
        before = 0.0
        k = first
        while k > low and t[first] - t[k] <= 1.0:
            before += 0.5 * (u[k] + u[k - 1] - 2.0 * rest) * (t[k] - t[k - 1])
            k -= 1
        cut = 1.0 if cut_before or cut_after or seen_after < 0.3 else 0.0
        out[i, 0], out[i, 1], out[i, 2] = t[p], t[first], t[last]
        out[i, 3], out[i, 4], out[i, 5] = u[p] - rest, rest, spread
        out[i, 6] = speed
        out[i, 7] = least / speed if speed > 0.0 else 0.0
        out[i, 8], out[i, 9], out[i, 10] = brake, cut, before


def forward_force(recording: Recording) -> tuple[Numbers, Numbers] | None:
    """Return times and force along the body less what gravity gives of it, if the pitch is recorded."""
    channel = recording.channel("force_x_mps2")
    if channel is None or channel.t_s.size < 8:
        return None
    pitch = recording.channel("pitch_rad")
    if pitch is None or not recording.gravity_felt or pitch.rate_hz < 4.0:
        return channel.t_s, channel.values
    tilt = np.interp(channel.t_s, pitch.t_s, pitch.values)
    return channel.t_s, channel.values - GRAVITY_MPS2 * np.sin(tilt)


def parts_of(t_s: Numbers, recording: Recording, most_s: float) -> NDArray[np.int64]:
    """Return the number of the unbroken part that each sample belongs to; a gap over ``most_s`` breaks."""
    breaks = np.sort(np.asarray(recording.breaks_s, float))
    part = np.searchsorted(breaks, t_s, side="right")
    holes = np.concatenate(([0], np.cumsum(np.diff(t_s) > most_s)))
    total: NDArray[np.int64] = (part + holes).astype(np.int64)
    return total


def smoothed(t_s: Numbers, values: Numbers, time_s: float) -> Numbers:
    """Return the mean over a time around each sample, by the usual step: it moves nothing in time."""
    step = float(np.median(np.diff(t_s)))
    steps = round(time_s / step) if step > 0.0 else 1
    return rolling_mean(values, steps + 1 - steps % 2) if steps >= 2 else values


def lobes_of(recording: Recording) -> tuple[Lobe, ...]:
    """Return every forward lobe that is high enough to look at, in the order of time."""
    force = forward_force(recording)
    if force is None:
        return ()
    t_s, raw = force
    values = smoothed(t_s, raw, SMOOTH_S)
    step = float(np.median(np.diff(t_s)))
    peaks = peaks_of(values, LEAST_PEAK_MPS2, max(1, round(0.12 / step)))
    if not peaks.size:
        return ()
    part = parts_of(t_s, recording, max(0.2, 3.0 * step))
    edges = np.concatenate(([0], np.flatnonzero(np.diff(part)) + 1, [t_s.size]))
    place = np.searchsorted(edges, peaks, side="right")
    out = np.zeros((peaks.size, COLUMNS))
    _measure(t_s, values, noise_of(values), peaks.astype(np.int64), edges[place - 1], edges[place], out)
    found = [_lobe(row) for row in out.tolist()]
    return _apart([b for b in found if b.peak_mps2 >= LEAST_PEAK_MPS2 and b.speed_mps > LEAST_SPEED_MPS])


def _apart(lobes: list[Lobe]) -> tuple[Lobe, ...]:
    """Return lobes that do not overlap: of those that do, the one with the highest peak."""
    kept: list[Lobe] = []
    for lobe in lobes:  # in the order of their peaks
        while kept and kept[-1].to_s > lobe.from_s and kept[-1].peak_mps2 < lobe.peak_mps2:
            kept.pop()
        if not kept or kept[-1].to_s <= lobe.from_s:
            kept.append(lobe)
    return tuple(kept)


def _lobe(row: list[float]) -> Lobe:
    a, b, c, d, e, f, g, h, i, cut, before = row
    return Lobe(a, b, c, d, e, f, g, h, i, cut > 0.5, before)


def _bounded(value: float, low: float, high: float) -> float:
    return min(high, max(low, value))


def looks_pulled(lobe: Lobe) -> bool:
    """Return True for the shape that a line gives: long, highest at first, and little left after it."""
    whole = lobe.to_s - lobe.from_s
    early = lobe.peak_s - lobe.from_s < PULLED_EARLY * whole
    return whole > PULLED_LEAST_S and early and lobe.brake_mps2 < PULLED_LEFT * lobe.peak_mps2


def given_score(lobe: Lobe) -> float:
    """Return how much a lobe looks like a stroke, thrown or not: from rest, strong, not too long."""
    whole = lobe.to_s - lobe.from_s
    if whole < SHORTEST_S or (whole > THROW_MOST_S and not looks_pulled(lobe)):
        return -9.0
    speed_mps = lobe.speed_mps + min(0.0, lobe.before_mps)  # a lobe that only stops a swing back gives none
    score = _bounded(3.0 * (speed_mps - 3.0), -12.0, 12.0)
    score += _bounded(6.0 * (lobe.peak_mps2 / (lobe.rest_sd_mps2 + 0.5) - 5.0), -24.0, STRENGTH_MOST)
    return score - _bounded(3.0 * (lobe.before_mps - 2.5), 0.0, 12.0)


def thrown_score(lobe: Lobe) -> float:
    """Return how much a lobe looks let go of, rather than held back: the share of speed that is kept."""
    if lobe.cut:
        return 0.0
    return _bounded(18.0 * (lobe.kept - 0.45), -8.0, 8.0)

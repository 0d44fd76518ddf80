"""Wind-up, stroke and release from the lobe of the forward force.

The release is where the falling flank of the lobe meets the level after it. With the motor off that is the
zero crossing of the force; a model thrown under power, or a tilted board, never crosses zero. The stroke
starts where the rising flank meets the level of rest.
"""

from __future__ import annotations

import numpy as np

from overarm.recordings.cues.lobes import Lobe, forward_force, looks_pulled, smoothed
from overarm.recordings.launch import Event
from overarm.recordings.moments.cut import ROOT_12, combined, crossing, cut
from overarm.recordings.noise import noise_of
from overarm.recordings.recording import Numbers, Recording

SMOOTH_S = 0.02
NOISY_SMOOTH_S = 0.05
NOISY_SHARE = 0.03  # noise over so much of the peak: the motor shakes the board
SHAPE_S = 0.01  # how far the flank of a real stroke is from a straight line
START_SHAPE_S = 0.02  # a stroke starts less sharply than it ends
UNSEEN_START_S = 0.1  # a third of a stroke: a force that never rests before it hides its start
CHORD_SHARE = 0.4
FLANK_S = 0.12  # how long a flank of a stroke usually is
DRAWN_ON_S = 0.15  # a flank is drawn on no further than its own usual length
LOW_SHARE, HIGH_SHARE = 0.08, 0.5
KNEE_SHARE, KNEE_SLOPE = 0.55, 0.35  # below so much of the peak, less steep than so much of the steepest
DRAWN_BEFORE_S = 1.6
NOTHING_MPS2 = 1e-6  # a peak of so little is none
DRAWN_LEAST_MPS2 = 1.5


def stroke_events(recording: Recording, lobe: Lobe) -> dict[str, Event]:
    """Return the events wind_up (if the arm was drawn back), stroke and release of a lobe.

    Only what lies in the unbroken part of the recording around the peak of the lobe is looked at.
    """
    force = forward_force(recording)
    if force is None:
        return {}
    t_s, values = _unbroken(recording, *force, lobe.peak_s)
    if t_s.size < 4:
        return {}
    step_s = float(np.median(np.diff(t_s)))
    noise = _shaking(recording, t_s, values, lobe)
    noisy = noise > NOISY_SHARE * lobe.peak_mps2
    values = smoothed(t_s, values, NOISY_SMOOTH_S if noisy else SMOOTH_S)
    found = {}
    release = _release(t_s, values, lobe, (step_s, noise if noisy else 0.0))
    if release is not None:
        found["release"] = release
    stroke = _start(t_s, values, lobe, (step_s, noise if noisy else 0.0))
    if stroke is not None:
        found["stroke"] = stroke
        wind_up = None if looks_pulled(lobe) else _wind_up(t_s, values, lobe, stroke.t_s, step_s)
        if wind_up is not None:
            found["wind_up"] = wind_up
    return found


def _shaking(recording: Recording, t_s: Numbers, values: Numbers, lobe: Lobe) -> float:
    """Return how much the board is shaken just before the stroke [m/s2].

    From the differences of the forward force, and from the spread of the force through the belly, which a
    stroke along the body leaves alone but a motor does not.
    """
    noise = noise_of(values[(t_s > lobe.from_s - 0.7) & (t_s < lobe.from_s)])
    across = recording.channel("force_z_mps2")
    if across is None:
        return noise
    span_s, other = cut(across, lobe.from_s - 0.7, lobe.from_s)
    if other.size < 8:
        return noise
    slow = smoothed(span_s, other, 0.2)
    return max(noise, float(np.std(other - slow)) / 1.2)


def _unbroken(recording: Recording, t_s: Numbers, values: Numbers, at_s: float) -> tuple[Numbers, Numbers]:
    breaks = np.asarray(sorted(recording.breaks_s), float)
    place = int(np.searchsorted(breaks, at_s))
    low = max(at_s - 4.0, breaks[place - 1] if place > 0 else -np.inf)
    high = min(at_s + 4.0, breaks[place] if place < breaks.size else np.inf)
    keep = (t_s > low) & (t_s < high)
    t_s, values = t_s[keep], values[keep]
    if t_s.size < 2:
        return t_s, values
    hole = max(0.2, 3.0 * float(np.median(np.diff(t_s))))
    holes = np.flatnonzero(np.diff(t_s) > hole) + 1
    k = int(np.searchsorted(t_s, at_s))
    first = int(max([0, *holes[holes <= k]]))
    last = int(min([t_s.size, *holes[holes > k]]))
    return t_s[first:last], values[first:last]


def _line(t_s: Numbers, values: Numbers, base: float) -> tuple[float, float] | None:
    """Return (time [s] at which the straight line through samples meets a level, its slope [m/s3])."""
    if t_s.size < 2:
        return None
    slope, level = np.polyfit(t_s - t_s[0], values, 1)
    return None if slope == 0.0 else (float(t_s[0] + (base - level) / slope), float(slope))


def _level_after(t_s: Numbers, values: Numbers, lobe: Lobe) -> tuple[float, float] | None:
    """Return the level of the force after the lobe and its spread [m/s2]; None if nothing is recorded."""
    wait_s = 0.2 if looks_pulled(lobe) else 0.06
    after = values[(t_s > lobe.to_s + wait_s) & (t_s < lobe.to_s + wait_s + 0.2)]
    if not after.size:
        after = values[t_s > lobe.to_s]
    if not after.size:
        return None
    return float(np.median(after)), float(np.std(after)) if after.size > 2 else 1.0


def _knee(values: Numbers, base: float, noise: float) -> int:
    """Return the first sample at which a falling flank has ended: low, or much less steep than it was.

    The force may end at a step: a model that is let go nose-up still feels its own lift and its turning.
    """
    top = float(values[0])
    steepest = 0.0
    for k in range(1, values.size):
        share = (float(values[k]) - base) / max(NOTHING_MPS2, top - base)
        fall = float(values[k - 1] - values[k])
        knee = noise == 0.0 and share < KNEE_SHARE and fall < KNEE_SLOPE * steepest
        if share <= LOW_SHARE or knee:
            return k
        steepest = max(steepest, fall)
    return values.size


def _release(t_s: Numbers, values: Numbers, lobe: Lobe, kind: tuple[float, float]) -> Event | None:
    """Return the release; ``kind``: step of the samples [s], noise [m/s2] if a motor shakes them, else 0."""
    step_s, shaking = kind
    level = _level_after(t_s, values, lobe)
    peak = int(np.argmin(np.abs(t_s - lobe.peak_s)))
    top = float(values[peak])
    if level is None or top <= NOTHING_MPS2 or level[0] > 0.6 * top:
        return None
    base, noise = level
    if looks_pulled(lobe):
        return _line_end(t_s[peak:], values[peak:], (top, base, noise), step_s)
    k = peak + _knee(values[peak:], base, shaking)
    if k >= t_s.size:
        return None
    share = (values[peak:k] - base) / (top - base)
    used = np.flatnonzero(share <= HIGH_SHARE) + peak
    ends = min(base, lobe.rest_mps2)  # thrown under power, the force falls to rest and then jumps up
    meets = _line(t_s[used], values[used], ends)
    if meets is None or meets[1] >= 0.0:
        at_s = crossing(t_s, values, k, base + LOW_SHARE * (top - base))
        doubt_s = FLANK_S * (shaking + 0.3 * noise) / (top - base)
        error = combined(step_s / ROOT_12 * 1.5, SHAPE_S, min(0.2, doubt_s))
        return Event(at_s, error, "the forward force falls to the level of flight")
    jump = base - ends
    at_s = min(
        max(meets[0], float(t_s[k - 1])), float(t_s[k]) + step_s + min(DRAWN_ON_S, jump / abs(meets[1]))
    )
    stays = max(0.0, float(values[k]) - base)
    doubt = 0.5 * min(stays, 0.25 * (top - base)) + noise + 0.25 * shaking + 0.3 * jump
    error = combined(step_s / ROOT_12, min(DRAWN_ON_S, doubt / abs(meets[1])), SHAPE_S)
    return Event(at_s, error, "the falling flank of the forward force meets the level of flight")


def _line_end(
    t_s: Numbers, values: Numbers, levels: tuple[float, float, float], step_s: float
) -> Event | None:
    """Return when the pull of a line ends: its last part, drawn on to the level of flight."""
    top, base, noise = levels
    share = (values - base) / (top - base)
    below = np.flatnonzero(share <= 0.04)
    if not below.size:
        return None
    k = int(below[0])
    used = np.flatnonzero((share[:k] <= 0.35) & (share[:k] >= 0.05))
    meets = _line(t_s[used], values[used], base) if used.size > 3 else None
    if meets is None or meets[1] >= 0.0:
        at_s = float(t_s[k])
        return Event(at_s, combined(step_s, 0.08), "the forward force falls to the level of flight")
    error = combined(step_s / ROOT_12, min(0.2, (0.5 * noise + 0.7) / abs(meets[1])), 0.02)
    at_s = min(max(meets[0], float(t_s[k]) - 0.1), float(t_s[k]) + 0.15)
    return Event(at_s, error, "the falling pull of the line meets the level of flight")


def _start(t_s: Numbers, values: Numbers, lobe: Lobe, kind: tuple[float, float]) -> Event | None:
    """Return the start of the stroke; ``kind`` as for the release."""
    step_s, shaking = kind
    peak = int(np.argmin(np.abs(t_s - lobe.peak_s)))
    top, base = float(values[peak]), lobe.rest_mps2
    if top <= base:
        return None
    near = np.flatnonzero(t_s[:peak] < lobe.from_s - 0.02)
    first = int(near[-1]) if near.size else 0
    low = base + HIGH_SHARE * (top - base)
    under = np.flatnonzero(values[first:peak] <= low)
    if not under.size:
        if t_s[first] <= t_s[0]:
            return None
        return Event(float(lobe.from_s), combined(step_s, UNSEEN_START_S), "the forward force rises")
    k = first + int(under[-1]) + 1
    jump_s = crossing(t_s, values, k, low)
    if looks_pulled(lobe):
        return Event(jump_s, combined(step_s / ROOT_12, SHAPE_S), "the forward force jumps up")
    slope = (values[min(k + 1, peak)] - values[k - 1]) / max(1e-6, t_s[min(k + 1, peak)] - t_s[k - 1])
    at_s = jump_s - (low - base) / max(float(slope), (low - base) / 0.2)
    at_s = max(at_s, float(t_s[first])) + CHORD_SHARE * step_s  # the chord of a flank that bends up
    error = combined(0.45 * step_s, START_SHAPE_S, min(0.2, FLANK_S * shaking / (top - base)))
    return Event(at_s, error, "the rising flank of the forward force meets the level of rest")


def _wind_up(t_s: Numbers, values: Numbers, lobe: Lobe, stroke_s: float, step_s: float) -> Event | None:
    before = np.flatnonzero((t_s > stroke_s - DRAWN_BEFORE_S) & (t_s < stroke_s))
    if before.size < 4:
        return None
    away = values[before] - lobe.rest_mps2
    dip = int(np.argmin(away))
    noise = max(noise_of(away), 0.1)
    if away[dip] > -max(DRAWN_LEAST_MPS2, 4.0 * noise):
        return None
    level = 0.4 * float(away[dip])
    over = np.flatnonzero(away[:dip] > level)
    if not over.size:
        return None
    k = int(over[-1]) + 1
    at_s = crossing(t_s[before], away, k, level)
    error = combined(step_s / ROOT_12, 0.04, 0.3 * noise / abs(level) * DRAWN_BEFORE_S)
    return Event(at_s, error, "the arm draws back: the forward force dips")

"""Rate and path of the climb, and the time to the handover height."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.estimates.fuse import Measured, fused
from overarm.recordings.estimates.lag import SPEED_NOISE_MPS, Lag
from overarm.recordings.estimates.lowpoint import release_height
from overarm.recordings.estimates.satellite import CLIMB_NOISE_MPS
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, first_rise_through, noise_of, part, smoothed, straight
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate, Event

RATE, PATH, HANDOVER = "climb_mps", "climb_path_rad", "handover_after_s"
LEAST_S = 1.0
END_S = 0.6  # the height at either end of the climb is taken over this long
BARO_SCALE = 0.01  # pressure height against true height off the standard day
BARO_DRIFT_M = 0.1
COMMON_MPS = 0.05


def _ends(taken: Taken) -> tuple[float, float] | str:
    climb = taken.event("climb")
    if climb is None:
        return "No climb was seen."
    handover = taken.event("handover")
    to_s = taken.launch.to_s if handover is None else handover.t_s
    if to_s - climb.t_s < LEAST_S:
        return "The climb lasted less than a second."
    return climb.t_s, to_s


def mean_slope(height: Series, from_s: float, to_s: float) -> Measured | None:
    """Return the mean rate of a height between two times [m/s]: lines through either end; None if too short.

    Equation: ``(h2 - h1)/(t2 - t1)``, each h from a straight line through the samples near it.
    """
    found = []
    for end in (from_s, to_s):
        near = part(height, end - END_S, end + (END_S if end == from_s else 0.0))
        if near.t_s.size < 3:
            return None
        found.append(straight(near, end))
    lasts = to_s - from_s
    value = (found[1].value - found[0].value) / lasts
    noise = noise_of(height.values)
    apart = [
        max(line.value_error, noise / math.sqrt(2.0 * END_S / max(height.step_s, 1e-3))) for line in found
    ]
    return Measured(value, together(*apart, BARO_DRIFT_M, BARO_SCALE * abs(value) * lasts) / lasts)


def _mean_of(series: Series, from_s: float, to_s: float, noise: float) -> Measured | None:
    """Return the mean over time of a speed, and its error; None with fewer than three samples."""
    inside = part(series, from_s, to_s)
    if inside.t_s.size < 3:
        return None
    lasts = float(inside.t_s[-1] - inside.t_s[0])
    value = float(np.trapezoid(inside.values, inside.t_s)) / lasts
    off = abs(float(inside.values[-1] - inside.values[0])) * (to_s - from_s - lasts) / (2.0 * (to_s - from_s))
    return Measured(value, together(noise / math.sqrt(inside.t_s.size), COMMON_MPS, off))


def climb_estimates(taken: Taken, lag: Lag) -> dict[str, Estimate]:
    """Return the estimates of rate and path of the climb, over the ground."""
    ends = _ends(taken)
    if isinstance(ends, str):
        return {RATE: cannot(RATE, ends), PATH: cannot(PATH, ends)}
    from_s, to_s = ends
    parts, words = [], []
    baro, climb, speed = (taken.series(n) for n in ("baro_height_m", "climb_mps", "ground_speed_mps"))
    late = lag.left.value
    if baro is not None and (by_baro := mean_slope(baro, from_s, to_s)) is not None:
        parts.append(by_baro)
        words.append("height by air pressure at both ends of the climb")
    if climb is not None:
        moved = Series(climb.t_s - late, climb.values)
        if (by_sat := _mean_of(moved, from_s, to_s, CLIMB_NOISE_MPS)) is not None:
            parts.append(by_sat)
            words.append("mean vertical speed by satellite")
    if not parts:
        why = "There is neither a height by air pressure nor a vertical speed by satellite in the climb."
        return {RATE: cannot(RATE, why), PATH: cannot(PATH, why)}
    rate = fused(parts)
    begin = taken.event("climb")
    start = together(rate.error, 0.9 * abs(rate.value) * (begin.error_s if begin else 0.0) / (to_s - from_s))
    how = f"{' and '.join(words)}, from the start of the climb to the handover or the end"
    found = {RATE: told(RATE, rate.value, start, how)}
    over = None
    if speed is not None:
        over = _mean_of(Series(speed.t_s - late, speed.values), from_s, to_s, SPEED_NOISE_MPS)
    if over is None or over.value < 1.0:
        found[PATH] = cannot(PATH, "There is no satellite speed in the climb.")
        return found
    square = rate.value**2 + over.value**2
    error = together(over.value * start, rate.value * over.error) / square
    found[PATH] = told(PATH, math.atan2(rate.value, over.value), error, f"{how}, over the satellite speed")
    return found


def handover_estimate(taken: Taken) -> Estimate:
    """Return the estimate of the time from release to the handover height."""
    release, handover = taken.event("release"), taken.event("handover")
    if release is None:
        return cannot(HANDOVER, "No release was seen.")
    if handover is None:
        handover = _by_height(taken, release)
    if handover is None:
        return cannot(HANDOVER, "No handover was seen, nor did the height by air pressure reach its height.")
    error = together(release.error_s, handover.error_s)
    return told(HANDOVER, handover.t_s - release.t_s, error, f"handover less release ({handover.method})")


def _by_height(taken: Taken, release: Event) -> Event | None:
    """Return when the height by air pressure, counted from before the throw, reached the handover height."""
    baro, stroke = taken.series("baro_height_m"), taken.event("stroke")
    if baro is None or taken.setup is None:
        return None
    begin = release.t_s if stroke is None else stroke.t_s
    before = part(baro, begin - 1.6, begin - 0.4)
    if not before.t_s.size:
        return None
    above = release_height(taken)
    wanted = taken.setup.settings.handover_height_m.value - above.value + float(np.mean(before.values))
    rising = smoothed(part(baro, release.t_s, taken.launch.to_s), 0.4)
    t_s = first_rise_through(rising, wanted)
    if t_s is None:
        return None
    near = part(rising, t_s - 0.5, t_s + 0.5)
    rate = max(0.3, straight(near, t_s).slope) if near.t_s.size > 2 else 1.0
    error = together(above.error, 0.1, BARO_SCALE * wanted) / rate
    return Event(t_s, error, "height by air pressure")

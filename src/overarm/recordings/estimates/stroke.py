"""How long the stroke took and how far it went."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, integral, part
from overarm.recordings.estimates.strapdown import Reckoned, speed_error
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

TIME, LENGTH = "stroke_time_s", "stroke_length_m"


def turning_point(reckoned: Reckoned, from_s: float, release_s: float) -> tuple[float, float]:
    """Return (when the model was furthest back [s], how far it went from there to release [m]).

    Equation: ``x(release) - min x``, x the twice integrated acceleration.
    """
    moving = (reckoned.t_s >= from_s) & (reckoned.t_s <= release_s)
    t = np.append(reckoned.t_s[moving], release_s)
    ahead = np.append(reckoned.ahead_mps[moving], reckoned.at(release_s, reckoned.ahead_mps))
    up = np.append(reckoned.up_mps[moving], reckoned.at(release_s, reckoned.up_mps))
    climb = math.atan2(float(up[-1]), max(0.1, float(ahead[-1])))
    along = ahead * math.cos(climb) + up * math.sin(climb)
    place = integral(t, along)
    last = int(np.argmin(place))
    return float(t[last]), float(place[-1] - place[last])


def stroke_estimates(taken: Taken, reckoned: Reckoned | None) -> dict[str, Estimate]:
    """Return the estimates of time and length of the stroke."""
    begin, release = taken.event("stroke"), taken.event("release")
    if begin is None or release is None:
        why = "No stroke and release were seen."
        return {TIME: cannot(TIME, why), LENGTH: cannot(LENGTH, why)}
    lasts = release.t_s - begin.t_s
    error = together(begin.error_s, release.error_s)
    time = told(TIME, lasts, error, "from the beginning of the forward force to release")
    if reckoned is None:
        return {TIME: time, LENGTH: cannot(LENGTH, "The forces from a hold to release are not there.")}
    if reckoned.clipped:
        return {
            TIME: time,
            LENGTH: cannot(LENGTH, "The forward force reached the end of its range, so it cannot be summed."),
        }
    windup = taken.event("wind_up")
    back_s, way = turning_point(reckoned, reckoned.rest.to_s, release.t_s)
    stroke = part(Series(reckoned.t_s, reckoned.force[0]), reckoned.rest.to_s, release.t_s)
    off = speed_error(reckoned, stroke, release.t_s, 0.0)
    speed = reckoned.at(release.t_s, reckoned.speed_mps())
    way_error = together(0.6 * off * lasts, speed * release.error_s, 0.01 * way)
    how = "forward force less gravity and its mean before, integrated twice from furthest back to release"
    if windup is not None and abs(back_s - begin.t_s) < 0.3:
        onset = float(np.interp(back_s, reckoned.t_s, reckoned.force[0]))
        own = together(off / max(3.0, abs(onset)), 0.3 * float(np.median(np.diff(reckoned.t_s))))
        time = told(
            TIME,
            release.t_s - back_s,
            together(own, release.error_s),
            "from where the drawn-back model turned forward, by its reckoned speed, to release",
        )
    return {TIME: time, LENGTH: told(LENGTH, way, way_error, how)}

"""When thrust first covers drag and the climb."""

from __future__ import annotations

import math

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.estimates.air import Air
from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.motor import first_throttle_of
from overarm.recordings.estimates.polar import aero_of, elevator_at, flown
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, part, smoothed
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate, Event
from overarm.recordings.recording import Numbers

NAME = "thrust_match_after_s"
SMOOTH_S = 0.15
NEAR_S = 0.3
WITHIN_S = 8.0
USUAL_INCIDENCE_RAD, USUAL_ERROR_RAD = math.radians(6.0), math.radians(2.5)
FORCE_ERROR_MPS2 = 0.1
MOST_ERROR_S = 0.6


def excess(forward_mps2: Numbers, down_mps2: Numbers, incidence_rad: Numbers, climb_rad: float) -> Numbers:
    """Return (thrust less drag)/weight less the sine of the climb that is wanted, (n,).

    ``climb_rad`` is the pitch held in the climb. Equation: ``(f_x + f_z sin(a))/g - sin(max(0, pitch - a))``,
    the lift being ``-m f_z``; thrust covers drag and climb where it is above nothing.
    """
    gain = (forward_mps2 + down_mps2 * np.sin(incidence_rad)) / GRAVITY_MPS2
    climb = np.maximum(0.0, climb_rad - np.maximum(0.0, incidence_rad))
    return np.asarray(gain - np.sin(climb))


def _excess_after(
    taken: Taken, reckoned: Reckoned, air: Air | None, level: Measured, pitch_rad: float
) -> Series:
    """Return the excess from release on, smoothed."""
    release = taken.event("release")
    assert release is not None
    flying = (reckoned.t_s >= release.t_s) & (reckoned.t_s <= release.t_s + WITHIN_S)
    t = reckoned.t_s[flying]
    x, z = (smoothed(Series(t, reckoned.force[k][flying]), SMOOTH_S).values for k in (0, 2))
    aero = aero_of(taken)
    if aero is not None and air is not None:
        incidence = flown(aero, air.at(t), z, elevator_at(taken, t)).incidence_rad
    else:
        incidence = np.full(t.size, USUAL_INCIDENCE_RAD)
    return Series(t, excess(x - GRAVITY_MPS2 * level.value, z, incidence, pitch_rad))


def match_of(taken: Taken, reckoned: Reckoned | None, air: Air | None, level: Measured) -> Event | str:
    """Return when thrust first covered drag and climb, or why it cannot be told.

    ``level``: by how much the believed pitch is too high [rad]; the forward force reads g times that more.
    """
    release = taken.event("release")
    if release is None:
        return "No release was seen."
    if taken.setup is None:
        return "Without a settings card the climb that thrust must cover is not known."
    if reckoned is None or not reckoned.vertical:
        return "It takes the forces forward and down, from a hold before the throw on."
    opened = first_throttle_of(taken)
    if opened is None:
        return "No throttle was seen."
    pitch = taken.setup.settings.climb_pitch_rad.value
    over = _excess_after(taken, reckoned, air, level, pitch)
    if over.t_s.size < 5:
        return "There are too few samples after release."
    begin = max(release.t_s, opened.t_s)
    usable = part(over, begin, begin + WITHIN_S)
    above = np.flatnonzero(usable.values > 0.0)
    if not above.size:
        return "Thrust did not cover drag and climb in this launch, by the forces."
    place = float(usable.t_s[above[0]])
    how = "smoothed forward force less the part of the lift in it, first above that of the climb"
    if above[0] == 0 and begin == release.t_s:
        return Event(release.t_s, together(release.error_s, 0.05), f"{how}: from release on")
    return _refined(taken, over, place, (how, level))


def _refined(taken: Taken, over: Series, place: float, told_by: tuple[str, Measured]) -> Event | str:
    """Return the crossing by a straight line through the samples near it."""
    how, level = told_by
    near = part(over, max(float(over.t_s[0]), place - NEAR_S), place + NEAR_S)
    if near.t_s.size < 5:
        return "There are too few samples where thrust came up."
    # A parabola: thrust grows faster than the throttle, so a line would cross too early.
    bend, slope, value = (float(one) for one in np.polyfit(near.t_s - place, near.values, 2))
    if slope <= 0.0:
        return "The forces are too unsteady to tell when thrust covered drag and climb."
    scatter = float(np.std(near.values - np.polyval([bend, slope, value], near.t_s - place)))
    off = value / slope
    t_s = place - min(NEAR_S, max(-NEAR_S, off * (1.0 + off * bend / slope)))
    incidence = USUAL_ERROR_RAD if taken.derived is None else 0.5 * USUAL_ERROR_RAD
    # Lift in the forward force and the sine of the climb shift against each other: little is left.
    model = together(level.error, FORCE_ERROR_MPS2 / GRAVITY_MPS2, 0.3 * incidence)
    error = together(together(model, scatter) / slope, 0.02)
    if error > MOST_ERROR_S:
        return f"The forces rise too slowly or are too unsteady: the time is known to {error:.1f} s only."
    return Event(t_s, error, how)


def match_estimate(taken: Taken, match: Event | str) -> Estimate:
    """Return the estimate of the time from release until thrust covers drag and climb."""
    release = taken.event("release")
    if isinstance(match, str) or release is None:
        return cannot(NAME, match if isinstance(match, str) else "No release was seen.")
    return told(NAME, match.t_s - release.t_s, together(match.error_s, release.error_s), match.method)

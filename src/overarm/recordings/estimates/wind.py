"""Headwind at the launch: airspeed less ground speed, or the drift of a circle flown later."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.estimates.fuse import Measured, fused
from overarm.recordings.estimates.lag import SPEED_NOISE_MPS, Lag
from overarm.recordings.estimates.lowpoint import release_height
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, at, part
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers

NAME = "headwind_mps"
FROM_S, TO_S = 0.3, 8.0
LEAST_AIRSPEED_MPS = 6.0  # a probe reads noise below 4 to 5 m/s
PROBE_ERROR_MPS = 0.3
STRAIGHT_RAD = math.radians(30.0)
USUAL_ROUGHNESS_M = 0.03
GUST_TIME_S = 2.0
CIRCLE_RAD = math.radians(330.0)
CIRCLE_AGE_S = 40.0
NEAR_M = 0.5
SETTLE_S = 3.0  # after the climb the airspeed falls to that of the circle
SLOW_MPS = 3.0  # below this a course is noise
CORRELATED = 4.0  # samples that go for one
ROUND_SHARE = 0.2  # speeds further from their circle than this share of its radius are no steady circle


class Circle(NamedTuple):
    """A circle of ground velocities: the wind is its centre, the airspeed its radius."""

    north_mps: float  # of the wind: where it goes
    east_mps: float
    airspeed_mps: float
    error_mps: float  # of each component of the wind
    scatter_mps: float  # of the speeds about the circle


def drift(t_s: Numbers, north_mps: Numbers, east_mps: Numbers) -> Circle:
    """Return the circle through ground velocities, (n,), by least squares; the airspeed may change.

    Equation: ``|u|^2 = 2 c . u + (r^2 - |c|^2)``, linear in the centre c and in the last term, a parabola in
    time. Source: Kasa, IEEE Trans. Instrum. Meas. 25 (1976) 8.
    """
    since = (t_s - t_s[0]) / max(1e-9, float(t_s[-1] - t_s[0]))
    design = np.stack([2.0 * north_mps, 2.0 * east_mps, np.ones(t_s.size), since, since**2], axis=1)
    solved, *_ = np.linalg.lstsq(design, north_mps**2 + east_mps**2, rcond=None)
    north, east = float(solved[0]), float(solved[1])
    square = design[:, 2:] @ solved[2:] + north * north + east * east
    radius = np.sqrt(np.maximum(1e-6, square))
    away = np.maximum(1e-6, np.hypot(north_mps - north, east_mps - east))
    left = away - radius
    scatter = math.sqrt(float(left @ left) / max(1, t_s.size - 5))
    pulls = np.concatenate(
        [((north_mps - north) / away)[:, None], ((east_mps - east) / away)[:, None], design[:, 2:]], axis=1
    )
    spread = np.linalg.inv(pulls.T @ pulls + 1e-9 * np.eye(5))
    # Samples follow one another closely: what is left over is not independent from one to the next.
    error = scatter * math.sqrt(CORRELATED * 0.5 * float(spread[0, 0] + spread[1, 1]))
    return Circle(north, east, float(np.mean(radius)), error, scatter)


def roughness_m(taken: Taken) -> float:
    """Return the roughness length of the ground [m], of the site card or that of a meadow."""
    return USUAL_ROUGHNESS_M if taken.setup is None else taken.setup.site.roughness_m.value


def over_height(height_m: Numbers, to_m: float, rough_m: float) -> Numbers:
    """Return the mean wind at one height over that at others, by the log law, shape (n,).

    Equation: ``ln(to/z0)/ln(z/z0)``. Source: any text on the surface layer, e.g. Stull (1988), chapter 9.
    """
    low = max(to_m, 2.0 * rough_m)
    return np.asarray(math.log(low / rough_m) / np.log(np.maximum(height_m, low * NEAR_M) / rough_m))


def heights_m(taken: Taken, t_s: Numbers, release_s: float) -> Numbers:
    """Return heights over the ground [m] by air pressure counted from the throw; at release without."""
    base = release_height(taken).value
    baro = taken.series("baro_height_m")
    if baro is None:
        return np.full(t_s.size, base)
    before = part(baro, release_s - 2.0, release_s - 0.5)
    zero = float(np.mean(before.values)) if before.t_s.size else float(at(baro, np.array([release_s]))[0])
    return np.maximum(0.3, base + at(baro, t_s) - zero)


def launch_course(taken: Taken, lag: Lag, release_s: float) -> float | None:
    """Return the course over the ground soon after release [rad]; the heading without; None without both."""
    course = taken.series("course_rad")
    if course is not None:
        near = part(course, release_s + lag.left.value + 0.1, release_s + lag.left.value + 1.5)
        if near.t_s.size:
            return math.atan2(float(np.mean(np.sin(near.values))), float(np.mean(np.cos(near.values))))
    heading = taken.series("heading_rad")
    return None if heading is None else float(at(heading, np.array([release_s]))[0])


def _gusts(headwind: float, lasts_s: float) -> float:
    """Return how far the mean of a gusty wind over a time is from its long mean [m/s].

    Equation: ``s sqrt(2 T/t)``, s = 0.22 U + 0.15, T the correlation time; at most s.
    Source: common practice.
    """
    spread = 0.22 * abs(headwind) + 0.15
    return spread * min(1.0, math.sqrt(2.0 * GUST_TIME_S / max(lasts_s, 0.1)))


def by_airspeed(taken: Taken, lag: Lag, release_s: float) -> Measured | None:
    """Return the mean headwind at release height from airspeed less ground speed; None without either."""
    air, ground = taken.series("airspeed_mps"), taken.series("ground_speed_mps")
    if air is None or ground is None:
        return None
    handover = taken.event("handover")
    to_s = min(release_s + TO_S, taken.launch.to_s if handover is None else handover.t_s)
    late = part(Series(ground.t_s - lag.left.value, ground.values), release_s + FROM_S, to_s)
    course, aim = taken.series("course_rad"), launch_course(taken, lag, release_s)
    if course is not None and aim is not None:
        off = np.interp(late.t_s + lag.left.value, course.t_s, np.unwrap(course.values)) - aim
        ahead = np.cos(off) > math.cos(STRAIGHT_RAD)
        late = Series(late.t_s[ahead], late.values[ahead])
    usable = late.t_s.size >= 3 and air.t_s[0] < late.t_s[0] and air.t_s[-1] > late.t_s[-1]
    if not usable:
        return None
    width = max(0.05, 0.5 * late.step_s)
    fast = np.array([_mean_near(air, t, width) for t in late.t_s])
    fine = fast > LEAST_AIRSPEED_MPS
    if np.count_nonzero(fine) < 3:
        return None
    t, fast, over = late.t_s[fine], fast[fine], late.values[fine]
    heights = heights_m(taken, t, release_s)
    climb = np.gradient(heights, t) if t.size > 2 else np.zeros(t.size)
    level = np.sqrt(np.maximum(1.0, fast**2 - climb**2))
    low = release_height(taken).value
    winds = (level - over) * over_height(heights, low, roughness_m(taken))
    value = float(np.mean(winds))
    lasts = float(t[-1] - t[0])
    random = together(SPEED_NOISE_MPS, 0.3) / math.sqrt(t.size)
    return Measured(value, together(random, PROBE_ERROR_MPS, _gusts(value, lasts), 0.07 * abs(value)))


def _mean_near(series: Series, t_s: float, width_s: float) -> float:
    near = part(series, t_s - width_s, t_s + width_s)
    return float(np.mean(near.values)) if near.t_s.size else float(np.interp(t_s, series.t_s, series.values))


def by_circle(taken: Taken, lag: Lag, release_s: float) -> Measured | None:
    """Return the mean headwind at release height from the drift of a circle flown after the launch."""
    ground, course = taken.series("ground_speed_mps"), taken.series("course_rad")
    aim = launch_course(taken, lag, release_s)
    if ground is None or course is None or aim is None:
        return None
    handover = taken.event("handover")
    from_s = (release_s if handover is None else handover.t_s) + SETTLE_S
    down = taken.event("ground")
    until = taken.recording.to_s if down is None else down.t_s
    over = part(ground, from_s, min(from_s + CIRCLE_AGE_S, until))
    slow = np.flatnonzero(over.values < SLOW_MPS)
    if slow.size:
        over = Series(over.t_s[: slow[0]], over.values[: slow[0]])
    if over.t_s.size < 8:
        return None
    turn = np.interp(over.t_s, course.t_s, np.unwrap(course.values))
    if float(np.ptp(turn)) < CIRCLE_RAD:
        return None
    circle = drift(over.t_s, over.values * np.cos(turn), over.values * np.sin(turn))
    if circle.scatter_mps > ROUND_SHARE * circle.airspeed_mps:
        return None
    ahead = -(circle.north_mps * math.cos(aim) + circle.east_mps * math.sin(aim))
    heights = heights_m(taken, over.t_s - lag.left.value, release_s)
    scale = float(np.mean(over_height(heights, release_height(taken).value, roughness_m(taken))))
    lasts = float(over.t_s[-1] - over.t_s[0])
    error = together(circle.error_mps, _gusts(ahead, lasts), 0.15 * abs(ahead), 0.1)
    return Measured(ahead * scale, error * scale)


def headwind_estimate(taken: Taken, lag: Lag) -> tuple[Estimate, Measured | None]:
    """Return the estimate of the headwind at the height of release, and the same as a number."""
    release = taken.event("release")
    if release is None:
        return cannot(NAME, "No release was seen."), None
    found = (by_airspeed(taken, lag, release.t_s), by_circle(taken, lag, release.t_s))
    words = ("airspeed less ground speed after release", "drift of a circle flown later")
    parts = [one for one in found if one is not None]
    if not parts:
        why = "It takes airspeed and ground speed after release, or a circle flown later with its courses."
        return cannot(NAME, why), None
    whole = fused(parts)
    how = " and ".join(word for word, one in zip(words, found, strict=True) if one is not None)
    how += ", brought to the height of release by the log law"
    return told(NAME, whole.value, whole.error, how), whole

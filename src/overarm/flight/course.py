"""The free flight at one instant, its clock, and how it begins."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.exponent import logarithm
from overarm.flight.autopilot import NEVER
from overarm.flight.moment import Moment
from overarm.flight.record import STYLE_LINE_LAUNCHED
from overarm.flight.shares import Shares, shares_of
from overarm.flight.watch import Notes, Reach, notes_of, reach_start, speed_along
from overarm.jit import scalar
from overarm.physics.rigid_body import Body
from overarm.physics.wind import (
    GustState,
    along_wind,
    gust_advance,
    gust_pace,
    gust_start,
    gust_velocity,
    log_law,
)
from overarm.rng import STREAM_WIND, normal, normals

GUST_STEP_S = 0.04
COARSE_HEIGHT_M = 10.0


class Clock(NamedTuple):
    """Steps of the free flight."""

    step_s: float  # of the rigid body
    parts: float  # steps in one sample of the autopilot
    sample_s: float
    coarse: float  # 1 high up
    cued: float  # 1 once the cue has fired
    shares: Shares


class Air(NamedTuple):
    """The wind that a launch meets, from step to step."""

    blows: tuple[float, float]  # slope of the mean wind over ln z, launch frame [m/s]
    gust: GustState
    gust_mps: tuple[float, float, float]  # in the launch frame
    since_gust_s: float
    block: float  # gust steps so far


class Course(NamedTuple):
    """The free flight at one instant, with everything that goes on from step to step."""

    now: Moment
    airspeed_mps: float
    on: float  # 1 while the line is on the hook
    slack_s: float  # how long a stuck line has been slack
    reach: Reach
    notes: Notes
    start_s: float  # time of release
    sample: float  # samples so far


@scalar
def clock_state(now: Moment) -> tuple[float, float]:
    """Return what the clock goes by: (1 high up else 0, 1 once the cue has fired else 0)."""
    return 1.0 if -now.body.z > COARSE_HEIGHT_M else 0.0, 1.0 if now.mind.detection_s != NEVER else 0.0


@scalar
def clock_differs(now: Moment, pace: Clock) -> bool:
    """Return True if the steps have to be worked out again."""
    coarse, cued = clock_state(now)
    return (coarse != pace.coarse) | (cued != pace.cued)


@scalar
def clock(rec: Any, now: Moment) -> Clock:
    """Return the steps: the board's own rate until the cue fired, then at most the flight step.

    High up, where nothing fast is decided any more, twice the flight step.
    """
    coarse, cued = clock_state(now)
    period = 1.0 / rec.board.rate_hz
    most = rec.logic.step_s * (1.0 + coarse)
    if cued > 0.5:
        period *= max(1.0, math.floor(most / period + 1e-9))
    parts = float(math.ceil(period / most - 1e-9))
    step = period / parts
    return Clock(step, parts, period, coarse, cued, shares_of(rec, period, step))


@scalar
def released(rec: Any, moment: Moment) -> Moment:
    """Return the moment with the tumble that the hand gives at release."""
    hand, body = rec.hand, moment.body
    p, q, r = hand.roll_rate_radps, body.q + hand.pitch_rate_radps, hand.yaw_rate_radps
    body = Body(
        body.x, body.y, body.z, body.u, body.v, body.w,
        body.e0, body.e1, body.e2, body.e3, p, q, r, body.spin,
    )  # fmt: skip
    return Moment(moment.t_s, body, moment.mind, moment.servos, moment.drive, 1.0)


@scalar
def wind_over(rec: Any, slope_mps: tuple[float, float], height_m: float) -> tuple[float, float]:
    """Return the mean wind (x, y) [m/s] at a height from its slope over ln z (log law)."""
    over = logarithm(max(1.0, height_m / rec.air.roughness_m))
    return slope_mps[0] * over, slope_mps[1] * over


@scalar
def blow(rec: Any, air: Air, course: Course, who: tuple[int, int]) -> Air:
    """Return the air with its gusts one gust step later."""
    seed, launch = who
    height_m = -course.now.body.z
    first = 2 * int(air.block) + 2
    n0, n1, n2, n3 = normals(first, launch, STREAM_WIND, seed)
    n4 = normal(first + 1, launch, STREAM_WIND, seed)
    pace = gust_pace(height_m, course.airspeed_mps, GUST_STEP_S)
    gust = gust_advance(pace, air.gust, n0, n1, n2, n3, n4)
    gusts = gust_velocity(rec.air, gust, height_m)
    return Air(air.blows, gust, gusts, air.since_gust_s - GUST_STEP_S, air.block + 1.0)


@scalar
def waited(air: Air, step_s: float) -> Air:
    """Return the air a step [s] nearer to its next gust step."""
    return Air(air.blows, air.gust, air.gust_mps, air.since_gust_s + step_s, air.block)


@scalar
def gust_due(air: Air) -> bool:
    """Return True if a gust step is due."""
    return air.since_gust_s >= GUST_STEP_S - 1e-9


@scalar
def air_start(rec: Any, now: Moment, who: tuple[int, int]) -> Air:
    """Return the air at release, with gusts that have always been blowing."""
    seed, launch = who
    n0, n1, n2, n3 = normals(0, launch, STREAM_WIND, seed)
    n4 = normal(1, launch, STREAM_WIND, seed)
    gust = gust_start(n0, n1, n2, n3, n4)
    blows = along_wind(rec.air, log_law(rec.air), 0.0)
    return Air(blows, gust, gust_velocity(rec.air, gust, -now.body.z), 0.0, 0.0)


@scalar
def course_start(rec: Any, now: Moment, air: Air, sample: int, out: Any) -> Course:
    """Return the free flight at its first instant."""
    wind_x, wind_y = wind_over(rec, air.blows, -now.body.z)
    x, y, z = speed_along(now)
    x, y = x - wind_x, y - wind_y
    airspeed = math.sqrt(x * x + y * y + z * z)
    on = 1.0 if rec.logic.style == STYLE_LINE_LAUNCHED else 0.0
    return Course(now, airspeed, on, 0.0, reach_start(rec), notes_of(rec, out, now), now.t_s, float(sample))

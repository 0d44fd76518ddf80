"""One launch from listening to hand-over, the ground, or the time limit."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.flight.autopilot import NEVER, Felt, Mind, mind_step
from overarm.flight.drive import Drive, asked_since
from overarm.flight.forces import Held, Seen, midpoint_step, rates
from overarm.flight.held import hold
from overarm.flight.moment import Moment
from overarm.flight.record import STYLE_LINE_LAUNCHED
from overarm.flight.shares import Shares, shares_of
from overarm.flight.trace import note_flying
from overarm.flight.verdict import verdict
from overarm.flight.walls import note_ahead, note_walls
from overarm.flight.watch import (
    END_HANDED_OVER,
    END_STRUCK,
    GOES_ON,
    Reach,
    ending,
    gave_up,
    note_extremes,
    note_hand,
    reach_start,
    reach_step,
    speed_along,
)
from overarm.jit import scalar
from overarm.physics.line import has_dropped
from overarm.physics.motor import applied_throttle
from overarm.physics.rigid_body import Body
from overarm.physics.sensor import felt_forward, lever_terms
from overarm.physics.surfaces import Servos, deflections, servo_moved
from overarm.physics.wind import (
    GustState,
    along_wind,
    gust_advance,
    gust_pace,
    gust_start,
    gust_velocity,
    log_law,
    mean_wind,
)
from overarm.rng import STREAM_SENSOR, STREAM_WIND, normal, normals

# Sensor noise of the flight phase starts here in its stream, far beyond the held phase.
FLIGHT_NOISE_BLOCK = 1_000_000
GUST_STEP_S = 0.04
COARSE_HEIGHT_M = 10.0


class Clock(NamedTuple):
    """Steps of the flight loop."""

    step_s: float  # of the rigid body
    parts: int  # steps in one sample of the autopilot
    sample_s: float
    shares: Shares


class Course(NamedTuple):
    """The free flight at one instant, with everything that goes on from step to step."""

    now: Moment
    blows: tuple[float, float]  # slope of the mean wind over ln z, launch frame [m/s]
    gust: GustState
    gust_mps: tuple[float, float, float]  # in the launch frame
    airspeed_mps: float
    since_gust_s: float
    block: int  # gust steps so far
    on: float  # 1 while the line is on the hook
    slack_s: float  # how long a stuck line has been slack
    reach: Reach
    start_s: float  # time of release
    sample: int


@scalar
def moved_on(course: Course, now: Moment, reach: Reach) -> Course:
    """Return the course at the next moment."""
    return Course(
        now,
        course.blows,
        course.gust,
        course.gust_mps,
        course.airspeed_mps,
        course.since_gust_s,
        course.block,
        course.on,
        course.slack_s,
        reach,
        course.start_s,
        course.sample,
    )


@scalar
def clock(rec: Any, now: Moment, before: Clock) -> Clock:
    """Return the steps: the board's own rate until the cue fired, then at most the flight step.

    High up, where nothing fast is decided any more, twice the flight step.
    """
    period = 1.0 / rec.board.rate_hz
    most = rec.logic.step_s
    if -now.body.z > COARSE_HEIGHT_M:
        most *= 2.0
    if now.mind.detection_s != NEVER:
        period *= max(1.0, math.floor(most / period + 1e-9))
    parts = int(math.ceil(period / most - 1e-9))
    if period == before.sample_s and parts == before.parts:
        return before
    step = period / float(parts)
    return Clock(step, parts, period, shares_of(rec, period, step))


@scalar
def clock_start(rec: Any, now: Moment) -> Clock:
    """Return the steps at release."""
    return clock(rec, now, Clock(0.0, 0, 0.0, Shares(0.0, 0.0, 0.0, 0.0, 0.0)))


@scalar
def felt_flying(
    rec: Any, now: Moment, seen: Seen, rate: Body, speed_mps: float, who: tuple[int, int], sample: int
) -> Felt:
    """Return what the board feels in free flight; noise and tilt matter to the cue only."""
    body = now.body
    lever = lever_terms(rec.board, (body.p, body.q, body.r), (rate.p, rate.q, rate.r))
    x, y, z = seen.force_x_mps2 + lever[0], seen.force_y_mps2 + lever[1], seen.force_z_mps2 + lever[2]
    forward = x
    if now.mind.detection_s == NEVER:
        noise = normal(FLIGHT_NOISE_BLOCK + sample, who[1], STREAM_SENSOR, who[0])
        forward = felt_forward(rec.board, x, z, now.drive.throttle, noise)
    level = x + rec.board.bias_mps2
    return Felt(forward, level, y, z, body.p, body.q, body.r, speed_mps, -body.z, 0.0, 0.0)


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
def note_release(rec: Any, out: Any, now: Moment, airspeed_mps: float) -> None:
    """Keep speed, wind and path at the instant of release (or when the line drops)."""
    x, y, z = speed_along(now)
    out.release_s = now.t_s
    out.release_speed_mps = math.sqrt(x * x + y * y + z * z)
    out.release_airspeed_mps = airspeed_mps
    out.release_speed_ratio = airspeed_mps / rec.logic.stall_speed_mps
    out.budget_mps = airspeed_mps - 1.05 * rec.logic.stall_speed_mps
    out.release_path_rad = math.atan2(-z, math.sqrt(x * x + y * y))


@scalar
def blow(rec: Any, course: Course, who: tuple[int, int]) -> GustState:
    """Return the gusts one gust step later."""
    seed, launch = who
    first = 2 * course.block + 2
    n0, n1, n2, n3 = normals(first, launch, STREAM_WIND, seed)
    n4 = normal(first + 1, launch, STREAM_WIND, seed)
    pace = gust_pace(-course.now.body.z, course.airspeed_mps, GUST_STEP_S)
    return gust_advance(pace, course.gust, n0, n1, n2, n3, n4)


@scalar
def held_at(
    rec: Any,
    now: Moment,
    mind: Mind,
    servos: Servos,
    on: float,
    wind_mps: tuple[float, float, float],
    ahead_s: float,
) -> Held:
    """Return surfaces, throttle and wind a little ahead of now, for what the autopilot asks.

    ``servos`` are those a little ahead of now.
    """
    elevator, aileron = deflections(rec.surfaces, servos)
    throttle = 0.0
    if now.drive.asked_s != NEVER:
        throttle = applied_throttle(rec.motor, mind.throttle, now.t_s + ahead_s - now.drive.asked_s)
    return Held(elevator, aileron, throttle, on, wind_mps[0], wind_mps[1], wind_mps[2])


@scalar
def advance(rec: Any, table: Any, now: Moment, mind: Mind, rate: Body, held: Held, pace: Clock) -> Moment:
    """Return the moment one step later; ``held`` is the middle of the step."""
    servos = servo_moved(rec.surfaces, now.servos, mind.wanted, pace.step_s, pace.shares.servo)
    body = midpoint_step(rec, table, now.body, rate, held, pace.step_s)
    body = Body(
        body.x, body.y, body.z, body.u, body.v, body.w,
        body.e0, body.e1, body.e2, body.e3, body.p, body.q, body.r, max(0.0, body.spin),
    )  # fmt: skip
    return Moment(now.t_s + pace.step_s, body, mind, servos, now.drive, 1.0)


@scalar
def line_step(rec: Any, on: float, seen: Seen, slack_s: float, step_s: float) -> tuple[float, float]:
    """Return (1 while the line is on the hook, time [s] that a stuck line has been slack)."""
    if on < 0.5:
        return 0.0, 0.0
    if rec.line.stuck > 0.5:
        return 1.0, slack_s + step_s if seen.stretch_m <= 0.0 else slack_s
    return (0.0 if has_dropped(rec.line, seen.stretch_m, seen.line_angle_rad) else 1.0), 0.0


@scalar
def wind_over(rec: Any, slope_mps: tuple[float, float], height_m: float) -> tuple[float, float]:
    """Return the mean wind (x, y) [m/s] at a height from its slope over ln z (log law)."""
    over = math.log(max(1.0, height_m / rec.air.roughness_m))
    return slope_mps[0] * over, slope_mps[1] * over


@scalar
def course_start(rec: Any, now: Moment, who: tuple[int, int], sample: int) -> Course:
    """Return the free flight at its first instant, with gusts that have always been blowing."""
    seed, launch = who
    blows = along_wind(rec.air, log_law(rec.air), 0.0)
    wind_x, wind_y = wind_over(rec, blows, -now.body.z)
    x, y, z = speed_along(now)
    x, y = x - wind_x, y - wind_y
    airspeed = math.sqrt(x * x + y * y + z * z)
    n0, n1, n2, n3 = normals(0, launch, STREAM_WIND, seed)
    n4 = normal(1, launch, STREAM_WIND, seed)
    gust = gust_start(n0, n1, n2, n3, n4)
    gusts = gust_velocity(rec.air, gust, -now.body.z)
    on = 1.0 if rec.logic.style == STYLE_LINE_LAUNCHED else 0.0
    reach = reach_start(rec)
    return Course(now, blows, gust, gusts, airspeed, 0.0, 0, on, 0.0, reach, now.t_s, sample)


@scalar
def note(rec: Any, out: Any, course: Course, seen: Seen, held: Held, step_s: float) -> None:
    """Keep the events and extremes of one step."""
    if out.release_s == NEVER and (course.on < 0.5 or course.slack_s > 0.0):
        note_release(rec, out, course.now, course.airspeed_mps)
    note_extremes(rec, out, course.now, seen, held, step_s)
    note_hand(rec, out, course.now, held, course.reach, step_s)


@scalar
def course_step(
    rec: Any,
    table: Any,
    who: tuple[int, int],
    course: Course,
    pace: Clock,
    samples: bool,
    out: Any,
    trace: Any,
) -> tuple[Course, Seen]:
    """Advance the free flight by one step; ``samples``: the autopilot takes a sample at its start."""
    step_s = pace.step_s
    since_gust, block = course.since_gust_s + step_s, course.block
    gust, gusts = course.gust, course.gust_mps
    if since_gust >= GUST_STEP_S - 1e-9:
        gust = blow(rec, course, who)
        gusts = gust_velocity(rec.air, gust, -course.now.body.z)
        since_gust, block = since_gust - GUST_STEP_S, block + 1
    now = course.now
    x, y, z = speed_along(now)
    wind_x, wind_y = wind_over(rec, course.blows, -now.body.z - 0.5 * step_s * z)
    wind = (wind_x + gusts[0], wind_y + gusts[1], gusts[2])
    held = held_at(rec, now, now.mind, now.servos, course.on, wind, 0.0)
    rate, seen = rates(rec, table, now.body, held)
    on, slack = line_step(rec, course.on, seen, course.slack_s, step_s)
    speed = math.sqrt(x * x + y * y + z * z)
    sample = course.sample + 1 if samples else course.sample
    course = Course(
        now,
        course.blows,
        gust,
        gusts,
        seen.airspeed_mps,
        since_gust,
        block,
        on,
        slack,
        course.reach,
        course.start_s,
        sample,
    )
    mind = now.mind
    if samples:
        felt = felt_flying(rec, now, seen, rate, speed, who, sample)
        mind = mind_step(rec, now.mind, felt, now.t_s, pace.sample_s, pace.shares)
        note_flying(rec, trace, sample - 1, now, seen, held, course.reach.gap_m)
    note(rec, out, course, seen, held, step_s)
    asked = asked_since(rec, now.drive, mind.throttle, now.t_s)
    drive = Drive(asked, held.throttle, now.body.spin)
    now = Moment(now.t_s, now.body, mind, now.servos, drive, 1.0)
    servos = servo_moved(rec.surfaces, now.servos, mind.wanted, 0.5 * step_s, pace.shares.half_servo)
    middle = held_at(rec, now, mind, servos, course.on, wind, 0.5 * step_s)
    later = advance(rec, table, now, mind, rate, middle, pace)
    reach = reach_step(rec, course.reach, speed, now.t_s - course.start_s, step_s)
    return moved_on(course, later, reach), seen


@scalar
def free_flight(
    rec: Any, table: Any, obstacles: Any, who: tuple[int, int], course: Course, out: Any, trace: Any
) -> None:
    """Run the free flight from release to its end and judge it."""
    end, free_m = GOES_ON, 0.0
    pace = clock_start(rec, course.now)
    while end == GOES_ON:
        pace = clock(rec, course.now, pace)
        for part in range(pace.parts):
            before = course.now.body
            course, seen = course_step(rec, table, who, course, pace, part == 0, out, trace)
            now = course.now
            struck, free_m = note_walls(out, obstacles, before, now.body, free_m)
            end = END_STRUCK if struck else ending(rec, out, now, seen, now.t_s - course.start_s)
            if end != GOES_ON:
                break
    now = course.now
    out.detection_s = now.mind.detection_s
    out.longest_above_s = now.mind.cue.longest_above_s
    out.end_s, out.distance_m = now.t_s, now.body.x
    if end == END_HANDED_OVER:
        out.handover_s = now.t_s
        note_ahead(out, obstacles, now.body, speed_along(now))
    verdict(rec, out, end, course.slack_s, gave_up(now))


@scalar
def fly(rec: Any, table: Any, obstacles: Any, seed: int, launch: int, out: Any, trace: Any) -> None:
    """Fly one launch; write its summary into ``out`` and its samples into ``trace``.

    ``rec``: launch record; ``table``: propeller table (2, 65); ``obstacles``: walls, array
    (n, 5) of x1, y1, x2, y2 and height [m] in the launch frame; ``out``: row of the summary, already blank;
    ``trace``: array (samples, columns), with no rows to keep none.
    """
    now, sample = hold(rec, table, seed, launch, out, trace)
    out.detection_s = now.mind.detection_s
    out.end_s = now.t_s
    if now.thrown < 0.5:
        verdict(rec, out, GOES_ON, 0.0, False)
        return
    now = released(rec, now)
    out.headwind_mps = -mean_wind(rec.air, -now.body.z) * along_wind(rec.air, 1.0, 0.0)[0]
    out.low_point_m, out.low_point_s = -now.body.z, now.t_s
    course = course_start(rec, now, (seed, launch), sample)
    free_flight(rec, table, obstacles, (seed, launch), course, out, trace)

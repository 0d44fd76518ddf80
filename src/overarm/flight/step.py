"""One step of the free flight, in the parts between which the propeller's table is looked at.

A step is the explicit midpoint rule, second order: the forces now, the forces in the middle, the move. The
surfaces, the throttle and the wind are held over it, so a higher order would buy nothing (see
docs/decisions/0006-step.md). Each part is
arithmetic alone, without a call or a look at memory, so that launches can take it side by side
(`overarm.flight.abreast`).
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.flight.autopilot import NEVER, Felt, Mind, mind_step
from overarm.flight.course import Air, Clock, Course, wind_over
from overarm.flight.drive import Drive, asked_since
from overarm.flight.forces import Held, Seen, blade_share, rates_at
from overarm.flight.moment import Moment
from overarm.flight.watch import noted, reach_step, speed_along
from overarm.jit import scalar
from overarm.physics.line import has_dropped
from overarm.physics.motor import applied_throttle
from overarm.physics.rigid_body import Body, moved, normalised
from overarm.physics.sensor import felt_forward, lever_terms
from overarm.physics.surfaces import Servos, deflections, servo_moved

Pair = tuple[float, float]


class Start(NamedTuple):
    """The beginning of a step."""

    held: Held
    share: float  # place in the propeller's table


class Middle(NamedTuple):
    """The middle of a step."""

    body: Body
    held: Held
    share: float  # place in the propeller's table
    volts_v: float  # of the pack at the beginning


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
def step_start(rec: Any, course: Course, air: Air, pace: Clock) -> Start:
    """Return what holds at the beginning of a step; the wind is that of its middle."""
    now, gusts = course.now, air.gust_mps
    _, _, z = speed_along(now)
    wind_x, wind_y = wind_over(rec, air.blows, -now.body.z - 0.5 * pace.step_s * z)
    wind = (wind_x + gusts[0], wind_y + gusts[1], gusts[2])
    held = held_at(rec, now, now.mind, now.servos, course.on, wind, 0.0)
    return Start(held, blade_share(rec, now.body, held))


@scalar
def felt_flying(rec: Any, now: Moment, seen: Seen, rate: Body, speed_mps: float, noise: float) -> Felt:
    """Return what the board feels in free flight; noise and tilt matter to the cue only."""
    body = now.body
    lever = lever_terms(rec.board, (body.p, body.q, body.r), (rate.p, rate.q, rate.r))
    x, y, z = seen.force_x_mps2 + lever[0], seen.force_y_mps2 + lever[1], seen.force_z_mps2 + lever[2]
    forward = x
    if now.mind.detection_s == NEVER:
        forward = felt_forward(rec.board, x, z, now.drive.throttle, noise)
    level = x + rec.board.bias_mps2
    return Felt(forward, level, y, z, body.p, body.q, body.r, speed_mps, -body.z, 0.0, 0.0)


@scalar
def line_step(rec: Any, on: float, seen: Seen, slack_s: float, step_s: float) -> tuple[float, float]:
    """Return (1 while the line is on the hook, time [s] that a stuck line has been slack)."""
    if on < 0.5:
        return 0.0, 0.0
    if rec.line.stuck > 0.5:
        return 1.0, slack_s + step_s if seen.stretch_m <= 0.0 else slack_s
    return (0.0 if has_dropped(rec.line, seen.stretch_m, seen.line_angle_rad) else 1.0), 0.0


@scalar
def to_middle(
    rec: Any, pair: Pair, course: Course, start: Start, pace: Clock, samples: bool, noise: float
) -> tuple[Course, Middle, Seen]:
    """Take the first half of a step; ``pair``: what the table holds at the start's share.

    ``samples``: the autopilot takes a sample at the beginning, with this noise (a standard normal
    number).
    """
    now, held, step_s = course.now, start.held, pace.step_s
    rate, seen = rates_at(rec, pair, now.body, held)
    on, slack = line_step(rec, course.on, seen, course.slack_s, step_s)
    x, y, z = speed_along(now)
    speed = math.sqrt(x * x + y * y + z * z)
    mind, sample = now.mind, course.sample
    if samples:
        felt = felt_flying(rec, now, seen, rate, speed, noise)
        mind = mind_step(rec, now.mind, felt, now.t_s, pace.sample_s, pace.shares)
        sample += 1.0
    left = on < 0.5 or slack > 0.0
    notes = noted(rec, course.notes, now, seen, held, course.reach, left, step_s)
    asked = asked_since(rec, now.drive, mind.throttle, now.t_s)
    now = Moment(now.t_s, now.body, mind, now.servos, Drive(asked, held.throttle, now.body.spin), 1.0)
    servos = servo_moved(rec.surfaces, now.servos, mind.wanted, 0.5 * step_s, pace.shares.half_servo)
    wind = (held.wind_x_mps, held.wind_y_mps, held.wind_z_mps)
    held = held_at(rec, now, mind, servos, on, wind, 0.5 * step_s)
    body = moved(now.body, rate, 0.5 * step_s)
    reach = reach_step(rec, course.reach, speed, now.t_s - course.start_s, step_s)
    course = Course(now, seen.airspeed_mps, on, slack, reach, notes, course.start_s, sample)
    return course, Middle(body, held, blade_share(rec, body, held), seen.volts_v), seen


@scalar
def to_end(rec: Any, pair: Pair, course: Course, middle: Middle, pace: Clock) -> Course:
    """Take the second half of a step; ``pair``: what the table holds at the middle's share."""
    now, step_s = course.now, pace.step_s
    servos = servo_moved(rec.surfaces, now.servos, now.mind.wanted, step_s, pace.shares.servo)
    rate, _ = rates_at(rec, pair, middle.body, middle.held)
    body = normalised(moved(now.body, rate, step_s))
    body = Body(
        body.x, body.y, body.z, body.u, body.v, body.w,
        body.e0, body.e1, body.e2, body.e3, body.p, body.q, body.r, max(0.0, body.spin),
    )  # fmt: skip
    return Course(
        Moment(now.t_s + step_s, body, now.mind, servos, now.drive, 1.0),
        course.airspeed_mps,
        course.on,
        course.slack_s,
        course.reach,
        course.notes,
        course.start_s,
        course.sample,
    )

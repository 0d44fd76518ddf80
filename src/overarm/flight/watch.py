"""Watch a flying launch: events, extremes, and what ends it."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.flight.autopilot import GIVEN_UP, HANDED_OVER, NEVER
from overarm.flight.forces import Held, Seen
from overarm.flight.held import LIVE_TIP_MPS, TURNING_TIP_MPS
from overarm.flight.moment import Moment
from overarm.flight.record import STYLE_LINE_LAUNCHED
from overarm.frames import body_to_launch
from overarm.jit import scalar
from overarm.physics.hand import hand_gap
from overarm.physics.rigid_body import Body
from overarm.physics.wing import stall_angle
from overarm.trig import inverse_tangent, sine_cosine

GROUND_M = 0.05
ROLLED_OVER_RAD = math.radians(100.0)
LONGEST_FLIGHT_S = 40.0

GOES_ON = 0.0
END_HANDED_OVER = 1.0
END_GROUND = 2.0
END_ROLLED = 3.0
END_STRUCK = 4.0
END_POWER = 5.0
END_TIME = 6.0
END_NUMBERS = 7.0


class Reach(NamedTuple):
    """The hand behind the model at one instant after release."""

    travel_m: float  # flown since release
    gap_m: float  # that the disc still has to go to be clear of the hand
    clear: float


@scalar
def reach_start(rec: Any) -> Reach:
    """Return the hand at the instant of release; ahead of a tractor's disc it is clear at once."""
    return Reach(0.0, hand_gap(rec.hand, 0.0, 0.0), 1.0 - rec.propeller.behind)


@scalar
def reach_step(rec: Any, reach: Reach, speed_mps: float, since_s: float, step_s: float) -> Reach:
    """Return the hand one step later, ``since_s + step_s`` after release."""
    travel = reach.travel_m + speed_mps * step_s
    gap = hand_gap(rec.hand, travel, since_s + step_s)
    return Reach(travel, gap, 1.0 if reach.clear > 0.5 or gap <= 0.0 else 0.0)


class Notes(NamedTuple):
    """Events and extremes of the free flight so far, under the names of the summary."""

    release_s: float
    release_speed_mps: float
    release_airspeed_mps: float
    release_path_rad: float
    first_spin_s: float
    clear_s: float
    thrust_match_s: float
    low_point_s: float
    low_point_m: float
    top_height_m: float
    low_airspeed_mps: float
    max_bank_rad: float
    max_alpha_rad: float
    stall_s: float
    live_s: float
    reach_tip_mps: float
    lowest_volts_v: float
    peak_current_a: float


@scalar
def notes_of(rec: Any, out: Any, now: Moment) -> Notes:
    """Return what the summary holds at release, where the lowest point so far is."""
    return Notes(
        out.release_s,
        out.release_speed_mps,
        out.release_airspeed_mps,
        out.release_path_rad,
        out.first_spin_s,
        out.clear_s,
        out.thrust_match_s,
        now.t_s,
        -now.body.z,
        out.top_height_m,
        out.low_speed_ratio * rec.logic.stall_speed_mps,
        out.max_bank_rad,
        out.max_alpha_rad,
        out.stall_s,
        out.live_s,
        out.reach_tip_mps,
        out.lowest_volts_v,
        out.peak_current_a,
    )


@scalar
def write_notes(rec: Any, out: Any, notes: Notes) -> None:
    """Write the notes into the summary."""
    stall_mps = rec.logic.stall_speed_mps
    if notes.release_s != NEVER:
        out.release_s = notes.release_s
        out.release_speed_mps = notes.release_speed_mps
        out.release_airspeed_mps = notes.release_airspeed_mps
        out.release_speed_ratio = notes.release_airspeed_mps / stall_mps
        out.budget_mps = notes.release_airspeed_mps - 1.05 * stall_mps
        out.release_path_rad = notes.release_path_rad
    out.first_spin_s = notes.first_spin_s
    out.clear_s = notes.clear_s
    out.thrust_match_s = notes.thrust_match_s
    out.low_point_s = notes.low_point_s
    out.low_point_m = notes.low_point_m
    out.top_height_m = notes.top_height_m
    out.low_speed_ratio = notes.low_airspeed_mps / stall_mps
    out.max_bank_rad = notes.max_bank_rad
    out.max_alpha_rad = notes.max_alpha_rad
    out.stall_s = notes.stall_s
    out.live_s = notes.live_s
    out.reach_tip_mps = notes.reach_tip_mps
    out.lowest_volts_v = notes.lowest_volts_v
    out.peak_current_a = notes.peak_current_a


@scalar
def bank_of(body: Body) -> float:
    """Return the bank [rad], from -pi to pi."""
    sine = 2.0 * (body.e2 * body.e3 + body.e0 * body.e1)
    cosine = 1.0 - 2.0 * (body.e1 * body.e1 + body.e2 * body.e2)
    return inverse_tangent(sine, cosine)


@scalar
def climbs(rec: Any, seen: Seen) -> bool:
    """Return True if the thrust covers the drag and the weight's part along the climb."""
    climb = max(0.0, rec.logic.climb_pitch_rad - max(0.0, seen.alpha_rad))
    return seen.thrust_n >= seen.drag_n + rec.mass.mass_kg * GRAVITY_MPS2 * sine_cosine(climb)[0]


@scalar
def hand_noted(
    rec: Any, notes: Notes, t_s: float, tip_mps: float, clear: float, step_s: float
) -> tuple[float, float, float]:
    """Return (time of clearing, live time, tip speed) of a hand within reach of the disc."""
    if rec.logic.style == STYLE_LINE_LAUNCHED:
        return notes.clear_s, notes.live_s, notes.reach_tip_mps
    if clear > 0.5:
        return (t_s if notes.clear_s == NEVER else notes.clear_s), notes.live_s, notes.reach_tip_mps
    live_s = notes.live_s + (step_s if tip_mps > LIVE_TIP_MPS else 0.0)
    return notes.clear_s, live_s, max(notes.reach_tip_mps, tip_mps)


@scalar
def noted(
    rec: Any, notes: Notes, now: Moment, seen: Seen, held: Held, reach: Reach, left: bool, step_s: float
) -> Notes:
    """Return the notes after a step that began at ``now``; ``left``: the line, if any, is off.

    Only a driven disc counts beside a hand: the air alone turns a propeller slowly after a fast throw.
    """
    t_s, height = now.t_s, -now.body.z
    driven = held.throttle > 0.0
    tip = 0.5 * rec.propeller.diameter_m * now.body.spin if driven else 0.0
    clear_s, live_s, reach_tip = hand_noted(rec, notes, t_s, tip, reach.clear, step_s)
    x, y, z = speed_along(now)
    leaves = left and notes.release_s == NEVER
    lower = height < notes.low_point_m
    matched = notes.thrust_match_s == NEVER and driven and climbs(rec, seen)
    stalled = seen.alpha_rad > stall_angle(rec.wing)
    return Notes(
        t_s if leaves else notes.release_s,
        math.sqrt(x * x + y * y + z * z) if leaves else notes.release_speed_mps,
        seen.airspeed_mps if leaves else notes.release_airspeed_mps,
        inverse_tangent(-z, math.sqrt(x * x + y * y)) if leaves else notes.release_path_rad,
        t_s if notes.first_spin_s == NEVER and tip > TURNING_TIP_MPS else notes.first_spin_s,
        clear_s,
        t_s if matched else notes.thrust_match_s,
        t_s if lower else notes.low_point_s,
        height if lower else notes.low_point_m,
        max(notes.top_height_m, height),
        min(notes.low_airspeed_mps, seen.airspeed_mps),
        max(notes.max_bank_rad, abs(bank_of(now.body))),
        max(notes.max_alpha_rad, seen.alpha_rad),
        notes.stall_s + (step_s if stalled else 0.0),
        live_s,
        reach_tip,
        min(notes.lowest_volts_v, seen.volts_v),
        max(notes.peak_current_a, seen.current_a),
    )


@scalar
def ending(rec: Any, notes: Notes, now: Moment, volts_v: float, since_s: float) -> float:
    """Return what ends the launch now, or GOES_ON; ``volts_v``: of the pack in the step before."""
    height = -now.body.z
    total = now.body.u + now.body.v + now.body.w + now.body.p + now.body.q + now.body.r + now.body.spin
    if not (abs(total) < 1e6) or not (abs(height) < 1e5):
        return END_NUMBERS
    if height <= GROUND_M:
        return END_GROUND
    if notes.max_bank_rad > ROLLED_OVER_RAD:
        return END_ROLLED
    if volts_v < rec.pack.floor_volts:
        return END_POWER
    if now.mind.state == HANDED_OVER:
        return END_HANDED_OVER
    if since_s > LONGEST_FLIGHT_S:
        return END_TIME
    return GOES_ON


@scalar
def speed_along(now: Moment) -> tuple[float, float, float]:
    """Return the velocity over ground in the launch frame [m/s]."""
    body = now.body
    return body_to_launch(body.e0, body.e1, body.e2, body.e3, body.u, body.v, body.w)


@scalar
def gave_up(now: Moment) -> bool:
    """Return True if the launch logic has stopped the motor."""
    return now.mind.state == GIVEN_UP

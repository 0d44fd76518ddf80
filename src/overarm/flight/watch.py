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
from overarm.physics.wing import stall_angle
from overarm.trig import inverse_tangent

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


@scalar
def note_extremes(rec: Any, out: Any, now: Moment, seen: Seen, held: Held, step_s: float) -> None:
    """Keep the lowest, highest and longest of everything."""
    body = now.body
    height = -body.z
    if height < out.low_point_m:
        out.low_point_m = height
        out.low_point_s = now.t_s
    out.top_height_m = max(out.top_height_m, height)
    out.low_speed_ratio = min(out.low_speed_ratio, seen.airspeed_mps / rec.logic.stall_speed_mps)
    sine = 2.0 * (body.e2 * body.e3 + body.e0 * body.e1)
    cosine = 1.0 - 2.0 * (body.e1 * body.e1 + body.e2 * body.e2)
    out.max_bank_rad = max(out.max_bank_rad, abs(inverse_tangent(sine, cosine)))
    out.max_alpha_rad = max(out.max_alpha_rad, seen.alpha_rad)
    if seen.alpha_rad > stall_angle(rec.wing):
        out.stall_s += step_s
    out.lowest_volts_v = min(out.lowest_volts_v, seen.volts_v)
    out.peak_current_a = max(out.peak_current_a, seen.current_a)
    if out.thrust_match_s == NEVER and held.throttle > 0.0:
        climb = max(0.0, rec.logic.climb_pitch_rad - max(0.0, seen.alpha_rad))
        if seen.thrust_n >= seen.drag_n + rec.mass.mass_kg * GRAVITY_MPS2 * math.sin(climb):
            out.thrust_match_s = now.t_s


@scalar
def note_hand(rec: Any, out: Any, now: Moment, held: Held, reach: Reach, step_s: float) -> None:
    """Keep what a hand within reach of the disc was exposed to.

    Only a driven disc counts: the air alone turns a propeller slowly after a fast throw.
    """
    tip = 0.5 * rec.propeller.diameter_m * now.body.spin if held.throttle > 0.0 else 0.0
    if out.first_spin_s == NEVER and tip > TURNING_TIP_MPS:
        out.first_spin_s = now.t_s
    if rec.logic.style == STYLE_LINE_LAUNCHED:
        return
    if reach.clear > 0.5:
        if out.clear_s == NEVER:
            out.clear_s = now.t_s
        return
    out.reach_tip_mps = max(out.reach_tip_mps, tip)
    if tip > LIVE_TIP_MPS:
        out.live_s += step_s


@scalar
def ending(rec: Any, out: Any, now: Moment, seen: Seen, since_s: float) -> float:
    """Return what ends the launch now, or GOES_ON."""
    height = -now.body.z
    total = now.body.u + now.body.v + now.body.w + now.body.p + now.body.q + now.body.r + now.body.spin
    if not (abs(total) < 1e6) or not (abs(height) < 1e5):
        return END_NUMBERS
    if height <= GROUND_M:
        return END_GROUND
    if out.max_bank_rad > ROLLED_OVER_RAD:
        return END_ROLLED
    if seen.volts_v < rec.pack.floor_volts:
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

"""The figures of a setup that the findings look at, as plain numbers.

One flat record, so that each check is a formula on numbers and needs no cards to be tested.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.physics.hand import stroke_peak

LONGEST_LAG_S = 60.0


class Cue(NamedTuple):
    """The cue and what it feels while the model is carried."""

    level_mps2: float
    dwell_s: float
    raw: bool  # it feels gravity along the body; else tilt is taken out
    filter_hz: float
    tilt_rad: float
    bias_mps2: float
    carry_pitch_rad: float
    sway_mps2: float
    shake_m: float
    shake_hz: float
    shakes: float


class Throw(NamedTuple):
    """The launch by hand, or by line."""

    speed_mps: float
    speed_sd_mps: float
    stroke_m: float
    hold_s: float  # spin-in-hand: from the cue to the draw-back of the throw
    windup_m: float  # draw-back of the arm; 0: none
    windup_s: float
    height_m: float
    headwind_mps: float  # at the hand
    hand_deceleration_mps2: float
    hand_deceleration_log_sd: float
    hand_lag_mps: float
    hand_lag_sd_mps: float
    grip_to_disc_m: float
    grip_gap_m: float  # radial
    first_pull_mps2: float  # line: acceleration at the start
    line_time_s: float  # line: from let-go to the hook point
    gate_mps: float  # speed gate; 0: none
    speed_delay_s: float
    speed_spread_mps: float = 0.0  # how far off the mean speed may be


class Power(NamedTuple):
    """Motor, propeller, pack."""

    thrust_to_weight: float
    thrust_exponent: float
    start_delay_s: float
    full_volts_v: float
    floor_volts_v: float
    cells: float
    pusher: bool


class Airframe(NamedTuple):
    """The aeroplane in the air."""

    stall_speed_mps: float
    glide_ratio: float
    # Roll authority over motor torque at 0.7, 1.0 and 1.2 times the stall speed.
    roll_reserve: tuple[float, float, float]
    pitch_reserve: float  # pitch authority over the moment of the thrust line at the stall speed
    static_margin: float
    mass_known: bool
    balance_known: bool


class Plan(NamedTuple):
    """Settings after the cue, and the obstacles."""

    start_wait_s: float
    rise_per_s: float
    launch_ceiling: float
    cruise_ceiling: float
    climb_pitch_rad: float
    handover_height_m: float
    home_height_m: float  # negative: the setup does not say
    obstacles: tuple[tuple[float, float], ...]  # distance, height [m] of those ahead
    around_m: float = 0.0  # the tallest of all, ahead or not; 0: none


class Facts(NamedTuple):
    """All figures that the findings look at."""

    style: str
    cue: Cue
    throw: Throw
    power: Power
    airframe: Airframe
    plan: Plan

    @property
    def by_line(self) -> bool:
        """Return True for a line launch."""
        return self.style == "line-launched"

    @property
    def in_hand(self) -> bool:
        """Return True if the propeller turns before the throw on purpose."""
        return self.style == "spin-in-hand"


def felt_still_mps2(cue: Cue, nose_up_rad: float) -> float:
    """Return what the cue feels at rest, nose-up by an angle.

    Equation: ``g sin(nose-up + tilt) + bias``; the bias alone if tilt is taken out.
    Source: specific force at rest; the tilt-free cue never sees gravity.
    """
    return (GRAVITY_MPS2 * math.sin(nose_up_rad + cue.tilt_rad) if cue.raw else 0.0) + cue.bias_mps2


def cue_lag_s(cue: Cue) -> float:
    """Return how long after passing its level for good a cue fires: filter ``1/(2 pi f)``, then the dwell.

    A filter of 0 Hz is none; one that lags by more than a minute never lets a throw through, and is
    counted as a minute. Source: lag of a first-order filter behind a ramp.
    """
    lag_s = 1.0 / (2.0 * math.pi * cue.filter_hz) if cue.filter_hz > 0.0 else 0.0
    return cue.dwell_s + min(lag_s, LONGEST_LAG_S)


def stroke_time_s(throw: Throw, speed_mps: float) -> float:
    """Return how long the arm pushes: ``2 L/v`` for a half-sine push."""
    return 2.0 * throw.stroke_m / speed_mps


def peak_push_mps2(throw: Throw, speed_mps: float) -> float:
    """Return the largest forward acceleration of a throw at a speed [m/s2]."""
    return float(stroke_peak(speed_mps, throw.stroke_m))


class DrawBack(NamedTuple):
    """What the cue feels at the end of the draw-back, as the arm turns round."""

    peak_mps2: float
    above_s: float  # time above the level


def draw_back(facts: Facts) -> DrawBack:
    """Return what the draw-back of the arm does to the cue.

    Equations, for a smooth draw-back of length L in time T: forward acceleration at its end
    ``A = (L/2)(pi/T)^2``; above the level, tilt taken off, for ``(T/pi) acos(level'/A)``.
    Source: second derivative of ``-(L/2)(1 - cos(pi t/T))``.
    """
    throw, cue = facts.throw, facts.cue
    still = felt_still_mps2(cue, cue.carry_pitch_rad)
    if throw.windup_m <= 0.0 or throw.windup_s <= 0.0:
        return DrawBack(still, 0.0)
    turn = 0.5 * throw.windup_m * (math.pi / throw.windup_s) ** 2
    share = max(0.0, cue.level_mps2 - still) / turn
    return DrawBack(turn + still, throw.windup_s / math.pi * math.acos(share) if share < 1.0 else 0.0)


def detection_lead_s(facts: Facts) -> float:
    """Return the time from detection to release for the middle launch.

    Throw: the push passes the level at ``asin(level/peak) Ts/pi``, the filter lags by
    ``1/(2 pi f)``, then the dwell; if the draw-back is above the level for longer than that, it fires
    there. Spun in the hand: hold, draw-back and push. Line: the line time less filter and dwell.
    """
    cue, throw = facts.cue, facts.throw
    if facts.in_hand:
        return throw.hold_s + throw.windup_s + stroke_time_s(throw, throw.speed_mps)
    lag_s = cue_lag_s(cue)
    if facts.by_line:
        return throw.line_time_s - lag_s - (gate_time_s(facts) if throw.gate_mps > 0.0 else 0.0)
    time_s = stroke_time_s(throw, throw.speed_mps)
    early_s = draw_back(facts).above_s - lag_s
    if early_s >= 0.0:
        return time_s + early_s
    needed = min(1.0, max(0.0, cue.level_mps2 / peak_push_mps2(throw, throw.speed_mps)))
    return time_s * (1.0 - math.asin(needed) / math.pi) - lag_s


def gate_time_s(facts: Facts) -> float:
    """Return how much later than the cue the speed gate opens on the line.

    Equation: speed on rubber grows as ``v sin(pi t/(2 T))``, so the gate is met at
    ``(2 T/pi) asin(gate/v)`` and seen a receiver's delay later.
    """
    throw, cue = facts.throw, facts.cue
    share = throw.gate_mps / throw.speed_mps if throw.gate_mps < throw.speed_mps else 1.0
    met_s = 2.0 * throw.line_time_s / math.pi * math.asin(share) + throw.speed_delay_s
    return max(0.0, met_s - cue.dwell_s)

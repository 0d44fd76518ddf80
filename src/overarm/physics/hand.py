"""The arm: carry, shake, hold, wind-up, stroke, and the hand after release.

All motion is along the throw; forward is positive. Position and speed have no jumps except that
the carry ends, and the shake begins and ends, at rest. Sources: the half-sine stroke and the
deceleration of the hand are engineering estimates; see ``docs/theory/throw.md``. Checked in
``tests/verification/test_throw.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.jit import scalar
from overarm.trig import sine_cosine

# The disc counts as clear of the hand this far beyond it.
CLEAR_MARGIN_M = 0.05

PHASE_CARRY = 0.0
PHASE_SHAKE = 1.0
PHASE_HOLD = 2.0
PHASE_WIND_UP = 3.0
PHASE_STROKE = 4.0
PHASE_RELEASED = 5.0


class Hand(NamedTuple):
    """One throw: what the hand does before, at and after release."""

    speed_mps: float  # over the ground at release, along the path
    path_rad: float  # of the path above the horizon at release
    pitch_rad: float
    bank_rad: float
    heading_rad: float
    height_m: float  # of the balance point at release
    stroke_m: float
    windup_m: float  # how far the arm is drawn back; 0 without
    windup_s: float
    roll_rate_radps: float  # tumble at release
    pitch_rate_radps: float
    yaw_rate_radps: float
    hand_deceleration_mps2: float  # of the hand after release
    hand_lag_mps: float  # how much slower than the model the hand is at release
    grip_to_disc_m: float
    clear_margin_m: float
    carry_s: float
    carry_pitch_rad: float
    step_mps2: float  # amplitude of sway or steps while carried
    step_hz: float
    shake_m: float  # amplitude: half the way from end to end
    shake_hz: float
    shakes: float  # whole cycles; 0 without
    hold_s: float
    spin_in_hand: float  # 1: the throw begins hold_s after detection


class HandMotion(NamedTuple):
    """Motion of the hand-held model at one instant."""

    acceleration_mps2: float
    speed_mps: float
    distance_m: float
    pitch_rad: float
    pitch_rate_radps: float
    phase: float


@scalar
def usual_speed(mass_kg: float, style_share: float) -> float:
    """Return the release speed [m/s] to expect of somebody not yet measured.

    ``style_share`` is 1 for an overarm throw with a step, 0.8 underarm or from the side, 0.7 for a
    two-handed push, 0.6 for a beginner.

    Equation: ``v = 9 k (m/0.8)^-0.21``. Source: the exponent from Cross, "Physics of overarm
    throwing", Am. J. Phys. 72 (2004) 305, doi 10.1119/1.1634964; the 9 m/s and the shares are
    engineering estimates.
    """
    return float(9.0 * style_share * math.pow(mass_kg / 0.8, -0.21))


@scalar
def stroke_time(hand: Hand) -> float:
    """Return how long the forward stroke takes [s]: ``Ts = 2 Ls/v``."""
    return 2.0 * hand.stroke_m / hand.speed_mps


@scalar
def stroke_peak(speed_mps: float, stroke_m: float) -> float:
    """Return the peak acceleration of a stroke [m/s2]: ``pi v/(2 Ts) = pi v^2/(4 Ls)``."""
    return 0.25 * math.pi * speed_mps * speed_mps / stroke_m


@scalar
def shake_end(hand: Hand) -> float:
    """Return when the carry and the shake, if any, are over [s from the start]."""
    if hand.shakes <= 0.0:
        return hand.carry_s
    return hand.carry_s + hand.shakes / hand.shake_hz


@scalar
def planned_throw_start(hand: Hand) -> float:
    """Return when the wind-up begins [s] if nothing has to be waited for: after the hold."""
    return shake_end(hand) + hand.hold_s


@scalar
def stroke_start(hand: Hand, throw_start_s: float) -> float:
    """Return when the forward stroke begins [s] if the wind-up begins at ``throw_start_s``."""
    return max(throw_start_s, shake_end(hand)) + hand.windup_s


@scalar
def release_time(hand: Hand, throw_start_s: float) -> float:
    """Return when the hand lets go [s from the start]."""
    return stroke_start(hand, throw_start_s) + stroke_time(hand)


@scalar
def carry_motion(hand: Hand, t_s: float) -> HandMotion:
    """Return the sway or step of the carry; it comes to rest at its end.

    Equation: ``a = -A cos(w (t - carry))``, w = 2 pi f.
    """
    if hand.step_mps2 <= 0.0 or hand.step_hz <= 0.0:
        return HandMotion(0.0, 0.0, 0.0, hand.carry_pitch_rad, 0.0, PHASE_CARRY)
    rate = 2.0 * math.pi * hand.step_hz
    angle = rate * (t_s - hand.carry_s)
    sine, cosine = sine_cosine(angle)
    speed = -hand.step_mps2 / rate * sine
    distance = -hand.step_mps2 / (rate * rate) * (1.0 - cosine)
    return HandMotion(-hand.step_mps2 * cosine, speed, distance, hand.carry_pitch_rad, 0.0, PHASE_CARRY)


@scalar
def shake_motion(hand: Hand, t_s: float) -> HandMotion:
    """Return the shake: whole cycles from rest to rest, back first.

    Equation: ``x = -X (1 - cos(w t))``, so ``a = -X w^2 cos(w t)``: one forward swing a cycle.
    """
    rate = 2.0 * math.pi * hand.shake_hz
    angle = rate * (t_s - hand.carry_s)
    sine, cosine = sine_cosine(angle)
    reach = hand.shake_m
    return HandMotion(
        -reach * rate * rate * cosine,
        -reach * rate * sine,
        -reach * (1.0 - cosine),
        hand.carry_pitch_rad,
        0.0,
        PHASE_SHAKE,
    )


@scalar
def windup_motion(hand: Hand, since_s: float) -> HandMotion:
    """Return the draw-back of the arm, ``since_s`` [s] after it began.

    Equation: ``x = -(Lw/2)(1 - cos(pi t/Tw))``; it ends at rest, Lw behind, with the forward
    acceleration ``(Lw/2)(pi/Tw)^2`` of the reversal.
    """
    rate = math.pi / hand.windup_s
    half = 0.5 * hand.windup_m
    sine, cosine = sine_cosine(rate * since_s)
    return HandMotion(
        -half * rate * rate * cosine,
        -half * rate * sine,
        -half * (1.0 - cosine),
        hand.carry_pitch_rad,
        0.0,
        PHASE_WIND_UP,
    )


@scalar
def stroke_motion(hand: Hand, since_s: float) -> HandMotion:
    """Return the forward stroke, ``since_s`` [s] after it began; held at its end after release.

    Equation: ``a = (pi v/(2 Ts)) sin(pi t/Ts)``, hence ``v(t) = (v/2)(1 - cos(pi t/Ts))``. The
    pitch goes from the carry pitch to that of release as ``(1 - cos(pi t/Ts))/2``.
    """
    whole_s = stroke_time(hand)
    turn = hand.pitch_rad - hand.carry_pitch_rad
    if since_s >= whole_s:
        beyond = hand.speed_mps * (since_s - whole_s)
        return HandMotion(
            0.0, hand.speed_mps, hand.stroke_m - hand.windup_m + beyond, hand.pitch_rad, 0.0, PHASE_RELEASED
        )
    rate = math.pi / whole_s
    sine, cosine = sine_cosine(rate * since_s)
    half = 0.5 * hand.speed_mps
    share = 0.5 * (1.0 - cosine)
    return HandMotion(
        half * rate * sine,
        half * (1.0 - cosine),
        half * (since_s - sine / rate) - hand.windup_m,
        hand.carry_pitch_rad + share * turn,
        0.5 * rate * sine * turn,
        PHASE_STROKE,
    )


@scalar
def hand_motion(hand: Hand, t_s: float, throw_start_s: float) -> HandMotion:
    """Return the motion of the hand at a time [s] from the start of the carry.

    The phases follow one another: carry, shake, hold, wind-up, stroke. ``throw_start_s`` is when
    the wind-up begins: `planned_throw_start`, or hold_s after detection for a model that spins in
    the hand (a large number until then). A shake is finished first. After release the answer goes
    on at the release speed.
    """
    shaken = shake_end(hand)
    if t_s < hand.carry_s:
        return carry_motion(hand, t_s)
    if t_s < shaken:
        return shake_motion(hand, t_s)
    since = t_s - max(throw_start_s, shaken)
    if since < 0.0:
        return HandMotion(0.0, 0.0, 0.0, hand.carry_pitch_rad, 0.0, PHASE_HOLD)
    if since < hand.windup_s:
        return windup_motion(hand, since)
    return stroke_motion(hand, since - hand.windup_s)


@scalar
def clear_travel(hand: Hand, since_release_s: float) -> float:
    """Return how far the hand moves on after release [m]: it slows down evenly until it stops."""
    speed = max(0.0, hand.speed_mps - hand.hand_lag_mps)
    moving = min(since_release_s, speed / hand.hand_deceleration_mps2)
    return speed * moving - 0.5 * hand.hand_deceleration_mps2 * moving * moving


@scalar
def hand_gap(hand: Hand, model_travel_m: float, since_release_s: float) -> float:
    """Return how far the disc still has to go to pass the hand [m]; clear when it is <= 0.

    ``model_travel_m`` [m] is the way of the model since release.

    Equation: ``grip_to_disc + margin - (model travel - hand travel)``.
    """
    relative = model_travel_m - clear_travel(hand, since_release_s)
    return hand.grip_to_disc_m + hand.clear_margin_m - relative


@scalar
def clear_time(hand: Hand) -> float:
    """Return the time from release until the disc has passed the hand [s].

    The model keeps its speed. While the hand still moves ``lag t + a t^2/2 = gap``; once it has
    stopped ``v t - v_h^2/(2 a) = gap``.
    """
    gap = hand.grip_to_disc_m + hand.clear_margin_m
    slowing = hand.hand_deceleration_mps2
    lag = min(hand.hand_lag_mps, hand.speed_mps)
    stop_s = (hand.speed_mps - lag) / slowing
    time_s = (math.sqrt(lag * lag + 2.0 * slowing * gap) - lag) / slowing
    if time_s <= stop_s:
        return time_s
    return (gap + 0.5 * slowing * stop_s * stop_s) / hand.speed_mps

"""The trigger: exact discrete logic that decides, sample by sample, whether a jerk starts the motor.

Five families are combinations of the fields of `Trigger`: the raw level with a dwell; the same
without gravity; the level and then ground speed within a window; a pose window and a still time
before; two jerks 0.3 to 1.2 s apart. Written without jumps (``&``, not ``and``), so that launches can
take it side by side (`overarm.flight.abreast`). Checked in ``tests/verification/test_trigger.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.jit import scalar
from overarm.trig import sine_cosine

# Two jerks count as a pair if the second is counted this long after the first [s].
PAIR_FROM_S = 0.3
PAIR_TO_S = 1.2
# A model counts as still below these (engineering estimates: a resting board reads 0.05-0.2 m/s2 of
# noise; a hand that holds as still as it can moves less than 12 degrees per second).
STILL_FORCE_MPS2 = 1.0
STILL_RATE_RADPS = 0.2

_TIME_SLACK_S = 1e-9


class Trigger(NamedTuple):
    """Settings of the trigger. All angles are those the autopilot believes."""

    level_mps2: float
    dwell_s: float
    jerks: float  # 1 or 2
    gravity_free: float  # 1: the metric has g sin(pitch) taken off
    speed_gate_mps: float  # 0: none
    speed_window_s: float
    pitch_low_rad: float
    pitch_high_rad: float
    bank_limit_rad: float
    still_s: float  # 0: none


class CueState(NamedTuple):
    """What the trigger remembers from sample to sample."""

    filtered_mps2: float  # metric of the last sample
    above_s: float  # how long the metric has been above the level without a break
    armed: float  # 1 once the model has been still long enough
    jerk_seen: float  # 1 after the first jerk of a pair
    since_jerk_s: float
    latched: float  # 1 once the jerk is complete
    since_latch_s: float
    still_s: float  # credit of still time
    nudges: float  # excursions over the level that ended before the dwell
    peak_mps2: float  # highest metric so far (0 at least)
    longest_above_s: float


@scalar
def cue_start() -> CueState:
    """Return the state of a trigger that has just begun to listen."""
    return CueState(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@scalar
def jerk_metric(trigger: Trigger, filtered_mps2: float, pitch_est_rad: float) -> float:
    """Return the metric [m/s2] from the filtered forward reading and the estimated pitch [rad].

    Equation: ``m = f_x``, or ``m = f_x - g sin(pitch)`` for a gravity-free trigger.
    """
    if trigger.gravity_free > 0.5:
        return filtered_mps2 - GRAVITY_MPS2 * sine_cosine(pitch_est_rad)[0]
    return filtered_mps2


@scalar
def is_still(
    forward_mps2: float, side_mps2: float, down_mps2: float, rates_radps: tuple[float, float, float]
) -> float:
    """Return 1 if the readings are those of a model at rest, else 0."""
    force = math.sqrt(forward_mps2 * forward_mps2 + side_mps2 * side_mps2 + down_mps2 * down_mps2)
    p, q, r = rates_radps
    turning = p * p + q * q + r * r
    quiet = abs(force - GRAVITY_MPS2) < STILL_FORCE_MPS2 and turning < STILL_RATE_RADPS * STILL_RATE_RADPS
    return 1.0 if quiet else 0.0


@scalar
def still_credit(
    trigger: Trigger, credit_s: float, armed: float, still: float, dt_s: float
) -> tuple[float, float]:
    """Return (credit of still time [s], armed 0/1) after one sample.

    Rest earns credit up to the still time asked for, which arms the trigger; movement spends it
    at the same rate, and the trigger stays armed until it is spent. So 2 s of rest allow a wind-up
    and a throw, but not a walk.
    """
    needed = trigger.still_s > 0.0
    credit = max(0.0, min(trigger.still_s, credit_s + (dt_s if still > 0.5 else -dt_s)))
    full = credit >= trigger.still_s - _TIME_SLACK_S
    left = armed if credit > 0.0 else 0.0
    return (credit if needed else 0.0), (1.0 if full else left) if needed else 1.0


@scalar
def in_pose(trigger: Trigger, pitch_est_rad: float, bank_est_rad: float) -> bool:
    """Return whether the estimated attitude is inside the pose window."""
    pitched = (trigger.pitch_low_rad <= pitch_est_rad) & (pitch_est_rad <= trigger.pitch_high_rad)
    return pitched & (abs(bank_est_rad) <= trigger.bank_limit_rad)


@scalar
def pair_step(jerk: bool, above_s: float, seen: float, since_s: float) -> tuple[bool, float, float]:
    """Return (pair complete, first jerk seen 0/1, time since the first [s]) after one sample.

    ``jerk``: a jerk is complete at this sample, above the level for ``above_s`` [s]; ``since_s``
    [s] is the time since the first jerk. An excursion longer than that is still the first one.
    """
    second = (seen > 0.5) & (since_s <= PAIR_TO_S + _TIME_SLACK_S)
    first = jerk & (not second)
    separate = (above_s < since_s - _TIME_SLACK_S) & (since_s >= PAIR_FROM_S - _TIME_SLACK_S)
    return jerk & second & separate, 1.0 if first | second else 0.0, 0.0 if first else since_s


@scalar
def cue_step(
    trigger: Trigger,
    state: CueState,
    metric_mps2: float,
    pitch_est_rad: float,
    bank_est_rad: float,
    speed_mps: float,
    still: float,
    dt_s: float,
) -> tuple[CueState, float]:
    """Return (new state, 1 if the trigger fires at this sample else 0).

    ``metric_mps2`` is already filtered (`jerk_metric`); the two angles are the autopilot's
    estimates; ``speed_mps`` is the ground speed as the receiver reports it; ``still`` is 1 for a
    model at rest (`is_still`); ``dt_s`` is the time since the last sample.

    Logic: ``above += dt`` while ``metric > level``, else 0. A jerk is complete when
    ``above >= dwell`` in the pose window and armed. Of a pair, the second jerk is a separate
    excursion completed 0.3 to 1.2 s after the first. With a speed gate, the complete jerk latches and
    the trigger fires when ``speed >= gate`` before the window is over (it runs from the last
    sample of the jerk).
    """
    credit, armed = still_credit(trigger, state.still_s, state.armed, still, dt_s)
    dwell = trigger.dwell_s - _TIME_SLACK_S
    over = metric_mps2 > trigger.level_mps2
    above = state.above_s + dt_s if over else 0.0
    ended = (not over) & (state.above_s > 0.0) & (state.above_s < dwell)
    jerk = over & (above >= dwell) & (armed > 0.5) & in_pose(trigger, pitch_est_rad, bank_est_rad)

    seen, since_jerk = state.jerk_seen, state.since_jerk_s + dt_s
    pair, pair_seen, pair_since = pair_step(jerk, above, seen, since_jerk)
    two = trigger.jerks > 1.5
    jerk, seen, since_jerk = (pair, pair_seen, pair_since) if two else (jerk, seen, since_jerk)
    since_latch = 0.0 if jerk else state.since_latch_s + dt_s
    kept = state.latched if since_latch <= trigger.speed_window_s + _TIME_SLACK_S else 0.0
    latched = 1.0 if jerk else kept
    gate = trigger.speed_gate_mps
    fired = (latched > 0.5) & (speed_mps >= gate) if gate > 0.0 else jerk
    new = CueState(
        metric_mps2,
        above,
        armed,
        seen,
        since_jerk,
        latched,
        since_latch,
        credit,
        state.nudges + (1.0 if ended else 0.0),
        max(state.peak_mps2, metric_mps2),
        max(state.longest_above_s, above),
    )
    return new, 1.0 if fired else 0.0


@scalar
def time_above(amplitude_mps2: float, frequency_hz: float, level_mps2: float) -> float:
    """Return how long each swing of a steady shake stays above a level [s].

    ``amplitude_mps2`` is ``X (2 pi f)^2`` for a shake of amplitude X; ``level_mps2`` is the level
    less ``g sin(pitch)`` for a model held nose-up.

    Equation: ``t = arccos(L/A)/(pi f)``; 0 if never, ``1/f`` if always. It is less than
    ``1/(2 f)`` for a positive level.
    """
    ratio = level_mps2 / amplitude_mps2
    return math.acos(min(1.0, max(-1.0, ratio))) / (math.pi * frequency_hz)


@scalar
def self_start_tilt(level_mps2: float, tilt_rad: float, bias_mps2: float) -> float:
    """Return the nose-up angle [rad] at which a raw trigger is reached at rest; inf if never.

    ``tilt_rad`` is how far the board itself is tilted nose-up, ``bias_mps2`` what it reads too much.

    Equation: ``g sin(angle + tilt) + bias = L``, so ``arcsin((L - bias)/g) - tilt``.
    """
    share = (level_mps2 - bias_mps2) / GRAVITY_MPS2
    if share >= 1.0:
        return math.inf
    return math.asin(max(-1.0, share)) - tilt_rad

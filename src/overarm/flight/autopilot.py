"""The aeroplane's own mind: cue, start wait, throttle rise, climb, handover, give-up.

One pure step at the sample rate of the sensor board. States follow the vocabulary of the project:
listening, waiting, rising, climbing, handed over, given up.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.flight.record import STYLE_LINE_LAUNCHED
from overarm.flight.shares import Shares
from overarm.jit import scalar
from overarm.physics.attitude import Attitude, attitude_moved, attitude_start
from overarm.physics.control import ControlState, control_step
from overarm.physics.ramp import throttle_ramp
from overarm.physics.surfaces import Servos, channels
from overarm.physics.trigger import CueState, cue_start, cue_step, jerk_metric

LISTENING = 1.0
WAITING = 2.0
RISING = 3.0
CLIMBING = 4.0
HANDED_OVER = 5.0
GIVEN_UP = 6.0

# The climb counts as failed when, after the give-up time, the model is this low and this slow. The
# autopilot cannot tell a hand from a hover: a model held too long gives up too.
GIVE_UP_HEIGHT_M = 3.0
GIVE_UP_SPEED_MPS = 5.0
NEVER = -1.0
TIME_SLACK_S = 1e-9


class Felt(NamedTuple):
    """What the board is told in one sample."""

    forward_mps2: float  # forward accelerometer, with tilt, bias, noise and clipping
    level_mps2: float  # the same for the attitude estimate, whose tilt was levelled out at the bench
    side_mps2: float
    down_mps2: float
    roll_rate_radps: float
    pitch_rate_radps: float
    yaw_rate_radps: float
    ground_speed_mps: float
    height_m: float
    still: float  # 1 if the model is at rest
    in_hand: float  # 1 until release


class Mind(NamedTuple):
    """Everything the autopilot remembers."""

    state: float
    cue: CueState
    attitude: Attitude
    filtered_mps2: float
    reported_speed_mps: float
    lagged_mps2: float  # forward reading, delayed like the speed
    control: ControlState
    wanted: Servos
    detection_s: float  # NEVER until the cue fires
    throttle: float  # asked of the motor controller, 0..1


@scalar
def mind_start(rec: Any) -> Mind:
    """Return the mind of a model that has just begun to listen, at rest in the hand or on the ramp."""
    pitch, bank = rec.hand.carry_pitch_rad, 0.0
    if rec.logic.style == STYLE_LINE_LAUNCHED:
        pitch, bank = rec.line.ramp_rad + rec.hand.pitch_rad, rec.hand.bank_rad
    attitude = attitude_start(rec.board, pitch, bank)
    level = GRAVITY_MPS2 * math.sin(pitch) + rec.board.bias_mps2
    felt = GRAVITY_MPS2 * math.sin(pitch + rec.board.tilt_rad) + rec.board.bias_mps2
    still = ControlState(0.0, 0.0)
    return Mind(LISTENING, cue_start(), attitude, felt, 0.0, level, still, Servos(0.0, 0.0), NEVER, 0.0)


@scalar
def next_state(rec: Any, mind: Mind, felt: Felt, t_s: float, detection_s: float) -> float:
    """Return the launch state after this sample."""
    if mind.state == GIVEN_UP or mind.state == HANDED_OVER or detection_s == NEVER:
        return mind.state
    since = t_s - detection_s
    if since < rec.logic.start_wait_s - TIME_SLACK_S:
        return WAITING
    if felt.height_m >= rec.logic.handover_height_m and felt.in_hand < 0.5:
        return HANDED_OVER
    slow = mind.reported_speed_mps < GIVE_UP_SPEED_MPS and felt.height_m < GIVE_UP_HEIGHT_M
    if since > rec.logic.give_up_s and slow:
        return GIVEN_UP
    rising = since - rec.logic.start_wait_s
    full = rising * rec.logic.throttle_rise_per_s >= rec.logic.launch_ceiling
    return CLIMBING if full else RISING


@scalar
def pitch_wanted(rec: Any, state: float, reported_speed_mps: float) -> float:
    """Return the pitch to hold [rad] in a launch state."""
    if state == LISTENING or state == GIVEN_UP:
        return 0.0
    if rec.logic.early_speed_mps > 0.0 and reported_speed_mps < rec.logic.early_speed_mps:
        return rec.logic.early_pitch_rad
    return rec.logic.climb_pitch_rad


@scalar
def surfaces_wanted(
    rec: Any, mind: Mind, felt: Felt, attitude: Attitude, wanted: tuple[float, float], step_s: float
) -> tuple[ControlState, Servos]:
    """Return control integrals and servo angles; ``wanted``: pitch to hold [rad], reported speed [m/s]."""
    before = mind.control
    if felt.in_hand > 0.5 and rec.control.winds_up < 0.5:
        before = ControlState(0.0, 0.0)
    errors = (wanted[0] - attitude.pitch_rad, -attitude.bank_rad)
    turning = (felt.pitch_rate_radps, felt.roll_rate_radps)
    after, elevator, aileron = control_step(rec.control, before, errors, turning, wanted[1], step_s)
    return after, channels(rec.surfaces, elevator + rec.surfaces.pitch_trim_rad, aileron)


@scalar
def mind_step(rec: Any, mind: Mind, felt: Felt, t_s: float, step_s: float, shares: Shares) -> Mind:
    """Run the autopilot for one sample at time ``t_s``, a step after the last; ``shares``: in that step.

    A speed-aided attitude takes the change of the reported ground speed off the forward reading,
    delayed like the receiver's; without it a throw and the gain of speed after it drag the estimate.
    """
    gained = shares.speed * (felt.ground_speed_mps - mind.reported_speed_mps)
    speed = mind.reported_speed_mps + gained
    lagged = mind.lagged_mps2 + shares.speed * (felt.level_mps2 - mind.lagged_mps2)
    level = lagged - gained / step_s if rec.control.speed_aided > 0.5 else felt.level_mps2
    attitude = attitude_moved(
        rec.board,
        mind.attitude,
        (level, felt.side_mps2, felt.down_mps2),
        (felt.roll_rate_radps, felt.pitch_rate_radps, felt.yaw_rate_radps),
        step_s,
        shares.attitude,
    )
    filtered, cue, detection = mind.filtered_mps2, mind.cue, mind.detection_s
    if felt.in_hand > 0.5 or detection == NEVER:
        filtered += shares.filter * (felt.forward_mps2 - filtered)
    if detection == NEVER:
        metric = jerk_metric(rec.trigger, filtered, attitude.pitch_rad)
        cue, fired = cue_step(
            rec.trigger, cue, metric, attitude.pitch_rad, attitude.bank_rad, speed, felt.still, step_s
        )
        if fired > 0.5:
            detection = t_s
    state = next_state(rec, mind, felt, t_s, detection)
    throttle = 0.0
    if state == RISING or state == CLIMBING or state == HANDED_OVER:
        since = t_s - detection - rec.logic.start_wait_s
        throttle = throttle_ramp(rec.logic.throttle_rise_per_s, rec.logic.launch_ceiling, since)
    pitch = pitch_wanted(rec, state, speed)
    control, wanted = surfaces_wanted(rec, mind, felt, attitude, (pitch, speed), step_s)
    return Mind(state, cue, attitude, filtered, speed, lagged, control, wanted, detection, throttle)

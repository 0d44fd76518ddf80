"""From listening to release: carried, shaken, held and thrown, or drawn along a ramp.

The hand (or the ramp) prescribes the motion; the board feels it; the autopilot may start the
motor; the propeller spins up. The result is the free aeroplane at the instant of release.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.flight.autopilot import NEVER, Felt, Mind, mind_start, mind_step
from overarm.flight.drive import Drive, drive_seen, drive_step
from overarm.flight.moment import Moment
from overarm.flight.record import STYLE_LINE_LAUNCHED, STYLE_SPIN_IN_HAND
from overarm.flight.shares import shares_of
from overarm.flight.trace import note_held
from overarm.frames import launch_to_body, quaternion_from_angles
from overarm.jit import scalar
from overarm.physics.hand import PHASE_STROKE, hand_motion, release_time, shake_end
from overarm.physics.line import effective_mass, ramp_friction, returned_pull
from overarm.physics.rigid_body import Body
from overarm.physics.sensor import felt_forward, lever_terms, specific_force
from overarm.physics.surfaces import Servos, servo_moved, servo_share
from overarm.physics.trigger import is_still, jerk_metric
from overarm.physics.wind import along_wind, mean_wind
from overarm.rng import STREAM_SAMPLING, STREAM_SENSOR, normal, uniforms
from overarm.trig import sine_cosine

FOREVER = 1e9
# A person who feels no pull this long after the shake does not throw.
NO_PULL_S = 2.0
# A line too weak to move the model: nobody waits longer than this.
LONGEST_WAIT_S = 60.0
LIVE_TIP_MPS = 25.0
# A turning propeller counts from this tip speed on.
TURNING_TIP_MPS = 5.0


class Push(NamedTuple):
    """Motion along the ramp: distance [m] from the latch, speed [m/s] and acceleration [m/s2]."""

    distance_m: float
    speed_mps: float
    acceleration_mps2: float


class Pose(NamedTuple):
    """How the hand or the ramp holds and moves the model at one instant."""

    acceleration_mps2: float  # along the path
    speed_mps: float
    left_m: float  # of the way to the point of release
    path_rad: float
    pitch_rad: float
    bank_rad: float
    roll_rate_radps: float
    pitch_rate_radps: float


@scalar
def ramp_push(rec: Any, push: Push, step_s: float) -> Push:
    """Move along the ramp for one step (midpoint rule), drawn by the line; it never slides back."""
    line = rec.line
    mass = effective_mass(line, rec.mass.mass_kg)
    weight = rec.mass.mass_kg * GRAVITY_MPS2 * math.sin(line.ramp_rad)
    resist = weight + ramp_friction(line, rec.mass.mass_kg, 0.0)
    first = (returned_pull(line, line.stretch_m - push.distance_m) - resist) / mass
    if push.speed_mps <= 0.0 and first <= 0.0:
        return Push(push.distance_m, 0.0, 0.0)
    half_m = push.distance_m + 0.5 * step_s * (push.speed_mps + 0.25 * step_s * first)
    second = (returned_pull(line, line.stretch_m - half_m) - resist) / mass
    speed = max(0.0, push.speed_mps + step_s * second)
    return Push(push.distance_m + 0.5 * step_s * (push.speed_mps + speed), speed, second)


@scalar
def ramp_pose(rec: Any, push: Push) -> Pose:
    """Return the model on the ramp, with the pitch and bank at which it was laid there."""
    line = rec.line
    pitch = line.ramp_rad + rec.hand.pitch_rad
    left = line.ramp_m - push.distance_m
    return Pose(
        push.acceleration_mps2, push.speed_mps, left, line.ramp_rad, pitch, rec.hand.bank_rad, 0.0, 0.0
    )


@scalar
def hand_pose(rec: Any, t_s: float, begins_s: float) -> Pose:
    """Return the model in the hand; the wrist banks it during the stroke as it pitches it."""
    hand = rec.hand
    motion = hand_motion(hand, t_s, begins_s)
    left = hand.stroke_m - hand.windup_m - motion.distance_m
    bank, roll_rate = 0.0, 0.0
    if motion.phase >= PHASE_STROKE:
        bank = hand.bank_rad * motion.speed_mps / hand.speed_mps
        roll_rate = hand.bank_rad * motion.acceleration_mps2 / hand.speed_mps
    return Pose(
        motion.acceleration_mps2,
        motion.speed_mps,
        left,
        hand.path_rad,
        motion.pitch_rad,
        bank,
        roll_rate,
        motion.pitch_rate_radps,
    )


@scalar
def felt_held(
    rec: Any, pose: Pose, changes_radps2: tuple[float, float], throttle: float, noise: float
) -> Felt:
    """Return what the board feels while the model is held; ``changes``: of roll and pitch rate."""
    board = rec.board
    sine, cosine = sine_cosine(pose.bank_rad)
    across, ahead = sine_cosine(pose.pitch_rad - pose.path_rad)
    along = pose.acceleration_mps2
    down = along * across
    inertial = (along * ahead, down * sine, down * cosine)
    x, y, z = specific_force(inertial, pose.pitch_rad, pose.bank_rad)
    rates = (pose.roll_rate_radps, pose.pitch_rate_radps * cosine, -pose.pitch_rate_radps * sine)
    turning = (changes_radps2[0], changes_radps2[1] * cosine, -changes_radps2[1] * sine)
    lever = lever_terms(board, rates, turning)
    x, y, z = x + lever[0], y + lever[1], z + lever[2]
    forward = felt_forward(board, x, z, throttle, noise)
    height = rec.hand.height_m
    level = x + board.bias_mps2
    speed = max(0.0, pose.speed_mps)
    still = is_still(x, y, z, rates)
    return Felt(forward, level, y, z, rates[0], rates[1], rates[2], speed, height, still, 1.0)


@scalar
def body_held(rec: Any, pose: Pose, on_line: bool, spin_radps: float) -> Body:
    """Return the model's state in the hand or on the ramp; x = 0 at the point of release."""
    heading = 0.0 if on_line else rec.hand.heading_rad
    release_height = rec.hand.height_m
    if on_line:
        release_height = rec.line.height_m + rec.line.ramp_m * math.sin(rec.line.ramp_rad)
    x = math.cos(pose.path_rad) * math.cos(heading)
    y = math.cos(pose.path_rad) * math.sin(heading)
    z = -math.sin(pose.path_rad)
    e0, e1, e2, e3 = quaternion_from_angles(pose.bank_rad, pose.pitch_rad, heading)
    speed, left = pose.speed_mps, pose.left_m
    u, v, w = launch_to_body(e0, e1, e2, e3, speed * x, speed * y, speed * z)
    p, q = pose.roll_rate_radps, pose.pitch_rate_radps
    return Body(
        -left * x, -left * y, -release_height - left * z, u, v, w, e0, e1, e2, e3, p, q, 0.0, spin_radps
    )  # fmt: skip


@scalar
def throw_begins(rec: Any, mind: Mind) -> float:
    """Return when the draw-back begins [s], or FOREVER while a shaker waits for the motor."""
    if rec.logic.style == STYLE_SPIN_IN_HAND:
        if mind.detection_s == NEVER:
            return FOREVER
        return max(mind.detection_s + rec.hand.hold_s, shake_end(rec.hand))
    return rec.hand.carry_s


@scalar
def expose(rec: Any, out: Any, spin_radps: float, t_s: float, step_s: float) -> None:
    """Count the time and the highest tip speed beside a hand that holds the model.

    Spun in the hand on purpose the disc may turn, but not before the shake: then the hands are not
    where they should be.
    """
    tip = 0.5 * rec.propeller.diameter_m * spin_radps
    if out.first_spin_s == NEVER and tip > TURNING_TIP_MPS:
        out.first_spin_s = t_s
    if rec.logic.style == STYLE_LINE_LAUNCHED:
        return
    if tip > LIVE_TIP_MPS:
        out.live_s += step_s
    if rec.logic.style != STYLE_SPIN_IN_HAND or t_s < rec.hand.carry_s:
        out.reach_tip_mps = max(out.reach_tip_mps, tip)


@scalar
def note_cue(rec: Any, out: Any, mind: Mind) -> None:
    """Keep what the cue felt while the model was held, also after it fired."""
    metric = jerk_metric(rec.trigger, mind.filtered_mps2, mind.attitude.pitch_rad)
    out.peak_jerk_mps2 = max(out.peak_jerk_mps2, metric)
    out.longest_above_s = mind.cue.longest_above_s


@scalar
def held_headwind(rec: Any) -> float:
    """Return the mean headwind where the model is held [m/s]."""
    height = rec.line.height_m if rec.logic.style == STYLE_LINE_LAUNCHED else rec.hand.height_m
    return -along_wind(rec.air, mean_wind(rec.air, height), 0.0)[0]


@scalar
def nobody_throws(rec: Any, begins_s: float, t_s: float, out: Any) -> bool:
    """Return True if the launch ends in the hand: no pull felt, no move, or the power is lost."""
    waited = begins_s == FOREVER and t_s > shake_end(rec.hand) + NO_PULL_S
    return waited or t_s > LONGEST_WAIT_S or out.lowest_volts_v < rec.pack.floor_volts


@scalar
def first_sample(period_s: float, launch: int, seed: int) -> float:
    """Return when the board takes its first sample [s]: it has its own clock, so anywhere in one period."""
    return period_s * uniforms(0, launch, STREAM_SAMPLING, seed)[0]


@scalar
def hold(rec: Any, table: Any, seed: int, launch: int, out: Any, trace: Any) -> tuple[Moment, int]:
    """Run the launch until release; write events into ``out`` and samples into ``trace``.

    Returns the moment of release and the number of samples taken.
    """
    on_line = rec.logic.style == STYLE_LINE_LAUNCHED
    period, headwind = 1.0 / rec.board.rate_hz, held_headwind(rec)
    mind, servos, drive = mind_start(rec), Servos(0.0, 0.0), Drive(NEVER, 0.0, 0.0)
    shares = shares_of(rec, period, period)
    push, sample = Push(0.0, 0.0, 0.0), 0
    t = first_sample(period, launch, seed)
    roll_rate, pitch_rate = 0.0, 0.0
    while True:
        begins = throw_begins(rec, mind)
        release = release_time(rec.hand, begins)
        pose = ramp_pose(rec, push) if on_line else hand_pose(rec, t, begins)
        last = pose.left_m <= 0.0 if on_line else t >= release - 1e-9
        if last:
            out.windup_s = begins
            body = body_held(rec, pose, on_line, drive.spin_radps)
            return Moment(t, body, mind, servos, drive, 1.0), sample
        changes = ((pose.roll_rate_radps - roll_rate) / period, (pose.pitch_rate_radps - pitch_rate) / period)
        roll_rate, pitch_rate = pose.roll_rate_radps, pose.pitch_rate_radps
        noise = normal(sample, launch, STREAM_SENSOR, seed)
        felt = felt_held(rec, pose, changes, drive.throttle, noise)
        mind = mind_step(rec, mind, felt, t, period, shares)
        note_cue(rec, out, mind)
        axial = pose.speed_mps + headwind
        if sample < trace.shape[0] or drive.throttle > 0.0:
            seen = drive_seen(rec, table, drive, axial)
            out.lowest_volts_v = min(out.lowest_volts_v, seen[1])
            now = Moment(t, body_held(rec, pose, on_line, drive.spin_radps), mind, servos, drive, 0.0)
            note_held(rec, trace, sample, now, felt, axial, seen)
        if nobody_throws(rec, begins, t, out):
            body = body_held(rec, pose, on_line, drive.spin_radps)
            return Moment(t, body, mind, servos, drive, 0.0), sample
        step = period if on_line else min(period, release - t)
        if on_line and t >= rec.hand.carry_s:
            push = ramp_push(rec, push, step)
        drive = drive_step(rec, table, drive, mind.throttle, axial, t, step)
        expose(rec, out, drive.spin_radps, t, step)
        share = shares.servo if step == period else servo_share(rec.surfaces, step)
        servos = servo_moved(rec.surfaces, servos, mind.wanted, step, share)
        t += step
        sample += 1

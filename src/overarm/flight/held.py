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
from overarm.flight.trace import note_held
from overarm.frames import launch_to_body, quaternion_from_angles
from overarm.jit import scalar
from overarm.physics.hand import PHASE_CARRY, PHASE_STROKE, HandMotion, hand_motion, release_time, shake_end
from overarm.physics.line import effective_mass, ramp_friction, returned_pull
from overarm.physics.rigid_body import Body
from overarm.physics.sensor import felt_forward
from overarm.physics.surfaces import Servos, servo_step
from overarm.physics.trigger import is_still
from overarm.rng import STREAM_SENSOR, normal

FOREVER = 1e9
# A person who feels no pull this long after the shake does not throw.
NO_PULL_S = 2.0
LIVE_TIP_MPS = 25.0
# A turning propeller counts from this tip speed on.
TURNING_TIP_MPS = 5.0


class Push(NamedTuple):
    """Motion along the ramp: distance [m] from the latch and speed [m/s]."""

    distance_m: float
    speed_mps: float
    acceleration_mps2: float


@scalar
def ramp_push(rec: Any, push: Push, step_s: float) -> Push:
    """Move along the ramp for one step (midpoint rule), drawn by the line."""
    line = rec.line
    mass = effective_mass(line, rec.mass.mass_kg)
    resist = rec.mass.mass_kg * GRAVITY_MPS2 * math.sin(line.ramp_rad) + ramp_friction(
        line, rec.mass.mass_kg, 0.0
    )
    now = returned_pull(line, line.stretch_m - push.distance_m)
    first = max(0.0, now - resist) / mass
    half = push.distance_m + 0.5 * step_s * (push.speed_mps + 0.25 * step_s * first)
    later = returned_pull(line, line.stretch_m - half)
    second = max(0.0, later - resist) / mass
    return Push(
        push.distance_m + step_s * (push.speed_mps + 0.5 * step_s * second),
        push.speed_mps + step_s * second,
        second,
    )


@scalar
def ramp_motion(rec: Any, push: Push) -> HandMotion:
    """Return the ramp's motion in the hand's terms."""
    ramp = rec.line.ramp_rad
    phase = PHASE_STROKE if push.distance_m > 0.0 else PHASE_CARRY
    return HandMotion(push.acceleration_mps2, push.speed_mps, push.distance_m, ramp, 0.0, phase)


@scalar
def felt_in_hand(rec: Any, motion: HandMotion, path_rad: float, throttle: float, noise: float) -> Felt:
    """Return what the board feels while the model is held at a pitch and pushed along a path."""
    gravity = GRAVITY_MPS2
    along, pitch = motion.acceleration_mps2, motion.pitch_rad
    rate = motion.pitch_rate_radps
    x = along * math.cos(pitch - path_rad) + gravity * math.sin(pitch) - rate * rate * rec.board.offset_x_m
    z = along * math.sin(pitch - path_rad) - gravity * math.cos(pitch) - rate * rate * rec.board.offset_z_m
    still = is_still(x, 0.0, z, (0.0, rate, 0.0))
    forward = felt_forward(rec.board, x, z, throttle, noise)
    return Felt(
        forward,
        x + rec.board.bias_mps2,
        0.0,
        z,
        0.0,
        rate,
        0.0,
        max(0.0, motion.speed_mps),
        rec.hand.height_m,
        still,
        1.0,
    )


@scalar
def body_in_hand(rec: Any, motion: HandMotion, left_m: float, spin_radps: float) -> Body:
    """Return the model's state in the hand, ``left_m`` before the point of release."""
    hand = rec.hand
    along_x = math.cos(hand.path_rad) * math.cos(hand.heading_rad)
    along_y = math.cos(hand.path_rad) * math.sin(hand.heading_rad)
    along_z = -math.sin(hand.path_rad)
    e0, e1, e2, e3 = quaternion_from_angles(hand.bank_rad, motion.pitch_rad, hand.heading_rad)
    speed = motion.speed_mps
    u, v, w = launch_to_body(e0, e1, e2, e3, speed * along_x, speed * along_y, speed * along_z)
    return Body(
        -left_m * along_x,
        -left_m * along_y,
        -hand.height_m - left_m * along_z,
        u,
        v,
        w,
        e0,
        e1,
        e2,
        e3,
        0.0,
        motion.pitch_rate_radps,
        0.0,
        spin_radps,
    )


@scalar
def body_on_ramp(rec: Any, motion: HandMotion, spin_radps: float) -> Body:
    """Return the model's state on the ramp."""
    line = rec.line
    left = line.ramp_m - motion.distance_m
    pitch = line.ramp_rad + rec.hand.pitch_rad
    e0, e1, e2, e3 = quaternion_from_angles(rec.hand.bank_rad, pitch, 0.0)
    speed_x = motion.speed_mps * math.cos(line.ramp_rad)
    speed_z = -motion.speed_mps * math.sin(line.ramp_rad)
    u, v, w = launch_to_body(e0, e1, e2, e3, speed_x, 0.0, speed_z)
    rise = motion.distance_m * math.sin(line.ramp_rad)
    x = -left * math.cos(line.ramp_rad)
    return Body(x, 0.0, -line.height_m - rise, u, v, w, e0, e1, e2, e3, 0.0, 0.0, 0.0, spin_radps)


@scalar
def body_held(rec: Any, motion: HandMotion, on_line: bool, spin_radps: float) -> Body:
    """Return the model's state in the hand or on the ramp."""
    if on_line:
        return body_on_ramp(rec, motion, spin_radps)
    left = rec.hand.stroke_m - rec.hand.windup_m - motion.distance_m
    return body_in_hand(rec, motion, left, spin_radps)


@scalar
def throw_begins(rec: Any, mind: Mind) -> float:
    """Return when the wind-up begins [s], or FOREVER while a shaker waits for the motor."""
    if rec.logic.style == STYLE_SPIN_IN_HAND:
        if mind.detection_s == NEVER:
            return FOREVER
        return max(mind.detection_s + rec.hand.hold_s, shake_end(rec.hand))
    return rec.hand.carry_s


@scalar
def expose(rec: Any, out: Any, spin_radps: float, t_s: float, step_s: float) -> None:
    """Count the time and the highest tip speed beside a hand that holds the model."""
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
def hold(rec: Any, table: Any, seed: int, launch: int, out: Any, trace: Any) -> tuple[Moment, int]:
    """Run the launch until release; write events into ``out`` and samples into ``trace``.

    Returns the moment of release and the number of samples taken.
    """
    on_line = rec.logic.style == STYLE_LINE_LAUNCHED
    period = 1.0 / rec.board.rate_hz
    mind, servos, drive = mind_start(rec), Servos(0.0, 0.0), Drive(NEVER, 0.0, 0.0)
    push = Push(0.0, 0.0, 0.0)
    t, sample = 0.0, 0
    while True:
        begins = throw_begins(rec, mind)
        release = release_time(rec.hand, begins)
        motion = ramp_motion(rec, push) if on_line else hand_motion(rec.hand, t, begins)
        last = push.distance_m >= rec.line.ramp_m if on_line else t >= release - 1e-9
        if last:
            body = body_held(rec, motion, on_line, drive.spin_radps)
            return Moment(t, body, mind, servos, drive, 1.0), sample
        path = rec.line.ramp_rad if on_line else rec.hand.path_rad
        noise = normal(sample, launch, STREAM_SENSOR, seed)
        felt = felt_in_hand(rec, motion, path, drive.throttle, noise)
        before = mind.detection_s
        mind = mind_step(rec, mind, felt, t, period)
        out.peak_jerk_mps2 = max(out.peak_jerk_mps2, mind.filtered_mps2)
        if sample < trace.shape[0]:
            body = body_held(rec, motion, on_line, drive.spin_radps)
            now = Moment(t, body, mind, servos, drive, 0.0)
            note_held(rec, trace, sample, now, felt, *drive_seen(rec, table, drive, motion.speed_mps))
        too_soon = mind.detection_s != NEVER and before == NEVER and t < rec.hand.carry_s
        waited = begins == FOREVER and t > shake_end(rec.hand) + NO_PULL_S
        if too_soon or waited or t > 60.0:
            body = body_held(rec, motion, on_line, drive.spin_radps)
            return Moment(t, body, mind, servos, drive, 0.0), sample
        step = min(period, release - t) if not on_line else period
        if on_line and t >= rec.hand.carry_s:
            push = ramp_push(rec, push, step)
        drive = drive_step(rec, table, drive, mind.throttle, motion.speed_mps, t, step)
        expose(rec, out, drive.spin_radps, t, step)
        servos = servo_step(rec.surfaces, servos, mind.wanted, step)
        t += step
        sample += 1

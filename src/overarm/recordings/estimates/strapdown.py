"""Speed and height by dead reckoning: forces turned into the level frame and integrated.

The attitude believed before the throw is carried on with the gyros, because the throw drags the believed
one. What the forces read too much at rest, by bias, tilt of the board or a false horizon, is taken off
as one vector in body axes, with the mean before the throw.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.jit import over_samples
from overarm.recordings.estimates.say import together
from overarm.recordings.estimates.series import Series, integral, noise_of, part, sampling_error
from overarm.recordings.estimates.taken import Taken, gravity_felt
from overarm.recordings.recording import Numbers

BLOCK_S = 0.5
STILL_SD_MPS2 = 0.35
STILL_RATE_RADPS = 0.05
STILL_SIZE_MPS2 = 0.8
LONG_REST_S = 3.0
REST_S = 2.0  # the mean before the throw is taken over at most this long
LEAST_REST_S = 0.25
BEFORE_WINDUP_S = 0.06
UNSEEN_WINDUP_S = 0.8  # a draw-back that was not seen is within this time before the stroke
AFTER_S = 12.0
STEEPEST_RAD = 1.45
GYRO_BIAS_RADPS = math.radians(0.3)
UNDRAG_S = 0.7
HELD_DRAG_RAD = math.radians(4.0)  # a shake or a walk may drag the believed attitude so far, own estimate
DRAGGED_RAD = math.radians(5.0)  # domain practice: a throw drags the believed attitude by 5-10 deg
UNKNOWN_BIAS_MPS2 = 0.4
UNSEEN_TURN_RAD = math.radians(8.0)  # how far a throw turns the nose, where nothing shows it
SCALE_ERROR = 0.005  # of an accelerometer's scale, own estimate
JUMP_SHARE = 1.0  # of a step times the largest change in it: where a jump lies between samples
FLAT_TOPS = 3  # so many equal highest samples are the end of a range


class Rest(NamedTuple):
    """The hold before the throw."""

    from_s: float
    to_s: float
    bias: Numbers  # (3,) what the forces read too much [m/s2], body axes
    bias_error_mps2: float
    speed_error_mps: float  # of the speed at its end, from sway
    noise_mps2: float  # of one forward sample


class Reckoned(NamedTuple):
    """Motion by dead reckoning from the hold on; arrays (n,) on the times of the forward force."""

    t_s: Numbers
    pitch_rad: Numbers
    bank_rad: Numbers
    force: Numbers  # (3, n) felt, what it reads too much taken off
    ahead_mps: Numbers  # along the heading of the hold
    right_mps: Numbers
    up_mps: Numbers
    rest: Rest
    angle_error_rad: float  # of pitch at the hold
    drift_radps: float  # growth of that error
    clipped: bool
    vertical: bool  # the downward force was recorded
    turned: bool  # the gyros were recorded

    def at(self, t_s: float, values: Numbers) -> float:
        """Return one of the arrays at a time."""
        return float(np.interp(t_s, self.t_s, values))

    def speed_mps(self) -> Numbers:
        """Return the horizontal speed [m/s], shape (n,)."""
        return np.asarray(np.hypot(self.ahead_mps, self.right_mps))


def begins_at(taken: Taken) -> float | None:
    """Return a time shortly before the arm moves [s]; None without a stroke."""
    windup, stroke = taken.event("wind_up"), taken.event("stroke")
    if stroke is None:
        return None
    if windup is not None and windup.t_s <= stroke.t_s:
        return windup.t_s - BEFORE_WINDUP_S - min(0.1, windup.error_s)
    on_line = taken.setup is not None and taken.setup.style == "line-launched"
    return stroke.t_s - (0.1 + min(0.1, stroke.error_s) if on_line else UNSEEN_WINDUP_S)


def carried_on(t_s: Numbers, start: tuple[float, float, float], rates: Numbers) -> Numbers:
    """Return bank, pitch and heading [rad] from body rates (3, n) [rad/s], shape (3, n).

    Equation: ``bank' = p + tan(pitch) (q sin(bank) + r cos(bank))``, ``pitch' = q cos(bank) - r sin(bank)``,
    ``heading' = (q sin(bank) + r cos(bank))/cos(pitch)``, by the midpoint of each step.
    Source: Stevens and Lewis, *Aircraft Control and Simulation*, 2nd ed. (2003), equation 1.3-22.
    """
    return np.asarray(_carried(np.diff(t_s), start, np.ascontiguousarray(rates)))


@over_samples
def _carried(steps_s: Any, start: Any, rates: Any) -> Any:
    bank, pitch, heading = start
    out = np.empty((3, steps_s.size + 1))
    out[0, 0], out[1, 0], out[2, 0] = bank, pitch, heading
    for i in range(steps_s.size):
        p = 0.5 * (rates[0, i] + rates[0, i + 1])
        q = 0.5 * (rates[1, i] + rates[1, i + 1])
        r = 0.5 * (rates[2, i] + rates[2, i + 1])
        turn = q * math.sin(bank) + r * math.cos(bank)
        middle_bank = bank + 0.5 * steps_s[i] * (p + math.tan(pitch) * turn)
        middle = pitch + 0.5 * steps_s[i] * (q * math.cos(bank) - r * math.sin(bank))
        middle = min(STEEPEST_RAD, max(-STEEPEST_RAD, middle))
        turn = q * math.sin(middle_bank) + r * math.cos(middle_bank)
        bank += steps_s[i] * (p + math.tan(middle) * turn)
        pitch += steps_s[i] * (q * math.cos(middle_bank) - r * math.sin(middle_bank))
        pitch = min(STEEPEST_RAD, max(-STEEPEST_RAD, pitch))
        heading += steps_s[i] * turn / math.cos(middle)
        out[0, i + 1], out[1, i + 1], out[2, i + 1] = bank, pitch, heading
    return out


def level_acceleration(force: Numbers, angles: Numbers) -> Numbers:
    """Return the acceleration ahead, to the right and up [m/s2], shape (3, n), of felt forces (3, n).

    ``angles`` are bank, pitch and heading [rad], (3, n). Equation: ``a = C f + g``.
    """
    bank, pitch, heading = angles
    x, y, z = force
    across = y * np.cos(bank) - z * np.sin(bank)
    below = y * np.sin(bank) + z * np.cos(bank)
    along = x * np.cos(pitch) + below * np.sin(pitch)
    down = below * np.cos(pitch) - x * np.sin(pitch) + GRAVITY_MPS2
    return np.stack(
        [
            along * np.cos(heading) - across * np.sin(heading),
            along * np.sin(heading) + across * np.cos(heading),
            -down,
        ]
    )


def is_clipped(values: Numbers) -> bool:
    """Return whether the highest value stands in several samples in a row: the end of a range."""
    if values.size < FLAT_TOPS:
        return False
    top = float(np.max(values))
    flat = values >= top - 1e-4 * max(1.0, abs(top))
    runs = np.convolve(flat.astype(np.float64), np.ones(FLAT_TOPS), mode="valid")
    return bool(np.max(runs) >= FLAT_TOPS - 0.5) and top > 1.5 * GRAVITY_MPS2


def stroke_clipped(taken: Taken, from_s: float, to_s: float) -> bool:
    """Return whether the forward force reached the end of its range, as recorded or as cleaning found."""
    for repair in taken.recording.repairs:
        of_forward = repair.defect == "saturation" and repair.channel == "force_x_mps2"
        if of_forward and repair.from_s <= to_s and repair.to_s >= from_s:
            return True
    forward = taken.series("force_x_mps2")
    return forward is not None and is_clipped(part(forward, from_s, to_s).values)


def at_rest(t_s: Numbers, force: Numbers, angles: Numbers) -> Rest:
    """Return what a hold tells: times (n,), felt forces (3, n), bank, pitch and heading (3, n).

    A hold that is too short leaves the bias at nothing, with an error that says so.
    """
    if t_s.size < 4 or t_s[-1] - t_s[0] < LEAST_REST_S:
        at_s = float(t_s[-1]) if t_s.size else 0.0
        return Rest(at_s, at_s, np.zeros(3), UNKNOWN_BIAS_MPS2, 0.3, 0.2)
    over = force - gravity_felt(angles[[1, 0]])
    bias = np.mean(over, axis=1)
    lasts = float(t_s[-1] - t_s[0])
    swing = integral(t_s, over[0] - bias[0])
    sway = float(np.std(swing))
    noise = max(noise_of(force[0]), float(np.std(over[0])))  # a motor's shaking may look slow
    random = noise / math.sqrt(t_s.size)
    return Rest(
        float(t_s[0]),
        float(t_s[-1]),
        bias,
        together(random, math.sqrt(2.0) * sway / lasts),
        together(0.03, sway),
        noise,
    )


def long_rest(taken: Taken, until_s: float) -> Numbers | None:
    """Return what the forces read too much at a long rest before a time, (3,) [m/s2]; None without one."""
    forces = taken.forces()
    if forces is None or taken.series("force_z_mps2") is None:
        return None
    t = forces[0][: int(np.searchsorted(forces[0], until_s))]
    pose = taken.attitude(t)
    if pose is None or t.size < 16:
        return None
    force = forces[1][:, : t.size]
    quiet = quiet_blocks(t, force, taken.rates(t))
    if np.count_nonzero(quiet) < 8 or t[quiet][-1] - t[quiet][0] < LONG_REST_S:
        return None
    return np.asarray(np.mean(force[:, quiet] - gravity_felt(pose[:, quiet]), axis=1))


def quiet_blocks(t_s: Numbers, force: Numbers, rates: Numbers | None) -> NDArray[np.bool_]:
    """Return which samples lie in half seconds of rest: steady forces of 1 g and no turning, (n,)."""
    block = np.floor((t_s - t_s[0]) / BLOCK_S).astype(np.int64)
    counts = np.maximum(1.0, np.bincount(block).astype(np.float64))

    def mean(values: Numbers) -> Numbers:
        return np.asarray(np.bincount(block, weights=values) / counts)

    size = np.sqrt(np.sum(force**2, axis=0))
    quiet = np.abs(mean(size) - GRAVITY_MPS2) < STILL_SIZE_MPS2
    for row in force:
        quiet &= mean((row - mean(row)[block]) ** 2) < STILL_SD_MPS2**2
    for row in () if rates is None else rates:
        quiet &= mean(row**2) < STILL_RATE_RADPS**2
    return np.asarray(quiet[block])


class Pose(NamedTuple):
    """Where the body points, and how far that may be off."""

    angles: Numbers  # bank, pitch, heading, (3, n)
    error_rad: float  # of pitch, from the start
    drift_radps: float  # growth of that error
    turned: bool  # carried on by gyros


def pose_of(taken: Taken, t_s: Numbers, force: Numbers, held: int, usual: Numbers | None) -> Pose | None:
    """Return bank, pitch and heading over time; the first ``held`` samples are those of the hold.

    ``usual`` (3,) is what the forces read too much at a long rest, None if there was none.
    The gyros carry on the mean attitude of the hold: the recorded one, else that of the mean force. Without
    gyros it is the recorded one, dragged by the throw, or that of the hold for all time. None if there is
    nothing to start from.
    """
    recorded, rates = taken.attitude(t_s), taken.rates(t_s)
    level = taken.level_error_rad
    if recorded is None and held < 4:
        return None
    if recorded is None:
        x, y, z = (float(np.mean(row[:held])) for row in force)
        start = (math.atan2(-y, -z), math.atan2(x, math.hypot(y, z)), 0.0)
        if rates is None:
            return Pose(np.tile(np.array([start]).T, t_s.size), together(level, UNSEEN_TURN_RAD), 0.0, False)
        angles = carried_on(t_s[held - 1 :], start, rates[:, held - 1 :])
        before = np.tile(np.array([start]).T, held - 1)
        return Pose(np.concatenate([before, angles], axis=1), level, GYRO_BIAS_RADPS, True)
    if rates is None:
        angles = np.stack([recorded[1], recorded[0], np.zeros(t_s.size)])
        return Pose(angles, together(level, DRAGGED_RAD), 0.0, False)
    start = (float(recorded[1, 0]), float(recorded[0, 0]), 0.0)
    turned = carried_on(t_s, start, rates)
    over = slice(0, max(held, 1))
    off = np.mean(turned[:2, over] - recorded[::-1, over], axis=1)
    start = (start[0] - float(off[0]), start[1] - float(off[1]), 0.0)
    angles = carried_on(t_s, start, rates)
    mended = undragged(t_s[over], force[:, over], angles[:, over], usual)
    if mended is not None:
        angles = carried_on(t_s, (start[0] + mended[0], start[1] + mended[1], 0.0), rates)
        level = together(level, mended[2])
    return Pose(angles, level, GYRO_BIAS_RADPS, True)


def undragged(
    t_s: Numbers, force: Numbers, angles: Numbers, usual: Numbers | None
) -> tuple[float, float, float] | None:
    """Return what to add to (bank, pitch) of a hold, and the error of that [rad]; None if nothing shows it.

    ``usual`` (3,) is what the forces read too much at a long rest, where the believed attitude had time to
    settle. What they read more than that in the hold is a false attitude, dragged by a shake or a walk.
    Equation: ``pitch += (over_x - usual_x)/(g cos(pitch))``, weighted with how far an attitude is dragged.
    """
    if usual is None or t_s.size < 8 or t_s[-1] - t_s[0] < UNDRAG_S:
        return None
    rest = at_rest(t_s, force, angles)
    over = rest.bias - usual
    level = GRAVITY_MPS2 * math.cos(float(np.mean(angles[1])))
    seen = together(rest.bias_error_mps2, 0.05) / level
    share = HELD_DRAG_RAD**2 / (HELD_DRAG_RAD**2 + seen**2)
    return -share * float(over[1]) / level, share * float(over[0]) / level, math.sqrt(share) * seen


def reckon(taken: Taken) -> Reckoned | None:
    """Return the motion by dead reckoning; None without a stroke, a forward force or any attitude."""
    begin, forces = begins_at(taken), taken.forces()
    release = taken.event("release")
    if begin is None or forces is None or release is None:
        return None
    from_s = max(taken.launch.from_s, begin - REST_S)
    first = int(np.searchsorted(forces[0], from_s, side="left"))
    last = int(np.searchsorted(forces[0], release.t_s + AFTER_S, side="right"))
    t, force = forces[0][first:last], forces[1][:, first:last]
    held = slice(0, int(np.searchsorted(t, begin, side="right")))
    if t.size - held.stop < 3:
        return None
    pose = pose_of(taken, t, force, held.stop, long_rest(taken, from_s))
    if pose is None:
        return None
    angles = pose.angles
    rest = at_rest(t[held], force[:, held], angles[:, held])
    force = force - rest.bias[:, None]
    speeds = level_acceleration(force, angles)
    start = max(0, held.stop - 1)
    ahead, right, up = (np.concatenate([np.zeros(start), integral(t[start:], row[start:])]) for row in speeds)
    vertical = taken.series("force_z_mps2") is not None
    return Reckoned(
        t, angles[1], angles[0], force, ahead, right, up, rest, pose.error_rad, pose.drift_radps,
        stroke_clipped(taken, begin, release.t_s + 0.02), vertical, pose.turned,
    )  # fmt: skip


def release_moment(reckoned: Reckoned, release_s: float, error_s: float) -> float:
    """Return when the reckoned speed was highest about release [s]: there the arm no longer pushes.

    If it goes on growing, as under power, it is the time of release itself.
    """
    width = 2.0 * error_s
    near = np.flatnonzero(np.abs(reckoned.t_s - release_s) <= width)
    if near.size < 3:
        return release_s
    whole = np.hypot(reckoned.speed_mps(), reckoned.up_mps)[near]
    k = int(np.argmax(whole))
    return release_s if k in (0, near.size - 1) else float(reckoned.t_s[near[k]])


def speed_error(reckoned: Reckoned, release: Series | None, at_s: float, release_error_s: float) -> float:
    """Return the error [m/s] of the reckoned horizontal speed at a time after the hold.

    ``release`` are the forward forces from the hold to that time. Sway, bias, noise, sampling, the false
    turn of the horizon, the time of release and the scale of the sensor, as independent errors.
    """
    lasts = at_s - reckoned.rest.to_s
    speed = reckoned.at(at_s, reckoned.speed_mps())
    step = float(np.median(np.diff(reckoned.t_s)))
    sampling = 0.0
    if release is not None and release.t_s.size > 1:
        jump = JUMP_SHARE * step * float(np.max(np.abs(np.diff(release.values))))
        sampling = together(sampling_error(release.t_s, release.values), jump)
    slope = abs(reckoned.at(at_s, reckoned.force[0])) * release_error_s
    turn = reckoned.drift_radps * lasts if reckoned.turned else reckoned.angle_error_rad
    return together(
        reckoned.rest.speed_error_mps,
        reckoned.rest.bias_error_mps2 * lasts,
        reckoned.rest.noise_mps2 * math.sqrt(lasts * step),
        sampling,
        slope,
        0.5 * GRAVITY_MPS2 * turn * lasts,
        SCALE_ERROR * speed,
        speed * 0.005,
    )

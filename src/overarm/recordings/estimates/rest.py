"""Tilt of the board and bias of its forward accelerometer, from rest before the throw.

A recorded pitch is levelled by accelerometers: their bias is in it and cannot be seen against it. What can be
seen: the angle between the board and the attitude (the tilt, if the attitude was levelled to the model), and
the bias from the size of the felt force in poses far apart, which no false horizon changes.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import at
from overarm.recordings.estimates.strapdown import BLOCK_S, quiet_blocks
from overarm.recordings.estimates.taken import USUAL_LEVEL_ERROR_RAD, Taken, gravity_felt
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers

TILT, BIAS = "board_tilt_rad", "force_bias_mps2"
LEAST_STILL_S = 1.0
SIZE_ERROR_MPS2 = 0.04  # of the size of a felt force: scale of the sensor, own estimate
OTHER_BIAS_MPS2 = 0.3  # of the sideways and downward accelerometers
WIDE_MPS2 = 2.0
WORTH_MPS2 = 0.25  # a bias known worse than this is not told
SAME_RAD = math.radians(0.25)  # closer than this the recorded pitch is that of the accelerometers
POSE_RAD = math.radians(10.0)
NEED_POSES = "It takes a hold with the nose up by 30 degrees or more beside a level one."


class Still(NamedTuple):
    """Rest in half seconds: mean felt forces (3, n) [m/s2] and recorded pitch and bank (2, n) [rad]."""

    force: Numbers
    pose: Numbers | None


def stillness(taken: Taken, before_s: float) -> Still | None:
    """Return what the board read at rest before a time; None without rest or without three forces."""
    named = [taken.series(name) for name in FORCES]
    forward = named[0]
    if forward is None or any(one is None for one in named) or not taken.recording.gravity_felt:
        return None
    t = forward.t_s[: int(np.searchsorted(forward.t_s, before_s))]
    if t.size < 8:
        return None
    force = np.stack([at(one, t) for one in named if one is not None])
    turning = [at(one, t) for one in (taken.series(name) for name in RATES) if one is not None]
    quiet = quiet_blocks(t, force, np.stack(turning) if turning else None)
    block = np.floor((t - t[0]) / BLOCK_S).astype(np.int64)
    counts = np.bincount(block)
    used = (np.bincount(block, weights=quiet) > 0) & (counts >= max(2.0, 0.5 * float(np.median(counts))))
    if np.count_nonzero(used) * BLOCK_S < LEAST_STILL_S:
        return None
    pose = taken.attitude(t)

    def means(rows: Numbers) -> Numbers:
        sums = np.stack([np.bincount(block, weights=row) for row in rows])
        return np.asarray(sums[:, used] / counts[used])

    return Still(means(force), None if pose is None else means(pose))


def over_attitude(still: Still) -> Measured | None:
    """Return by what angle [rad] the board points above the recorded attitude; None without one.

    Equation: ``pitch' - pitch``, ``pitch' = atan2(f_x, sqrt(f_y^2 + f_z^2))``; the error is the scatter.
    """
    if still.pose is None:
        return None
    x, y, z = still.force
    apart = np.arctan2(x, np.hypot(y, z)) - still.pose[0]
    return Measured(float(np.median(apart)), float(np.std(apart)) / math.sqrt(apart.size))


def bias_by_size(force: Numbers) -> Measured:
    """Return the bias of the forward accelerometer [m/s2] from mean forces (3, n) at rest in many poses.

    Equation: ``(|f|^2 - g^2)/(2 g) = b . f/g``, least squares for b with the usual spread of the two other
    axes; poses within ten degrees count as one. No attitude is in it. Source: multi-position calibration,
    e.g. Titterton and Weston, *Strapdown Inertial Navigation Technology* (2004), chapter 8.
    """
    pose = np.round(np.arctan2(force[:2], -force[2:]) / POSE_RAD).astype(np.int64)
    _, which, counts = np.unique(pose, axis=1, return_inverse=True, return_counts=True)
    weight = 1.0 / counts[np.ravel(which)]
    left = (np.sum(force**2, axis=0) - GRAVITY_MPS2**2) / (2.0 * GRAVITY_MPS2)
    design = force.T / GRAVITY_MPS2
    scaled = design * (weight / SIZE_ERROR_MPS2**2)[:, None]
    prior = np.diag(1.0 / np.array([WIDE_MPS2, OTHER_BIAS_MPS2, OTHER_BIAS_MPS2]) ** 2)
    spread = np.linalg.inv(design.T @ scaled + prior)
    bias = spread @ (scaled.T @ left)
    return Measured(float(bias[0]), math.sqrt(float(spread[0, 0])))


def rest_estimates(taken: Taken, begin_s: float | None) -> dict[str, Estimate]:
    """Return the estimates of tilt and bias from rest before the arm moves."""
    still = stillness(taken, taken.launch.from_s if begin_s is None else begin_s)
    if still is None:
        why = "There is no rest of a second with three forces, gravity in them, before the throw."
        return {TILT: cannot(TILT, why), BIAS: cannot(BIAS, why)}
    apart = over_attitude(still)
    found = {TILT: _tilt(taken, still, apart)}
    bias = bias_by_size(still.force)
    if bias.error < WORTH_MPS2:
        how = "size of the felt force at rest in poses far apart"
        found[BIAS] = told(BIAS, bias.value, bias.error, how)
    else:
        found[BIAS] = cannot(BIAS, f"A bias tilts the attitude that it would be seen against. {NEED_POSES}")
    return found


def _tilt(taken: Taken, still: Still, apart: Measured | None) -> Estimate:
    if apart is None or still.pose is None:
        over = float(np.mean(still.force[0] - gravity_felt(np.zeros((2, 1)))[0]))
        return cannot(
            TILT,
            f"At rest it reads {over:+.2f} m/s2 forward: tilt, bias and pitch together. "
            "No pitch was recorded that would tell them apart.",
        )
    if abs(apart.value) < SAME_RAD:
        return cannot(
            TILT,
            "The recorded pitch is that of the accelerometers, so a tilt of the board is in both and cannot "
            "be seen; it takes a model laid level on a jig.",
        )
    level = USUAL_LEVEL_ERROR_RAD
    if taken.setup is not None:
        level = taken.setup.airframe.board.level_error_rad.value
    how = (
        "angle between the accelerometers at rest and the recorded pitch; true if that was levelled to the "
        f"model. As a bias it would be {GRAVITY_MPS2 * math.sin(apart.value):+.2f} m/s2"
    )
    return told(TILT, apart.value, together(apart.error, level, math.radians(0.1)), how)

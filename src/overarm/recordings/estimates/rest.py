"""Tilt of the board and bias of its forward accelerometer, from rest before the throw."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import at
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers

TILT, BIAS = "board_tilt_rad", "force_bias_mps2"
BLOCK_S = 0.5
STILL_SD_MPS2 = 0.45
STILL_RATE_RADPS = 0.08
STILL_SIZE_MPS2 = 0.8  # the felt force is this close to 1 g
LEAST_STILL_S = 1.0
APART_RAD = math.radians(25.0)  # poses closer than this do not tell a tilt from a bias
POSE_ERROR_RAD = math.radians(0.7)  # of a recorded pitch, beyond the common error of its horizon
NEED_TWO = "a hold with the nose up by 30 degrees or more beside a level one, or a tilt measured on a jig"


class Still(NamedTuple):
    """Rest in blocks of half a second: pitch as recorded [rad] and mean forward reading [m/s2], (n,)."""

    pitch_rad: Numbers
    forward_mps2: Numbers
    noise_mps2: float  # of one mean


class Told(NamedTuple):
    """Tilt and bias with their errors."""

    tilt_rad: float
    tilt_error: float
    bias_mps2: float
    bias_error: float


def stillness(taken: Taken, before_s: float) -> Still | None:
    """Return what was read at rest before a time; None without rest, forces or pitch."""
    named = [taken.series(name) for name in FORCES]
    forward, pitch = named[0], taken.series("pitch_rad")
    if forward is None or pitch is None or not taken.recording.gravity_felt:
        return None
    count = int(np.searchsorted(forward.t_s, before_s))
    t = forward.t_s[:count]
    if count < 8:
        return None
    rows = np.stack([forward.values[:count], *(at(one, t) for one in named[1:] if one is not None)])
    size = np.sqrt(np.sum(rows**2, axis=0)) if len(rows) == 3 else np.full(count, GRAVITY_MPS2)
    found = [taken.series(name) for name in RATES]
    turning = [np.abs(at(one, t)) for one in found if one is not None]
    fastest = np.max(np.stack(turning), axis=0) if turning else np.zeros(count)
    return _blocks(t, (rows[0], size, fastest, at(pitch, t)))


def _blocks(t: Numbers, read: tuple[Numbers, Numbers, Numbers, Numbers]) -> Still | None:
    """Return the blocks that are at rest of (forward force, size of the force, fastest rate, pitch)."""
    forward, size, fastest, pitch = read
    block = np.floor((t - t[0]) / BLOCK_S).astype(np.int64)
    counts = np.bincount(block).astype(np.float64)
    full = counts >= max(3.0, 0.5 * float(np.max(counts)))
    per = np.maximum(1.0, counts)

    def mean(values: Numbers) -> Numbers:
        return np.asarray(np.bincount(block, weights=values) / per)

    forward_mean, pitch_mean = mean(forward), mean(pitch)
    scatter = np.sqrt(mean((forward - forward_mean[block]) ** 2))
    turning = np.sqrt(mean(fastest**2))
    quiet = (
        full
        & (scatter < STILL_SD_MPS2)
        & (turning < STILL_RATE_RADPS)
        & (np.abs(mean(size) - GRAVITY_MPS2) < STILL_SIZE_MPS2)
    )
    if np.count_nonzero(quiet) * BLOCK_S < LEAST_STILL_S:
        return None
    noise = float(np.median(scatter[quiet] / np.sqrt(counts[quiet])))
    return Still(pitch_mean[quiet], forward_mean[quiet], max(noise, 0.01))


def reads_too_much(still: Still, level_error_rad: float) -> tuple[float, float]:
    """Return (what the forward force reads too much at rest [m/s2], its error).

    Equation: the mean of ``f_x - g sin(pitch)``, which is ``g cos(pitch) sin(tilt) + bias``; the horizon that
    the pitch is measured from is unknown by ``level_error_rad``.
    """
    over = still.forward_mps2 - GRAVITY_MPS2 * np.sin(still.pitch_rad)
    scatter = float(np.std(over)) / math.sqrt(over.size)
    level = GRAVITY_MPS2 * float(np.mean(np.cos(still.pitch_rad)))
    return float(np.mean(over)), together(scatter, still.noise_mps2, level * level_error_rad)


def apart(still: Still, level_error_rad: float) -> Told | None:
    """Return tilt and bias from holds at pitches far apart; None if they are all alike.

    Equation: ``f_x = g sin(pitch + e) + b``, least squares for e and b, e small, weights from the noise
    of the means and of the recorded pitch.
    """
    if float(np.ptp(still.pitch_rad)) < APART_RAD:
        return None
    sine, cosine = np.sin(still.pitch_rad), np.cos(still.pitch_rad)
    over = still.forward_mps2 - GRAVITY_MPS2 * sine
    design = np.stack([GRAVITY_MPS2 * cosine, np.ones(sine.size)], axis=1)
    # The error of the recorded pitch is the same for all blocks of one pose: ten degrees are one pose.
    pose = np.round(still.pitch_rad / math.radians(10.0)).astype(np.int64)
    same = (pose[:, None] == pose[None, :]).astype(np.float64)
    slope = GRAVITY_MPS2 * cosine * POSE_ERROR_RAD
    covariance = same * np.outer(slope, slope) + np.diag(np.full(sine.size, still.noise_mps2**2 + 0.03**2))
    weighted = np.linalg.solve(covariance, design)
    spread = np.linalg.inv(design.T @ weighted)
    tilt, bias = spread @ (weighted.T @ over)
    return Told(
        math.asin(min(1.0, max(-1.0, float(tilt)))),
        together(math.sqrt(float(spread[0, 0])), level_error_rad),
        float(bias),
        math.sqrt(float(spread[1, 1])),
    )


def rest_estimates(taken: Taken, begin_s: float | None) -> dict[str, Estimate]:
    """Return the estimates of tilt and bias from rest before the arm moves."""
    until = taken.launch.from_s if begin_s is None else begin_s
    still = stillness(taken, until)
    if still is None:
        why = "There is no rest of a second with forces and pitch before the throw."
        return {TILT: cannot(TILT, why), BIAS: cannot(BIAS, why)}
    both = apart(still, taken.level_error_rad)
    if both is not None and both.tilt_error < math.radians(6.0):
        how = "forward force against pitch, at rest in poses far apart"
        return {
            TILT: told(TILT, both.tilt_rad, both.tilt_error, how),
            BIAS: told(BIAS, both.bias_mps2, both.bias_error, how),
        }
    return _one_pose(taken, still)


def _one_pose(taken: Taken, still: Still) -> dict[str, Estimate]:
    whole, error = reads_too_much(still, taken.level_error_rad)
    tilt_alone = math.degrees(math.asin(min(1.0, max(-1.0, whole / GRAVITY_MPS2))))
    why = (
        f"At rest it reads {whole:+.2f} m/s2 (one sd {error:.2f}) more than gravity: a tilt of "
        f"{tilt_alone:+.1f} degrees, a bias, or both. One pose does not tell them apart; it takes {NEED_TWO}."
    )
    found = {TILT: cannot(TILT, why), BIAS: cannot(BIAS, why)}
    if taken.setup is None:
        return found
    board = taken.setup.airframe.board
    if board.tilt_rad.known == "measured":
        of_tilt = GRAVITY_MPS2 * math.sin(board.tilt_rad.value)
        how = "what the forward force reads too much at rest, less that of the tilt measured on the card"
        found[BIAS] = told(BIAS, whole - of_tilt, together(error, GRAVITY_MPS2 * board.tilt_rad.spread), how)
    if board.bias_mps2.known == "measured":
        sine = min(1.0, max(-1.0, (whole - board.bias_mps2.value) / GRAVITY_MPS2))
        how = "what the forward force reads too much at rest, less the bias measured on the card"
        spread = together(error, board.bias_mps2.spread) / GRAVITY_MPS2
        found[TILT] = told(TILT, math.asin(sine), spread, how)
    return found

"""How long the disc can reach the hand after release, and the tilt that starts the model by itself."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.special import ndtri

from overarm.air import GRAVITY_MPS2

GRID = 400
LEAST_DECELERATION_MPS2 = 0.5


class Arm(NamedTuple):
    """The arm after release: medians and spreads.

    The deceleration is lognormal (median, standard deviation of its logarithm), the speed by which
    the hand already lags the model at release is normal and never below zero.
    """

    deceleration_mps2: float = 35.0
    deceleration_log_sd: float = 0.45
    lag_mps: float = 0.4
    lag_sd_mps: float = 0.3


class HandReach(NamedTuple):
    """Seconds from release until the disc is past the hand."""

    p50_s: float
    p95_s: float
    p99_s: float
    p999_s: float


def clear_times(arm: Arm, grip_to_disc_m: float, margin_m: float = 0.05) -> HandReach:
    """Return the clear times [s] of a pusher's disc, without thrust.

    Parameters: the arm; distance along the body from grip to disc [m]; further distance that counts
    as clear [m]. Equation: ``dv t + a t^2/2 = grip_to_disc + margin``, solved for t on an even grid
    of quantiles of a and dv. Source: own estimate of the arm (no public data); kinematics any textbook.
    """
    quantiles = ndtri((np.arange(GRID) + 0.5) / GRID)
    slowing = np.maximum(
        LEAST_DECELERATION_MPS2, arm.deceleration_mps2 * np.exp(arm.deceleration_log_sd * quantiles)
    )[:, None]
    lag = np.maximum(0.0, arm.lag_mps + arm.lag_sd_mps * quantiles)[None, :]
    way_m = max(0.0, grip_to_disc_m + margin_m)
    times = (np.sqrt(lag * lag + 2.0 * slowing * way_m) - lag) / slowing
    p50, p95, p99, p999 = (float(value) for value in np.quantile(times, [0.5, 0.95, 0.99, 0.999]))
    return HandReach(p50, p95, p99, p999)


def self_start_tilt(level_mps2: float, board_tilt_rad: float, bias_mps2: float = 0.0) -> float | None:
    """Return the nose-up angle [rad] at which a held model starts by itself; None if there is none.

    Parameters: jerk level [m/s2] of a sensor that feels gravity; nose-up tilt of the board [rad];
    bias [m/s2]. Equation: ``g sin(angle + tilt) + bias = level``. Source: statics.
    """
    share = (level_mps2 - bias_mps2) / GRAVITY_MPS2
    if share > 1.0:
        return None
    return math.asin(max(-1.0, share)) - board_tilt_rad

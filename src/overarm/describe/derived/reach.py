"""How long the disc can reach the hand after release."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from overarm.physics.hand import CLEAR_MARGIN_M

Floats = npt.NDArray[np.float64]

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
    speed_mps: float = 8.0  # of the release


class HandReach(NamedTuple):
    """Seconds from release until the disc is past the hand."""

    p50_s: float
    p95_s: float
    p99_s: float
    p999_s: float


def time_to_clear_s(way_m: float, speed_mps: Floats, slowing_mps2: Floats, lag_mps: Floats) -> Floats:
    """Return the seconds from release until the disc is ``way_m`` ahead of the hand, for many throws at once.

    Parameters: way from the hand to where it is clear [m]; speed of release [m/s]; deceleration of the
    hand [m/s2]; speed by which it lags at release [m/s]. The same as `overarm.physics.hand.clear_time`.
    Equation: ``lag t + a t^2/2 = way`` while the hand moves; once it has stopped,
    ``v t - v_h^2/(2 a) = way`` with v_h = v - lag.
    """
    lag = np.minimum(lag_mps, speed_mps)
    moving_s = 2.0 * way_m / (lag + np.sqrt(lag * lag + 2.0 * slowing_mps2 * way_m))
    stop_s = (speed_mps - lag) / slowing_mps2
    stopped_s = (way_m + 0.5 * slowing_mps2 * stop_s * stop_s) / speed_mps
    return np.asarray(np.where(moving_s <= stop_s, moving_s, stopped_s))


def clear_times(arm: Arm, grip_to_disc_m: float, margin_m: float = CLEAR_MARGIN_M) -> HandReach:
    """Return the clear times [s] of a pusher's disc, without thrust.

    Parameters: the arm; distance along the body from grip to disc [m]; further distance that counts
    as clear [m]. Equation: that of `time_to_clear_s` on an even grid of quantiles of deceleration and
    lag. Source: own estimate of the arm (no public data); kinematics any textbook.
    """
    quantiles = ndtri((np.arange(GRID) + 0.5) / GRID)
    slowing = np.maximum(
        LEAST_DECELERATION_MPS2, arm.deceleration_mps2 * np.exp(arm.deceleration_log_sd * quantiles)
    )[:, None]
    lag = np.maximum(0.0, arm.lag_mps + arm.lag_sd_mps * quantiles)[None, :]
    times = time_to_clear_s(grip_to_disc_m + margin_m, np.full((1, 1), arm.speed_mps), slowing, lag)
    p50, p95, p99, p999 = (float(value) for value in np.quantile(times, [0.5, 0.95, 0.99, 0.999]))
    return HandReach(p50, p95, p99, p999)

"""High-frame-rate video: how long from release until the disc is past the hand, and so how the hand slows."""

from __future__ import annotations

import math

from overarm.learn.bench.propagate import Figure, propagated

# A frame is looked at, and the moment lies anywhere within it: a uniform error at either end.
FRAME_ERROR = math.sqrt(2.0 / 12.0)


def hand_deceleration(grip_to_disc_m: float, lag_mps: float, clear_s: float) -> float:
    """Return the deceleration of the hand [m/s2] that clears the disc in a time.

    Parameters: from the hand to the disc along the body [m]; how much slower than the model the hand is
    at release [m/s]; time from release until the disc has passed the hand [s].
    Equation, from ``d = 1/2 a t^2 + dv t``: ``a = 2 (d - dv t)/t^2``. Source: uniform acceleration.
    """
    return 2.0 * (grip_to_disc_m - lag_mps * clear_s) / (clear_s * clear_s)


def from_frames(grip_to_disc_m: Figure, lag_mps: Figure, frames: float, rate_hz: float) -> Figure:
    """Return the deceleration of the hand [m/s2] of one throw, with its error.

    The time has the error of one frame at each end, ``sqrt(2/12)/rate`` (uniform within the frame:
    JCGM 100:2008, section 4.3.7).
    """
    time = Figure(frames / rate_hz, FRAME_ERROR / rate_hz)
    return propagated(lambda x: hand_deceleration(x[0], x[1], x[2]), (grip_to_disc_m, lag_mps, time))

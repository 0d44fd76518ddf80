"""Speed over the ground at release, from satellite speeds after it brought back to it."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.estimates.fuse import Measured, common_value
from overarm.recordings.estimates.lag import SPEED_NOISE_MPS, Lag
from overarm.recordings.estimates.series import Series, noise_of, part, straight
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.recording import Numbers

# Speeds up to this long after release say something about it; longer, what happened since is not known
# well enough. The speed right at release may still be filtered with that of the stroke.
FROM_S, TO_S = 0.05, 1.1
ALONE_TO_S = 1.5
CLIMB_NOISE_MPS = 0.35  # vertical speeds by satellite are noisier, own estimate
QUIET_S, LEAST_QUIET = 30.0, 20
LEAST_NOISE_MPS = 0.08
COMMON_MPS = 0.08  # error that all satellite speeds of a moment share, own estimate
BENT_MPS2 = 1.5  # how much a speed after release may bend away from a straight line


def brought_back(
    sat: Series, lag: Lag, release_s: float, reckoned: tuple[Reckoned, Numbers] | None, noise_mps: float
) -> Measured | None:
    """Return a satellite speed [m/s] at release; None without samples soon after it.

    ``sat``: the speed, horizontal or up; ``reckoned``: the dead reckoning and its same speed, shape (n,),
    which says how the speed changed since release; without it a straight line does.

    Equation: each sample gives ``v_sat(t) - (v(t - lag) - v(release))``; their covariance is the noise of
    each, what they share, the random walk of vibration since release, the bias and the lag.
    """
    if reckoned is None:
        return _by_line(sat, lag, release_s, noise_mps)
    late = Series(sat.t_s - lag.left.value, sat.values)
    late = part(late, release_s + FROM_S, release_s + TO_S)
    if not late.t_s.size:
        return None
    motion, speed = reckoned
    since = late.t_s - release_s
    change = np.interp(late.t_s, motion.t_s, speed) - motion.at(release_s, speed)
    flying = part(Series(motion.t_s, motion.force[0]), release_s, release_s + TO_S)
    step = flying.step_s
    walk = noise_of(flying.values) ** 2 * step
    slope = np.gradient(speed, motion.t_s)
    pull = np.interp(late.t_s, motion.t_s, slope)
    covariance = (
        np.diag(np.full(since.size, noise_mps**2))
        + COMMON_MPS**2
        + walk * np.minimum(since[:, None], since[None, :])
        + (motion.rest.bias_error_mps2**2 + 0.3**2) * np.outer(since, since)
        + lag.left.error**2 * np.outer(pull, pull)
    )
    return common_value(late.values - change, covariance)


def _by_line(sat: Series, lag: Lag, release_s: float, noise_mps: float) -> Measured | None:
    """Return the speed at release by a straight line through the samples after it."""
    late = Series(sat.t_s - lag.left.value, sat.values)
    late = part(late, release_s + FROM_S, release_s + ALONE_TO_S)
    if late.t_s.size < 3:
        if not late.t_s.size:
            return None
        away = float(late.t_s[0]) - release_s
        return Measured(float(late.values[0]), math.hypot(noise_mps, 2.0 * (away + lag.left.error)))
    line = straight(late, release_s)
    lasts = float(late.t_s[-1]) - release_s
    own = max(line.scatter, noise_mps)
    error = line.value_error * own / line.scatter if line.scatter > 0.0 else own
    bent = BENT_MPS2 * lasts * lasts / 8.0
    return Measured(line.value, math.sqrt(error**2 + bent**2 + (line.slope * lag.left.error) ** 2))


def noise_for(taken: Taken, name: str) -> float:
    """Return the noise [m/s] of a satellite speed channel, from the time before the throw."""
    usual = CLIMB_NOISE_MPS if name == "climb_mps" else SPEED_NOISE_MPS
    series, stroke = taken.series(name), taken.event("stroke")
    if series is None or stroke is None:
        return usual
    before = part(series, stroke.t_s - QUIET_S, stroke.t_s - 0.5)
    if before.t_s.size < LEAST_QUIET:
        return usual
    return min(2.0 * usual, max(LEAST_NOISE_MPS, noise_of(before.values)))

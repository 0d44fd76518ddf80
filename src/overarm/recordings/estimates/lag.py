"""How late the satellite speed is."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

import numpy as np

from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, part
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate
from overarm.recordings.recording import Numbers

NAME = "satellite_lag_s"
GRID_S = np.arange(-0.3, 0.9005, 0.005)
BEFORE_S, AFTER_S = 0.6, 1.5
SPEED_NOISE_MPS = 0.25  # of a satellite speed, own estimate
USUAL = Measured(0.2, 0.1)  # where nothing shows it: 0.1 to 0.4 s
FLOOR_S = 0.015
LEAST_GAIN_MPS = 3.0


class Lag(NamedTuple):
    """The lag that is left in the samples as they stand, and what cleaning took off before."""

    left: Measured
    taken_off_s: float
    seen: bool  # found from the samples, not usual


def likelihood(sat: Series, t_s: Numbers, speed_mps: Numbers, growth: tuple[float, float]) -> Numbers:
    """Return the logarithm of the likelihood of each lag of the grid, shape (grid,).

    ``t_s``, ``speed_mps``: the reckoned speed, (n,); ``growth``: its error at the start [m/s] and the growth
    of that error [m/s2]. Equation: ``-1/2 sum((v_sat(t) - v(t - lag))^2/s(t - lag)^2)``.
    """
    late = sat.t_s[None, :] - GRID_S[:, None]
    model = np.interp(late, t_s, speed_mps)
    lasts = np.maximum(0.0, late - t_s[0])
    variance = SPEED_NOISE_MPS**2 + growth[0] ** 2 + (growth[1] * lasts) ** 2
    left = (sat.values[None, :] - model) ** 2 / variance + np.log(variance)
    return np.asarray(-0.5 * np.sum(left, axis=1))


def taken_off(taken: Taken) -> float:
    """Return the lag [s] that cleaning took off, which stands in the channel; 0 if it found none."""
    speed = taken.recording.channel("ground_speed_mps")
    found = None if speed is None else re.search(r"moved (\d+\.\d+) s back", speed.source)
    return 0.0 if found is None else float(found.group(1))


def lag_of(taken: Taken, reckoned: Reckoned | None) -> Lag:
    """Return how late the ground speed still is, by its correlation with the reckoned speed of the throw."""
    off = taken_off(taken)
    usual = Measured(0.0, 0.06) if off else USUAL
    if taken.setup is not None and not off:
        usual = Measured(taken.setup.airframe.board.speed_delay_s.value, USUAL.error)
    release, speed = taken.event("release"), taken.series("ground_speed_mps")
    if reckoned is None or reckoned.clipped or speed is None or release is None:
        return Lag(usual, off, False)
    sat = part(speed, reckoned.rest.to_s - BEFORE_S, release.t_s + AFTER_S)
    gain = reckoned.at(release.t_s, reckoned.speed_mps())
    if sat.t_s.size < 3 or gain < LEAST_GAIN_MPS:
        return Lag(usual, off, False)
    from_here = reckoned.t_s >= reckoned.rest.to_s
    growth = (together(0.1, reckoned.rest.speed_error_mps), together(0.15, reckoned.rest.bias_error_mps2))
    chance = likelihood(sat, reckoned.t_s[from_here], reckoned.speed_mps()[from_here], growth)
    weight = np.exp(chance - np.max(chance)) * np.exp(-0.5 * ((GRID_S - usual.value) / 0.3) ** 2)
    weight /= np.sum(weight)
    mean = float(weight @ GRID_S)
    error = math.sqrt(float(weight @ (GRID_S - mean) ** 2))
    return Lag(Measured(mean, together(error, FLOOR_S)), off, True)


def lag_estimate(taken: Taken, lag: Lag) -> Estimate:
    """Return the estimate of the whole lag of the satellite speed, as it was recorded."""
    if taken.series("ground_speed_mps") is None:
        return cannot(NAME, "There is no satellite speed in it.")
    if lag.seen:
        how = "the lag at which the satellite speed follows the speed reckoned from the forces of the throw"
        if lag.taken_off_s:
            how += f", with the {lag.taken_off_s:.2f} s that cleaning took off"
        return told(NAME, lag.taken_off_s + lag.left.value, lag.left.error, how)
    if lag.taken_off_s:
        return told(NAME, lag.taken_off_s, lag.left.error, "what cleaning found and took off")
    return cannot(NAME, "No throw that the forces show is close to a satellite speed.")

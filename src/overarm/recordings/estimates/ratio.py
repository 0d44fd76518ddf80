"""Least airspeed after release over the stall speed."""

from __future__ import annotations

import numpy as np

from overarm.recordings.estimates.air import SMOOTH_S, Air
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.series import Series, noise_of, part, straight
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

NAME = "low_speed_ratio"
FROM_S = 0.1
SOON_S = 0.45
GROUND_S = 0.5 * SMOOTH_S  # what is smoothed before the ground has the blow in it
GUST_MPS = 0.15  # what a probe is too slow to show


def ratio_estimate(taken: Taken, air: Air | None) -> Estimate:
    """Return the estimate of the least airspeed after release over the computed stall speed."""
    release = taken.event("release")
    if release is None:
        return cannot(NAME, "No release was seen.")
    if taken.derived is None:
        return cannot(NAME, "Without a setup there is no stall speed.")
    if air is None:
        return cannot(NAME, "There is no airspeed, nor a ground speed with a wind to make a band.")
    stall = taken.derived.stall_speed_mps
    ends = [one for one in (taken.event("handover"), taken.event("ground")) if one is not None]
    end = min([taken.launch.to_s, *(one.t_s - GROUND_S - 2.0 * one.error_s for one in ends)])
    flying = part(Series(air.t_s, air.airspeed_mps), release.t_s + FROM_S, end)
    if flying.t_s.size < 3:
        return cannot(NAME, "There are too few samples after release.")
    least = float(np.min(flying.values))
    soon = part(flying, release.t_s, release.t_s + SOON_S)
    if soon.t_s.size >= 3:  # one that is thrown under power is slowest as it leaves the hand
        least = min(least, straight(soon, release.t_s).value)
    if not air.measured:
        low, high = (least + k * 2.0 * air.error_mps for k in (-1.0, 1.0))
        why = (
            "There is no airspeed in it. Ground speed and wind give a band from "
            f"{max(0.0, low) / stall:.2f} to {high / stall:.2f} (two sd either way)."
        )
        return cannot(NAME, why)
    random = noise_of(flying.values)
    how = "least smoothed airspeed after release over the computed stall speed, taken as exact"
    return told(NAME, least / stall, together(air.error_mps, random, GUST_MPS) / stall, how)

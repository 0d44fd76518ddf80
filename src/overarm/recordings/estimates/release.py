"""Pitch and bank at release."""

from __future__ import annotations

import math

import numpy as np

from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.say import cannot, together, told
from overarm.recordings.estimates.strapdown import DRAGGED_RAD, Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.launch import Estimate

PITCH, BANK = "release_pitch_rad", "release_bank_rad"
JERK_RADPS = 0.3  # rate at which a wrist may turn about release, with the error of its time
CARRIED_BANK_RAD = math.radians(1.7)  # what turning round leaves of a false bank, by synthetic recordings
BY_GYRO = "attitude before the throw, carried on by the gyros to release"
BY_CLIMB = ", less what it is too high by the satellite climb"
AS_BELIEVED = "recorded attitude at release, which a throw drags by 5 degrees or more"


def attitude_estimates(taken: Taken, reckoned: Reckoned | None, level: Measured) -> dict[str, Estimate]:
    """Return the estimates of pitch and bank at release.

    ``level``: by how much the believed pitch is too high [rad], as the satellite's climb shows it.
    """
    release = taken.event("release")
    if release is None:
        return {name: cannot(name, "No release was seen.") for name in (PITCH, BANK)}
    if reckoned is not None and reckoned.turned:
        lasts = release.t_s - reckoned.rest.to_s
        common = together(reckoned.drift_radps * lasts, JERK_RADPS * release.error_s, math.radians(0.2))
        return {
            PITCH: told(
                PITCH,
                reckoned.at(release.t_s, reckoned.pitch_rad) - level.value,
                together(common, level.error),
                BY_GYRO + BY_CLIMB if level.value else BY_GYRO,
            ),
            BANK: told(
                BANK,
                reckoned.at(release.t_s, reckoned.bank_rad),
                together(common, taken.bank_error_rad, CARRIED_BANK_RAD),
                BY_GYRO,
            ),
        }
    found = {}
    for name, channel, horizon in (
        (PITCH, "pitch_rad", taken.level_error_rad),
        (BANK, "bank_rad", taken.bank_error_rad),
    ):
        series = taken.series(channel)
        if series is None or not series.t_s[0] <= release.t_s <= series.t_s[-1]:
            found[name] = cannot(name, "The attitude was not recorded, or not through the throw.")
            continue
        value = float(np.interp(release.t_s, series.t_s, series.values))
        error = together(horizon, DRAGGED_RAD, JERK_RADPS * (release.error_s + 0.5 * series.step_s))
        found[name] = told(name, value, error, AS_BELIEVED)
    return found

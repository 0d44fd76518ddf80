"""Airspeed after release: measured, or the speed over the ground with the headwind."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.flight.groups import to_ten_metres
from overarm.recordings.estimates.fuse import Measured
from overarm.recordings.estimates.lag import Lag
from overarm.recordings.estimates.lowpoint import release_height
from overarm.recordings.estimates.satellite import TO_S
from overarm.recordings.estimates.series import Series, at, part, smoothed
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.estimates.throw import Released
from overarm.recordings.estimates.wind import (
    LEAST_AIRSPEED_MPS,
    PROBE_ERROR_MPS,
    heights_m,
    over_height,
    roughness_m,
)
from overarm.recordings.recording import Numbers

SMOOTH_S = 0.25
GROUND_ERROR_MPS = 0.3


class Air(NamedTuple):
    """Airspeed over time, (n,), the error that all of it shares, and whether a probe measured it."""

    t_s: Numbers
    airspeed_mps: Numbers
    error_mps: float
    measured: bool

    def at(self, t_s: Numbers) -> Numbers:
        """Return the airspeed at other times [m/s]."""
        return np.asarray(np.interp(t_s, self.t_s, self.airspeed_mps))


def card_wind(taken: Taken) -> Measured | None:
    """Return the headwind at the height of release from the day card; None without a setup."""
    if taken.setup is None:
        return None
    day, rough = taken.setup.day, roughness_m(taken)
    height = max(release_height(taken).value, 2.0 * rough)
    scale = to_ten_metres(taken.setup) * math.log(height / rough) / math.log(10.0 / rough)
    ahead = scale * math.cos(day.wind_angle_rad.value)
    gusts = 0.22 * abs(day.wind_mps.value * ahead) + 0.15
    return Measured(day.wind_mps.value * ahead, math.hypot(scale * day.wind_mps.spread, gusts))


def ground_speed(taken: Taken, lag: Lag, reckoned: Reckoned | None, at_release: Released) -> Series | None:
    """Return the speed over the ground from release on: reckoned at first, then by satellite."""
    release, sat = taken.event("release"), taken.series("ground_speed_mps")
    if release is None:
        return None
    parts: list[Series] = []
    if reckoned is not None and at_release.ahead is not None:
        speed = reckoned.speed_mps()
        shift = at_release.ahead.value - reckoned.at(release.t_s, speed)
        parts.append(part(Series(reckoned.t_s, speed + shift), release.t_s, release.t_s + TO_S))
    if sat is not None:
        begin = release.t_s + (TO_S + 0.1 if parts else 0.1)
        parts.append(part(Series(sat.t_s - lag.left.value, sat.values), begin, taken.launch.to_s))
    used = [one for one in parts if one.t_s.size]
    if not used:
        return None
    return Series(np.concatenate([one.t_s for one in used]), np.concatenate([one.values for one in used]))


def air_of(
    taken: Taken, lag: Lag, reckoned: Reckoned | None, at_release: Released, wind: Measured | None
) -> Air | None:
    """Return the airspeed from release on; None if nothing shows it.

    ``wind``: the headwind at the height of release, as estimated. Without a probe the speed is that over the
    ground and the wind, which grows with height by the log law; without an estimate the wind of the day card.
    """
    release, probe = taken.event("release"), taken.series("airspeed_mps")
    if release is None:
        return None
    if probe is not None:
        flown = smoothed(part(probe, release.t_s - 0.5, taken.launch.to_s), SMOOTH_S)
        if flown.t_s.size > 3 and float(np.median(flown.values)) > LEAST_AIRSPEED_MPS:
            return Air(flown.t_s, flown.values, PROBE_ERROR_MPS, True)
    over = ground_speed(taken, lag, reckoned, at_release)
    against = wind if wind is not None else card_wind(taken)
    if over is None or against is None:
        return None
    heights = heights_m(taken, over.t_s, release.t_s)
    low = release_height(taken).value
    ahead = over.values + against.value / over_height(heights, low, roughness_m(taken))
    climb = taken.series("climb_mps")
    up = np.zeros(over.t_s.size) if climb is None else at(climb, over.t_s + lag.left.value)
    return Air(over.t_s, np.hypot(ahead, up), math.hypot(against.error, GROUND_ERROR_MPS), False)

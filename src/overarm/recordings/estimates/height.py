"""Height after release: air pressure, vertical satellite speed and the twice integrated vertical force fused.

The force fills in between the samples and through the moment of release; air pressure and satellite hold it
to the truth. Height by air pressure is counted from its mean before the throw.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.estimates.lag import Lag
from overarm.recordings.estimates.satellite import CLIMB_NOISE_MPS
from overarm.recordings.estimates.series import Series, integral, noise_of, part
from overarm.recordings.estimates.strapdown import Reckoned
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.estimates.throw import Released
from overarm.recordings.recording import Numbers

AFTER_S = 6.0
MOST_S = 11.0
STEP_S = 0.02
# Air pressure is counted from one second before the throw.
ZERO_FROM_S, ZERO_TO_S = 1.6, 0.4
# The propeller's wash and the suction of the moving body shift the pressure; own estimate.
WASH_M = 0.12
LEAST_BARO_NOISE_M = 0.05
DRIFT_M = 0.05
# What the reckoned height may lack: speed at release, acceleration and its change; and without forces.
RECKONED = (0.6, 0.35, 0.15)
BLIND = (3.0, 5.0, 4.0)


class Height(NamedTuple):
    """Height above that of release [m] after it, (n,), and the covariance of it over time, (n, n)."""

    t_s: Numbers
    above_release_m: Numbers
    covariance: Numbers
    by: str

    def lowest(self) -> tuple[float, float, float]:
        """Return (when [s], height above release [m], its error [m]) of the lowest point."""
        k = int(np.argmin(self.above_release_m))
        return (
            float(self.t_s[k]),
            float(self.above_release_m[k]),
            math.sqrt(max(0.0, float(self.covariance[k, k]))),
        )


def _columns(since_s: Numbers) -> Numbers:
    """Return what the unknown speed, acceleration and its change add to the height, (n, 3)."""
    return np.stack([since_s, since_s**2 / 2.0, since_s**3 / 6.0], axis=1)


def _slopes(since_s: Numbers) -> Numbers:
    return np.stack([np.ones(since_s.size), since_s, since_s**2 / 2.0], axis=1)


class _Rows(NamedTuple):
    """Measurements, linear in (speed, acceleration, its change, offset of the air pressure)."""

    design: Numbers  # (n, 4)
    left: Numbers  # (n,)
    variance: Numbers  # (n,)


def _baro_rows(taken: Taken, base: Series, release_s: float, reckoned: Reckoned | None) -> _Rows | None:
    baro = taken.series("baro_height_m")
    stroke = taken.event("stroke")
    begin = release_s - 0.4 if stroke is None else stroke.t_s
    if baro is None:
        return None
    before = part(baro, begin - ZERO_FROM_S, begin - ZERO_TO_S)
    after = part(baro, release_s, float(base.t_s[-1]))
    if not before.t_s.size or not after.t_s.size:
        return None
    noise = max(LEAST_BARO_NOISE_M, noise_of(part(baro, begin - 20.0, begin).values))
    raised = 0.0
    if reckoned is not None and reckoned.vertical:
        held = (reckoned.t_s >= reckoned.rest.to_s) & (reckoned.t_s <= release_s)
        raised = float(integral(reckoned.t_s[held], reckoned.up_mps[held])[-1]) if np.any(held) else 0.0
    since = after.t_s - release_s
    heights = after.values - float(np.mean(before.values)) - raised
    design = np.concatenate([_columns(since), np.ones((since.size, 1))], axis=1)
    left = heights - np.interp(after.t_s, base.t_s, base.values)
    return _Rows(design, left, np.full(since.size, noise**2))


def _climb_rows(taken: Taken, speed: Series, release_s: float, lag: Lag) -> _Rows | None:
    climb = taken.series("climb_mps")
    if climb is None:
        return None
    late = part(Series(climb.t_s - lag.left.value, climb.values), release_s + 0.05, float(speed.t_s[-1]))
    if not late.t_s.size:
        return None
    since = late.t_s - release_s
    design = np.concatenate([_slopes(since), np.zeros((since.size, 1))], axis=1)
    pull = np.interp(late.t_s, speed.t_s, np.gradient(speed.values, speed.t_s))
    variance = CLIMB_NOISE_MPS**2 + (lag.left.error * pull) ** 2
    return _Rows(design, late.values - np.interp(late.t_s, speed.t_s, speed.values), variance)


def _window_s(taken: Taken, release_s: float) -> float:
    climb = taken.event("climb")
    wanted = AFTER_S if climb is None else max(AFTER_S, climb.t_s - release_s + 1.0)
    ends = [taken.event("ground"), taken.event("handover")]
    last = min([taken.launch.to_s, *(one.t_s for one in ends if one is not None)])
    return min(wanted, MOST_S, last - release_s)


def height_of(taken: Taken, reckoned: Reckoned | None, lag: Lag, at_release: Released) -> Height | None:
    """Return the height after release; None without a release, or without pressure and vertical force."""
    release = taken.event("release")
    if release is None:
        return None
    lasts = _window_s(taken, release.t_s)
    vertical = reckoned is not None and reckoned.vertical
    if lasts < 0.2 or not (vertical or taken.series("baro_height_m")):
        return None
    t = release.t_s + np.arange(0.0, lasts, STEP_S)
    up = np.zeros(t.size)
    if reckoned is not None and vertical:
        up = np.interp(t, reckoned.t_s, reckoned.up_mps) - reckoned.at(release.t_s, reckoned.up_mps)
    prior = np.array(RECKONED if vertical else BLIND)
    if at_release.up is not None:
        up = up + at_release.up.value
        prior[0] = at_release.up.error
    base = Series(t, integral(t, up))
    rows = (
        _baro_rows(taken, base, release.t_s, reckoned),
        _climb_rows(taken, Series(t, up), release.t_s, lag),
    )
    solved, spread = _solve([one for one in rows if one is not None], prior)
    columns = _columns(t - release.t_s)
    by = " and ".join(
        word
        for word, there in (
            ("vertical force integrated twice", vertical),
            ("height by air pressure, counted from before the throw", rows[0] is not None),
            ("vertical speed by satellite", rows[1] is not None),
        )
        if there
    )
    covariance = columns @ spread[:3, :3] @ columns.T
    return Height(t, base.values + columns @ solved[:3], covariance, by)


def _solve(rows: list[_Rows], prior: Numbers) -> tuple[Numbers, Numbers]:
    """Return the four unknowns and their covariance: least squares with prior standard deviations."""
    information = np.diag(1.0 / np.append(prior, math.hypot(WASH_M, DRIFT_M)) ** 2)
    drive = np.zeros(4)
    for one in rows:
        weighted = one.design / one.variance[:, None]
        information = information + one.design.T @ weighted
        drive = drive + weighted.T @ one.left
    spread = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return spread @ drive, spread

"""Height after release: air pressure, vertical satellite speed and the twice integrated vertical force fused.

The force fills in between the samples and through the moment of release; air pressure and satellite hold it
to the truth. Height by air pressure is counted from its mean before the throw.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.estimates.lag import Lag
from overarm.recordings.estimates.satellite import COMMON_MPS, noise_for
from overarm.recordings.estimates.series import Series, integral, noise_of, part, smoothed, straight
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
# What the reckoned height may lack; and without forces.
STRETCH_S = 0.4
CONSTANT_MPS2 = 0.35
QUIET_MPS2 = 0.15
SHAKEN_SHARE = 0.7
BLIND_SPEED_MPS, BLIND_MPS2 = 3.0, 4.0


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


class _Basis(NamedTuple):
    """What each unknown adds to speed and height over time, (n, k), and how large it may be, (k,).

    The unknowns: the speed at release, a constant acceleration, and one of every stretch of 0.4 s.
    """

    t_s: Numbers
    speed: Numbers
    height: Numbers
    prior: Numbers

    def at(self, t_s: Numbers, rows: Numbers) -> Numbers:
        """Return rows of the basis at other times, (m, k)."""
        return np.stack([np.interp(t_s, self.t_s, column) for column in rows.T], axis=1)


def _basis(t_s: Numbers, speed_error: float, shaken_mps2: Numbers) -> _Basis:
    """Return the unknowns over times (n,); ``shaken_mps2``: how much each stretch may be off, (k - 2,)."""
    stretch = np.minimum(((t_s - t_s[0]) / STRETCH_S).astype(np.int64), shaken_mps2.size - 1)
    acceleration = np.zeros((t_s.size, shaken_mps2.size + 1))
    acceleration[:, 0] = 1.0
    acceleration[np.arange(t_s.size), stretch + 1] = 1.0
    speeds = np.stack([integral(t_s, column) for column in acceleration.T], axis=1)
    speeds = np.concatenate([np.ones((t_s.size, 1)), speeds], axis=1)
    heights = np.stack([integral(t_s, column) for column in speeds.T], axis=1)
    return _Basis(t_s, speeds, heights, np.concatenate([[speed_error, CONSTANT_MPS2], shaken_mps2]))


def _shaken(t_s: Numbers, reckoned: Reckoned | None) -> Numbers:
    """Return how much the mean vertical acceleration of each stretch may be off [m/s2].

    Under power the propeller shakes the board, and sampled slowly it shakes at any rate, however low: the
    mean of a stretch is then known to the size of the shaking.
    """
    count = max(1, int((t_s[-1] - t_s[0]) / STRETCH_S))
    if reckoned is None:
        return np.full(count, BLIND_MPS2)
    down = Series(reckoned.t_s, reckoned.force[2])
    off = np.full(count, QUIET_MPS2)
    for k in range(count):
        middle = float(t_s[0]) + (k + 0.5) * STRETCH_S
        near = part(down, middle - STRETCH_S, middle + STRETCH_S)
        if near.t_s.size > 3:
            off[k] = math.hypot(QUIET_MPS2, SHAKEN_SHARE * straight(near, middle).scatter)
    return off


class _Rows(NamedTuple):
    """Measurements, linear in the unknowns of the basis and the offset of the air pressure."""

    design: Numbers  # (n, k + 1)
    left: Numbers  # (n,)
    variance: Numbers  # (n,)


def _baro_rows(taken: Taken, base: Series, basis: _Basis, reckoned: Reckoned | None) -> _Rows | None:
    baro = taken.series("baro_height_m")
    release_s = float(base.t_s[0])
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
    heights = after.values - float(np.mean(before.values)) - raised
    design = np.concatenate([basis.at(after.t_s, basis.height), np.ones((after.t_s.size, 1))], axis=1)
    left = heights - np.interp(after.t_s, base.t_s, base.values)
    return _Rows(design, left, np.full(after.t_s.size, noise**2))


def _climb_rows(taken: Taken, speed: Series, basis: _Basis, lag: Lag) -> _Rows | None:
    climb = taken.series("climb_mps")
    if climb is None:
        return None
    late = part(
        Series(climb.t_s - lag.left.value, climb.values), float(speed.t_s[0]) + 0.05, float(speed.t_s[-1])
    )
    if not late.t_s.size:
        return None
    design = np.concatenate([basis.at(late.t_s, basis.speed), np.zeros((late.t_s.size, 1))], axis=1)
    smooth = smoothed(speed, 2.0 * STRETCH_S)
    pull = np.interp(late.t_s, smooth.t_s, np.gradient(smooth.values, smooth.t_s))
    variance = noise_for(taken, "climb_mps") ** 2 + COMMON_MPS**2 + (lag.left.error * pull) ** 2
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
    first = BLIND_SPEED_MPS if at_release.up is None else at_release.up.error
    if at_release.up is not None:
        up = up + at_release.up.value
    basis = _basis(t, first, _shaken(t, reckoned if vertical else None))
    base = Series(t, integral(t, up))
    rows = (_baro_rows(taken, base, basis, reckoned), _climb_rows(taken, Series(t, up), basis, lag))
    solved, spread = _solve([one for one in rows if one is not None], basis.prior)
    by = " and ".join(
        word
        for word, there in (
            ("vertical force integrated twice", vertical),
            ("height by air pressure, counted from before the throw", rows[0] is not None),
            ("vertical speed by satellite", rows[1] is not None),
        )
        if there
    )
    covariance = basis.height @ spread[:-1, :-1] @ basis.height.T
    return Height(t, base.values + basis.height @ solved[:-1], covariance, by)


def _solve(rows: list[_Rows], prior: Numbers) -> tuple[Numbers, Numbers]:
    """Return the unknowns and their covariance: least squares with prior standard deviations, (k,)."""
    information = np.diag(1.0 / np.append(prior, math.hypot(WASH_M, DRIFT_M)) ** 2)
    drive = np.zeros(prior.size + 1)
    for one in rows:
        weighted = one.design / one.variance[:, None]
        information = information + one.design.T @ weighted
        drive = drive + weighted.T @ one.left
    spread = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return spread @ drive, spread

"""Wind near the ground: mean wind by the log law, gusts by the Dryden model at low altitude.

Sources: MIL-F-8785C (1980), section 3.7.3.4, figures 10 and 11, and 3.7.1.2 for the spectra, here
in metres; the neutral log law of any text on the surface layer. Derivations in
``docs/theory/wind.md``. Checked in ``tests/verification/test_wind.py`` and ``test_gusts.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.jit import scalar
from overarm.trig import sine_cosine

FOOT_M = 0.3048
REFERENCE_HEIGHT_M = 10.0
# The gust law holds from 10 ft to 1000 ft; outside, the nearer end is used.
GUST_LOWEST_M = 10.0 * FOOT_M
GUST_HIGHEST_M = 1000.0 * FOOT_M
GUST_WIND_HEIGHT_M = 20.0 * FOOT_M
# Frozen gusts drift past a model at rest at least this fast.
SLOWEST_PASSAGE_MPS = 1.0

_ROOT_3 = math.sqrt(3.0)
_ROOT_HALF = math.sqrt(0.5)


class Air(NamedTuple):
    """The air of one launch."""

    density_kgpm3: float
    wind_10m_mps: float  # mean at 10 m
    wind_angle_rad: float  # where it comes from: 0 ahead, pi behind, +pi/2 from the right
    roughness_m: float
    gust_scale: float  # 1: MIL-F-8785C


class GustState(NamedTuple):
    """States of the gust filters, all of unit size whatever the height and the wind."""

    u1: float
    v1: float
    v2: float
    w1: float
    w2: float


class GustPace(NamedTuple):
    """Coefficients of one gust step of a fixed length, at one height and airspeed."""

    along_keep: float
    along_noise: float
    across_keep: float
    across_feed: float
    across_first: float
    across_cross: float
    across_second: float
    down_keep: float
    down_feed: float
    down_first: float
    down_cross: float
    down_second: float


@scalar
def log_law(air: Air) -> float:
    """Return the slope [m/s] of the mean wind over ``ln z``: ``U10/ln(10/z0)``."""
    return air.wind_10m_mps / math.log(REFERENCE_HEIGHT_M / air.roughness_m)


@scalar
def mean_wind(air: Air, height_m: float) -> float:
    """Return the mean wind [m/s] at a height [m] above the ground; 0 at and below z0.

    Equation: ``U = U10 ln(z/z0)/ln(10/z0)``.
    """
    if height_m <= air.roughness_m:
        return 0.0
    return log_law(air) * math.log(height_m / air.roughness_m)


@scalar
def along_wind(air: Air, along_mps: float, across_mps: float) -> tuple[float, float]:
    """Return (x, y) [m/s] in the launch frame of air that moves with and across the mean wind.

    A headwind (angle 0) blows towards -x, a wind from the right (+pi/2) towards -y.
    """
    sine, cosine = sine_cosine(air.wind_angle_rad)
    return -along_mps * cosine + across_mps * sine, -along_mps * sine - across_mps * cosine


@scalar
def _gust_height(height_m: float) -> float:
    return min(GUST_HIGHEST_M, max(GUST_LOWEST_M, height_m))


@scalar
def _shape(height_m: float) -> float:
    """Return ``(0.177 + 0.000823 h)^0.4`` with h in feet."""
    return float(math.pow(0.177 + 0.000823 * (height_m / FOOT_M), 0.4))


@scalar
def gust_sigmas(air: Air, height_m: float) -> tuple[float, float]:
    """Return the rms gust (along and across the wind, vertical) [m/s].

    Equations: ``sigma_w = 0.1 W20``, ``sigma_u = sigma_v = sigma_w/(0.177 + 0.000823 h)^0.4``
    with h in feet, W20 the mean wind at 20 ft; times gust_scale.
    """
    vertical = 0.1 * air.gust_scale * mean_wind(air, GUST_WIND_HEIGHT_M)
    return vertical / _shape(_gust_height(height_m)), vertical


@scalar
def gust_lengths(height_m: float) -> tuple[float, float]:
    """Return the gust scale lengths (along and across, vertical) [m].

    Equations: ``L_w = h``, ``L_u = L_v = h/(0.177 + 0.000823 h)^1.2`` with h in feet.
    """
    height = _gust_height(height_m)
    shape = _shape(height)
    return height / (shape * shape * shape), height


@scalar
def gust_start(n1: float, n2: float, n3: float, n4: float, n5: float) -> GustState:
    """Return a gust state drawn from the steady state by five standard normal numbers."""
    return GustState(n1, n2, 0.5 * (n2 + n3), n4, 0.5 * (n4 + n5))


@scalar
def double_pole(reach: float) -> tuple[float, float, float, float, float]:
    """Return the exact step of ``x1' = -x1 + w``, ``x2' = -x2 + x1`` over a reduced time.

    ``reach`` is ``V dt/L``. Returns (keep, feed, first, cross, second):
    ``x1 <- keep x1 + first n1``, ``x2 <- keep x2 + feed x1 + cross n1 + second n2``, where the
    noise has the covariance ``P - F P F'`` and P = ((1, 1/2), (1/2, 1/2)) is the steady state.
    """
    keep = math.exp(-reach)
    square = keep * keep
    q11 = 1.0 - square
    q12 = 0.5 - square * (reach + 0.5)
    q22 = 0.5 - square * (reach * reach + reach + 0.5)
    first = math.sqrt(q11)
    cross = q12 / first
    return keep, keep * reach, first, cross, math.sqrt(max(0.0, q22 - cross * cross))


@scalar
def gust_pace(height_m: float, airspeed_mps: float, dt_s: float) -> GustPace:
    """Return the coefficients of a gust step of ``dt_s`` [s] at a height [m] and airspeed [m/s].

    They change slowly and need not be renewed at each step.
    """
    across_m, down_m = gust_lengths(height_m)
    passed_m = max(SLOWEST_PASSAGE_MPS, airspeed_mps) * dt_s
    keep, feed, first, cross, second = double_pole(passed_m / across_m)
    w_keep, w_feed, w_first, w_cross, w_second = double_pole(passed_m / down_m)
    return GustPace(keep, first, keep, feed, first, cross, second, w_keep, w_feed, w_first, w_cross, w_second)


@scalar
def gust_advance(
    pace: GustPace, state: GustState, n1: float, n2: float, n3: float, n4: float, n5: float
) -> GustState:
    """Return the gust state one step later, driven by five standard normal numbers."""
    return GustState(
        pace.along_keep * state.u1 + pace.along_noise * n1,
        pace.across_keep * state.v1 + pace.across_first * n2,
        pace.across_keep * state.v2
        + pace.across_feed * state.v1
        + pace.across_cross * n2
        + pace.across_second * n3,
        pace.down_keep * state.w1 + pace.down_first * n4,
        pace.down_keep * state.w2 + pace.down_feed * state.w1 + pace.down_cross * n4 + pace.down_second * n5,
    )


@scalar
def gust_velocity(air: Air, state: GustState, height_m: float) -> tuple[float, float, float]:
    """Return the gust (x, y, z down) [m/s] in the launch frame.

    Equation: ``u = sigma x1``, ``v = sigma (sqrt(3) x1 + (1 - sqrt(3)) x2)/sqrt(2)``, the same for
    the vertical: filters of MIL-F-8785C with unit variance. u is along the mean wind.
    """
    level, vertical = gust_sigmas(air, height_m)
    across = _ROOT_HALF * (_ROOT_3 * state.v1 + (1.0 - _ROOT_3) * state.v2)
    down = _ROOT_HALF * (_ROOT_3 * state.w1 + (1.0 - _ROOT_3) * state.w2)
    x, y = along_wind(air, level * state.u1, level * across)
    return x, y, vertical * down

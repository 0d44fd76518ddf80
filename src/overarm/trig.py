"""Sine, cosine and inverse tangent, cheap enough for every step of every launch.

Kernels without a call and almost without a branch, the same on every machine, whatever its
mathematical library. Largest errors seen against the C library in extended precision
(``tests/verification/test_trig.py``): 1.8e-16 (sine, cosine up to pi, 4e-17 more a radian beyond) and
4.7e-16 rad (inverse tangent, all round, for sizes of 1e-150 to 1e150).

Source of the polynomials: FDLIBM 5.3, ``k_sin.c``, ``k_cos.c`` and ``s_atan.c``, Sun Microsystems
(1993); coefficients from memory, held by the errors above. Reduction of the inverse tangent to
|t| <= tan(pi/8): Cody and Waite, *Software Manual for the Elementary Functions* (1980), chapter 11.
"""

from __future__ import annotations

import math

from overarm.jit import scalar

_TAN_EIGHTH = math.sqrt(2.0) - 1.0
_PER_QUARTER = 2.0 / math.pi
_QUARTER = 0.5 * math.pi


@scalar
def _sine(x: float, z: float) -> float:
    """Return the sine of |x| <= pi/4, z = x^2."""
    top = 1.58969099521155010221e-10 * z - 2.50507602534068634195e-08
    top = top * z + 2.75573137070700676789e-06
    top = top * z - 1.98412698298579493134e-04
    top = top * z + 8.33333333332248946124e-03
    return x + x * z * (top * z - 1.66666666666666324348e-01)


@scalar
def _cosine(z: float) -> float:
    """Return the cosine of |x| <= pi/4, z = x^2."""
    top = -1.13596475577881948265e-11 * z + 2.08757232129817482790e-09
    top = top * z - 2.75573143513906633035e-07
    top = top * z + 2.48015872894767294178e-05
    top = top * z - 1.38888888888741095749e-03
    top = top * z + 4.16666666666666019037e-02
    return 1.0 - 0.5 * z + z * z * top


@scalar
def sine_cosine(angle_rad: float) -> tuple[float, float]:
    """Return (sine, cosine) of an angle [rad]; the error grows by 4e-17 a radian."""
    turns = math.floor(angle_rad * _PER_QUARTER + 0.5)
    x = angle_rad - turns * _QUARTER
    z = x * x
    sine, cosine = _sine(x, z), _cosine(z)
    quarter = turns - 4.0 * math.floor(0.25 * turns)
    if quarter == 0.0:
        return sine, cosine
    if quarter == 1.0:
        return cosine, -sine
    if quarter == 2.0:
        return -sine, -cosine
    return -cosine, sine


@scalar
def inverse_tangent(y: float, x: float) -> float:
    """Return the angle [rad] of the point (x, y), -pi to pi, as ``math.atan2``; 0 for (0, 0)."""
    across, along = abs(y), abs(x)
    steep = across > along
    high, low = (across, along) if steep else (along, across)
    if high == 0.0:
        return 0.0
    far = low > _TAN_EIGHTH * high
    t = (low - high) / (high + low) if far else low / high
    z = t * t
    w = z * z
    even = 1.62858201153657823623e-02 * w + 4.97687799461593236017e-02
    even = even * w + 6.66107313738753120669e-02
    even = even * w + 9.09088713343650656196e-02
    even = even * w + 1.42857142725034663711e-01
    even = even * w + 3.33333333333329318027e-01
    odd = -3.65315727442169155270e-02 * w - 5.83357013379057348645e-02
    odd = odd * w - 7.69187620504482999495e-02
    odd = odd * w - 1.11111104054623557880e-01
    odd = odd * w - 1.99999999998764832476e-01
    angle = t - t * (z * even + w * odd)
    if far:
        angle += 0.25 * math.pi
    if steep:
        angle = _QUARTER - angle
    if x < 0.0:
        angle = math.pi - angle
    return -angle if y < 0.0 else angle

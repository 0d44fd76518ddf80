"""Exponential and natural logarithm by arithmetic alone, without a call, for many launches side by side.

Range and errors are those that the launches need: largest relative error of the exponential 2e-14 within
+-20 and 3e-12 within +-40, error of the logarithm 3e-16 (1 + ln(x)) from 1 to 2^32
(``tests/verification/test_exponent.py``).

Sources: argument reduction by powers of two, Cody and Waite, *Software Manual for the Elementary
Functions* (1980), chapters 5 and 6; series of exp and artanh, Abramowitz and Stegun, *Handbook of
Mathematical Functions* (1964), equations 4.2.1 and 4.6.22.
"""

from __future__ import annotations

import math

from overarm.jit import scalar

MOST = 40.0
_LN_2 = math.log(2.0)
_ROOT_HALF = math.sqrt(0.5)


@scalar
def exponential(x: float) -> float:
    """Return ``exp(x)``; beyond +-40 that of +-40.

    The series up to the thirteenth power of x/64, squared six times.
    """
    r = min(MOST, max(-MOST, x)) / 64.0
    total = r / 6227020800.0 + 1.0 / 479001600.0
    total = total * r + 1.0 / 39916800.0
    total = total * r + 1.0 / 3628800.0
    total = total * r + 1.0 / 362880.0
    total = total * r + 1.0 / 40320.0
    total = total * r + 1.0 / 5040.0
    total = total * r + 1.0 / 720.0
    total = total * r + 1.0 / 120.0
    total = total * r + 1.0 / 24.0
    total = total * r + 1.0 / 6.0
    total = total * r + 0.5
    total = total * r + 1.0
    total = total * r + 1.0
    total *= total
    total *= total
    total *= total
    total *= total
    total *= total
    return total * total


@scalar
def logarithm(x: float) -> float:
    """Return ``ln(x)`` of 1 <= x < 2^32.

    Halved until it lies within sqrt(1/2) and sqrt(2), then ``ln(x) = 2 artanh((x - 1)/(x + 1))``.
    """
    halvings = 0.0
    if x >= 65536.0:
        x, halvings = x / 65536.0, 16.0
    if x >= 256.0:
        x, halvings = x / 256.0, halvings + 8.0
    if x >= 16.0:
        x, halvings = x / 16.0, halvings + 4.0
    if x >= 4.0:
        x, halvings = x / 4.0, halvings + 2.0
    if x >= 2.0:
        x, halvings = x / 2.0, halvings + 1.0
    if x * _ROOT_HALF >= 1.0:
        x, halvings = x / 2.0, halvings + 1.0
    t = (x - 1.0) / (x + 1.0)
    z = t * t
    total = z / 19.0 + 1.0 / 17.0
    total = total * z + 1.0 / 15.0
    total = total * z + 1.0 / 13.0
    total = total * z + 1.0 / 11.0
    total = total * z + 1.0 / 9.0
    total = total * z + 1.0 / 7.0
    total = total * z + 1.0 / 5.0
    total = total * z + 1.0 / 3.0
    return halvings * _LN_2 + 2.0 * (t + t * z * total)

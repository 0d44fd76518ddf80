"""Random numbers that depend only on (seed, stream, launch, block).

A counter-based generator has no state to carry along, so launch ``i`` sees the same numbers at any
worker count, chunk size or order, after a resume, and on another processor.

Source: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC'11 (2011),
doi 10.1145/2063384.2063405 (Philox4x32 with 10 rounds). Normal numbers by the inverse of the
normal distribution: Wichura, "Algorithm AS 241", Applied Statistics 37 (1988) 477.
"""

from __future__ import annotations

import math

import numpy as np

from overarm.jit import scalar

# Named streams. A new stream gets a new number; the old ones keep theirs.
STREAM_UNKNOWN = 0
STREAM_THROW = 1
STREAM_WIND = 2
STREAM_SENSOR = 3
STREAM_SAMPLING = 4

_MULTIPLIER_0 = np.uint64(0xD2511F53)
_MULTIPLIER_1 = np.uint64(0xCD9E8D57)
_WEYL_0 = np.uint64(0x9E3779B9)
_WEYL_1 = np.uint64(0xBB67AE85)
_LOW = np.uint64(0xFFFFFFFF)
_SHIFT = np.uint64(32)
_TO_UNIT = 1.0 / 4294967296.0

Block = tuple[float, float, float, float]


@scalar
def philox(
    block: int, launch: int, stream: int, seed: int
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """Return four 32-bit words (as 64-bit integers) of Philox4x32-10.

    The counter is (block, launch low word, launch high word, stream); the key is the seed's two
    words. All arguments are taken modulo their width.
    """
    c0 = np.uint64(block) & _LOW
    c1 = np.uint64(launch) & _LOW
    c2 = np.uint64(launch) >> _SHIFT
    c3 = np.uint64(stream) & _LOW
    k0 = np.uint64(seed) & _LOW
    k1 = np.uint64(seed) >> _SHIFT
    for _ in range(10):
        p0 = _MULTIPLIER_0 * c0
        p1 = _MULTIPLIER_1 * c2
        c0, c2 = (p1 >> _SHIFT) ^ c1 ^ k0, (p0 >> _SHIFT) ^ c3 ^ k1
        c1, c3 = p1 & _LOW, p0 & _LOW
        k0 = (k0 + _WEYL_0) & _LOW
        k1 = (k1 + _WEYL_1) & _LOW
    return c0, c1, c2, c3


@scalar
def uniforms(block: int, launch: int, stream: int, seed: int) -> Block:
    """Return four independent uniform numbers in the open interval (0, 1)."""
    a, b, c, d = philox(block, launch, stream, seed)
    return (
        (float(a) + 0.5) * _TO_UNIT,
        (float(b) + 0.5) * _TO_UNIT,
        (float(c) + 0.5) * _TO_UNIT,
        (float(d) + 0.5) * _TO_UNIT,
    )


@scalar
def _central(q: float) -> float:
    """AS 241 for |u - 1/2| <= 0.425."""
    r = 0.180625 - q * q
    top = 2.5090809287301226727e3 * r + 3.3430575583588128105e4
    top = top * r + 6.7265770927008700853e4
    top = top * r + 4.5921953931549871457e4
    top = top * r + 1.3731693765509461125e4
    top = top * r + 1.9715909503065514427e3
    top = top * r + 1.3314166789178437745e2
    top = top * r + 3.3871328727963666080e0
    low = 5.2264952788528545610e3 * r + 2.8729085735721942674e4
    low = low * r + 3.9307895800092710610e4
    low = low * r + 2.1213794301586595867e4
    low = low * r + 5.3941960214247511077e3
    low = low * r + 6.8718700749205790830e2
    low = low * r + 4.2313330701600911252e1
    return q * top / (low * r + 1.0)


@scalar
def _tail(share: float) -> float:
    """AS 241 for a tail of 1.4e-11 to 0.075; smaller ones do not occur with 32-bit words."""
    r = math.sqrt(-math.log(share)) - 1.6
    top = 7.74545014278341407640e-4 * r + 2.27238449892691845833e-2
    top = top * r + 2.41780725177450611770e-1
    top = top * r + 1.27045825245236838258e0
    top = top * r + 3.64784832476320460504e0
    top = top * r + 5.76949722146069140550e0
    top = top * r + 4.63033784615654529590e0
    top = top * r + 1.42343711074968357734e0
    low = 1.05075007164441684324e-9 * r + 5.47593808499534494600e-4
    low = low * r + 1.51986665636164571966e-2
    low = low * r + 1.48103976427480074590e-1
    low = low * r + 6.89767334985100004550e-1
    low = low * r + 1.67638483018380384940e0
    low = low * r + 2.05319162663775882187e0
    return top / (low * r + 1.0)


@scalar
def normal_quantile(u: float) -> float:
    """Return the standard normal quantile of u in [2**-33, 1 - 2**-33]."""
    q = u - 0.5
    if abs(q) <= 0.425:
        return _central(q)
    return -_tail(u) if q < 0.0 else _tail(1.0 - u)


@scalar
def normals(block: int, launch: int, stream: int, seed: int) -> Block:
    """Return four independent standard normal numbers."""
    u0, u1, u2, u3 = uniforms(block, launch, stream, seed)
    return normal_quantile(u0), normal_quantile(u1), normal_quantile(u2), normal_quantile(u3)


@scalar
def normal(block: int, launch: int, stream: int, seed: int) -> float:
    """Return one standard normal number: the first of `normals`."""
    word, _, _, _ = philox(block, launch, stream, seed)
    return normal_quantile((float(word) + 0.5) * _TO_UNIT)


def log_spread(value: float, spread: float) -> float:
    """Return the spread of the logarithm of a positive quantity: ``sqrt(ln(1 + (s/m)^2))``.

    Source: moments of the lognormal distribution, Johnson, Kotz and Balakrishnan, *Continuous
    Univariate Distributions*, vol. 1, 2nd ed. (1994), chapter 14.
    """
    return math.sqrt(math.log1p((spread / value) ** 2))

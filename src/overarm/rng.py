"""Random numbers that depend only on (seed, stream, launch, block).

A counter-based generator has no state to carry along, so launch ``i`` sees the same numbers at any
worker count, chunk size or order, after a resume, and on another processor.

Source: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC'11 (2011),
doi 10.1145/2063384.2063405 (Philox4x32 with 10 rounds). Normals by Box and Muller, Ann. Math.
Stat. 29 (1958) 610.
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

_MULTIPLIER_0 = np.uint64(0xD2511F53)
_MULTIPLIER_1 = np.uint64(0xCD9E8D57)
_WEYL_0 = np.uint64(0x9E3779B9)
_WEYL_1 = np.uint64(0xBB67AE85)
_LOW = np.uint64(0xFFFFFFFF)
_SHIFT = np.uint64(32)
_TO_UNIT = 1.0 / 4294967296.0

Block = tuple[float, float, float, float]


@scalar
def philox(block: int, launch: int, stream: int, seed: int) -> tuple[int, int, int, int]:
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
def normals(block: int, launch: int, stream: int, seed: int) -> Block:
    """Return four independent standard normal numbers."""
    u0, u1, u2, u3 = uniforms(block, launch, stream, seed)
    r0 = math.sqrt(-2.0 * math.log(u0))
    r1 = math.sqrt(-2.0 * math.log(u2))
    a0 = 2.0 * math.pi * u1
    a1 = 2.0 * math.pi * u3
    return r0 * math.cos(a0), r0 * math.sin(a0), r1 * math.cos(a1), r1 * math.sin(a1)

"""Random numbers of a synthetic recording: each use has a stream of its own, by name."""

from __future__ import annotations

import zlib

import numpy as np


def stream(seed: int, launch: int, name: str) -> np.random.Generator:
    """Return the generator of one use, such as "carry": it depends on (seed, launch, name) alone.

    A use that draws more or fewer numbers than before changes no other use.
    """
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(launch, zlib.crc32(name.encode()))))

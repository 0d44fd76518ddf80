"""Toys for the search of rare outcomes: inputs without an aeroplane, whose probabilities are known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from overarm.flight.draw import Input, Rules, draw
from overarm.odds.mixture import Floats, Ints
from overarm.odds.rare_range import Space

INPUTS = 20
BASE = np.zeros(1, [("nothing", np.float64)])


def toy(happens: Callable[[Floats], Floats], seed: int, *, blind: bool = False) -> Space:
    """Return a space in which it happens where a function of the scores is below zero.

    A blind one tells nothing of how near a launch came.
    """
    rules = Rules.of([Input(f"input {k}", "varies") for k in range(INPUTS)], [])

    def near(scores: Floats, numbers: Ints) -> tuple[Floats, Ints]:
        left = happens(scores)
        far = np.ones(len(left)) if blind else left
        return np.where(left < 0.0, -np.inf, far), np.zeros(len(left), dtype=np.int64)

    names = tuple(item.name for item in rules.inputs)
    return Space(names, lambda first, n: draw(BASE, rules, n, seed, first)[1], near)

"""Launches flown again with one thing changed, the same throws and gusts: bands and tornado bars.

The worlds and throws are those of a campaign of the same seed, some throws of each world. A changed
campaign has the same numbers launch by launch, so that differences are paired.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import CHUNK, Inputs, fly_numbered
from overarm.flight.draw import WORLD_SIZE, draw, draw_given
from overarm.odds.assess import is_clean
from overarm.odds.intervals import Worlds
from overarm.odds.layers import OddsSpread, spread_of_odds

Floats = NDArray[np.float64]
Clean = NDArray[np.bool_]

GROUPS = 20  # parts that are left out in turn to see how sure a figure is


@dataclass(frozen=True, slots=True)
class RerunWorlds:
    """The worlds that are flown again and again: what we do not know of each, and its throws."""

    inputs: Inputs
    seed: int
    scores: Floats  # of the unknown inputs, shape (n_world, n_unknown)


def rerun_worlds(inputs: Inputs, worlds: int, seed: int) -> RerunWorlds:
    """Return the first worlds of the campaign of this seed."""
    columns = inputs.rules.layer == 0
    one = draw(inputs.base, inputs.rules, worlds * WORLD_SIZE, seed)[1][::WORLD_SIZE]
    return RerunWorlds(inputs, seed, np.ascontiguousarray(one[:, columns]))


def fly_given(
    inputs: Inputs,
    unknown: Floats,
    numbers: NDArray[np.int64],
    seed: int,
    tell: Callable[[int], None],
) -> Clean:
    """Fly given worlds with given throws, chunk by chunk; return which launches were clean.

    Parameters: scores of the unknown inputs, shape (n, n_unknown); numbers of the throws, shape (n,);
    ``tell`` hears of how many launches each chunk was.
    """
    clean = np.empty(len(numbers), dtype=np.bool_)
    for k in range(0, len(numbers), CHUNK):
        part = slice(k, k + CHUNK)
        records = draw_given(inputs.base, inputs.rules, unknown[part], seed, numbers[part])
        clean[part] = is_clean(fly_numbered(inputs, records, seed, numbers[part]))
        tell(len(records))
    return clean


def fly_worlds(rerun: RerunWorlds, scores: Floats, throws: int, tell: Callable[[int], None]) -> Clean:
    """Fly the first worlds with other scores and their own first throws; shape (n_world, throws)."""
    worlds = len(scores)
    numbers = (WORLD_SIZE * np.arange(worlds)[:, None] + np.arange(throws)).reshape(-1)
    clean = fly_given(rerun.inputs, np.repeat(scores, throws, axis=0), numbers, rerun.seed, tell)
    return clean.reshape(worlds, throws)


def spread_of(clean: Clean) -> OddsSpread:
    """Return the odds over the worlds, the noise of few throws a world taken out."""
    throws = np.full(len(clean), float(clean.shape[1]))
    return spread_of_odds(Worlds(clean.sum(axis=1).astype(np.float64), throws))


def band_points(clean: Clean) -> float:
    """Return the width of the 5 to 95 % band of the odds over the worlds, in points of percent."""
    spread = spread_of(clean)
    return 100.0 * (spread.p95 - spread.p5)


class Gain(NamedTuple):
    """By how much a band narrows, in points, with one standard error."""

    then_points: float
    points: float
    error_points: float


def band_gain(now: Clean, then: Clean) -> Gain:
    """Return how much narrower the band is; both flown in the same worlds with the same throws.

    The error is a jackknife over groups of worlds, ``(g - 1)/g sum (x_i - mean)^2``.
    Source: B. Efron & C. Stein (1981), Ann. Stat. 9, 586.
    """
    place = np.arange(len(now)) % GROUPS
    each = np.array([band_points(now[place != k]) - band_points(then[place != k]) for k in range(GROUPS)])
    error = float(np.sqrt((GROUPS - 1.0) / GROUPS * np.sum((each - each.mean()) ** 2)))
    narrow = band_points(then)
    return Gain(narrow, band_points(now) - narrow, error)


class Shift(NamedTuple):
    """Change of the odds in points, with one standard error, worlds paired."""

    points: float
    error_points: float


def shift_of(now: Clean, then: Clean) -> Shift:
    """Return how the odds move from one flight of the worlds to another."""
    each = 100.0 * (then.mean(axis=1) - now.mean(axis=1))
    return Shift(float(each.mean()), float(each.std(ddof=1)) / len(each) ** 0.5)

"""The wind rose: odds of a clean launch by launch direction, with the wind and the obstacles turned."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from overarm.errors import Cancelled
from overarm.flight.campaign import Inputs, run
from overarm.flight.outcomes import Outcome
from overarm.odds.assess import clean_share, is_clean
from overarm.odds.intervals import Interval
from overarm.odds.paired import paired
from overarm.plan.result import Rose

DIRECTIONS = 16
TODAY = DIRECTIONS // 2  # place of today's direction in the list
LEAST_GAIN_SHARE = 0.01
# The best of many is compared, so each comparison is held to its part of 5 % (Bonferroni).
LEVEL = 1.0 - 0.05 / (DIRECTIONS - 1)

Floats = NDArray[np.float64]


def directions() -> Floats:
    """Return the launch directions looked at [rad], from half a turn to the left on; today's is 0."""
    return 2.0 * math.pi * (np.arange(DIRECTIONS) - TODAY) / DIRECTIONS


def turned_walls(walls: Floats, turn_rad: float) -> Floats:
    """Return walls (n, 5) as seen by somebody who launches this much further to the right [rad]."""
    cosine, sine = math.cos(turn_rad), math.sin(turn_rad)
    turned = walls.copy()
    for x, y in ((0, 1), (2, 3)):
        turned[:, x] = walls[:, x] * cosine + walls[:, y] * sine
        turned[:, y] = walls[:, y] * cosine - walls[:, x] * sine
    return np.ascontiguousarray(turned)


def turned(inputs: Inputs, turn_rad: float) -> Inputs:
    """Return the inputs for a launch line turned to the right [rad]: wind and walls turn the other way."""
    base = inputs.base.copy()
    base["air"]["wind_angle_rad"] -= turn_rad
    return dataclasses.replace(inputs, base=base, obstacles=turned_walls(inputs.obstacles, turn_rad))


def _flown(
    inputs: Inputs, launches: int, seed: int, cancelled: Callable[[], bool] | None
) -> NDArray[np.void]:
    parts = [chunk.table for chunk in run(inputs, launches, seed, cancelled=cancelled)]
    if sum(len(part) for part in parts) < launches:
        raise Cancelled
    return np.concatenate(parts)


def _said(best_rad: float, gain: Interval, odds: tuple[Interval, ...]) -> str:
    from overarm.odds.format import percent

    today, worst = odds[TODAY], min(odds, key=lambda item: item.share)
    if best_rad == 0.0:
        return (
            f"No other direction is clearly better than today's ({percent(today)} clean); "
            f"the worst gives {percent(worst)}."
        )
    side = "right" if best_rad > 0.0 else "left"
    points = round(100.0 * gain.share)
    return (
        f"Turn {abs(math.degrees(best_rad)):.0f} deg to the {side}: +{points} points "
        f"({100.0 * gain.low:+.0f} to {100.0 * gain.high:+.0f})."
    )


def rose_of(
    inputs: Inputs,
    launches: int,
    seed: int,
    *,
    progress: Callable[[int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Rose:
    """Return the odds by launch direction, flown with the same random numbers in every direction.

    ``progress`` is told how many directions are done. Raises Cancelled.
    """
    angles = directions()
    tables = []
    for k, angle in enumerate(angles):
        tables.append(_flown(turned(inputs, float(angle)), launches, seed, cancelled))
        if progress is not None:
            progress(k + 1)
    odds = tuple(clean_share(table) for table in tables)
    today = tables[TODAY]
    best = max(range(DIRECTIONS), key=lambda k: (odds[k].share, -abs(float(angles[k]))))
    found = paired(is_clean(today), is_clean(tables[best]), today["world"], LEVEL)
    clear = best != TODAY and found.clear and found.share >= LEAST_GAIN_SHARE
    best_rad = float(angles[best]) if clear else 0.0
    gain = Interval(found.share, found.low, found.high, LEVEL)
    air = inputs.base["air"]
    headwind = float(air["wind_10m_mps"][0]) * np.cos(float(air["wind_angle_rad"][0]) - angles)
    struck = np.array([float(np.mean(table["outcome"] == Outcome.STRUCK_OBSTACLE)) for table in tables])
    return Rose(angles, odds, headwind, struck, best_rad, gain, _said(best_rad, gain, odds))

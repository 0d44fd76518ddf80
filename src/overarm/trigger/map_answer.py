"""The level-dwell map as JSON: for each level and dwell what happened, with its exact intervals."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from overarm.odds.intervals import exact
from overarm.recordings.recording import Numbers
from overarm.trigger.count import Counts, Whole
from overarm.trigger.poisson import HOUR_S, count_limits

DIGITS = 6
Limits = Callable[[int], tuple[float, float]]
Grid = list[list[float | None]]


def map_answer(counts: Counts, self_start_rad: Numbers) -> dict[str, Any]:
    """Return a map as JSON-ready data; null where nothing was listened to, or there was no gesture.

    ``self_start_rad``: shape (levels,), nose-up angle that fires at rest; inf where none does. Sources of the
    intervals: `overarm.trigger.poisson.count_limits` and `overarm.odds.intervals.exact`.
    """
    carried = bool(np.any(counts.carry_s > 0.0))
    return {
        "levels_mps2": [round(float(x), DIGITS) for x in counts.levels_mps2],
        "dwells_s": [round(float(x), DIGITS) for x in counts.dwells_s],
        "self_start_rad": _known(self_start_rad),
        "carry_longest_s": _known(counts.carry_longest_s) if carried else None,
        "shortest_s": _known(counts.gesture_longest_s.min(axis=0)) if counts.gestures else None,
        **_false(counts),
        **_in_hundred("missed", counts.missed, counts.gestures),
        **_in_hundred("early", counts.early, counts.gestures),
    }


def _known(values: Numbers) -> list[float | None]:
    return [round(float(x), DIGITS) if np.isfinite(x) else None for x in values]


def _bounds(counted: Whole, limits: Limits) -> tuple[Numbers, Numbers]:
    """Return the lower and the upper limit of each count; each different count is worked out once."""
    different, place = np.unique(counted, return_inverse=True)
    found = np.array([limits(int(one)) for one in different])
    low, high = found[:, 0][place], found[:, 1][place]
    return low.reshape(counted.shape), high.reshape(counted.shape)


def _false(counts: Counts) -> dict[str, Grid]:
    """Return false starts an hour with their limits; null where it never listened."""
    hours = np.where(counts.carry_s > 0.0, counts.carry_s / HOUR_S, np.nan)
    low, high = _bounds(counts.false, count_limits)
    return {
        "false_per_hour": _grid(counts.false / hours),
        "false_low_per_hour": _grid(low / hours),
        "false_high_per_hour": _grid(high / hours),
    }


def _in_hundred(what: str, counted: Whole, of: int) -> dict[str, Grid | None]:
    """Return how many of a hundred gestures, with the limits; all null without a gesture."""
    names = (f"{what}_per_hundred", f"{what}_low_per_hundred", f"{what}_high_per_hundred")
    if not of:
        return dict.fromkeys(names)
    low, high = _bounds(counted, lambda seen: exact(seen, of)[1:3])
    return {name: _grid(100.0 * grid) for name, grid in zip(names, (counted / of, low, high), strict=True)}


def _grid(values: Numbers) -> Grid:
    return [_known(line) for line in values]

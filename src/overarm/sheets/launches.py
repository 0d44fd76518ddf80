"""Launches flown for the sheet alone: sampled paths, and the small campaigns of the odds carpet."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from overarm.flight.campaign import Inputs

CELL_LAUNCHES = 200
CORNER_LAUNCHES = 2000
TRACED = 120
LEAST_STRETCH_SHARE = 0.05
# A hand lower than that in the roughness: the winds of the carpet are then those a little above it.
LEAST_HAND_SHARE = 0.1


def carpet_cell(
    inputs: Inputs,
    seed: int,
    *,
    hand_share: float,
    line_speed_mps: float | None,
    launches: int = CELL_LAUNCHES,
) -> Callable[[float, float], NDArray[np.void]]:
    """Return `cell(speed, headwind)`: the summaries of the launches at one speed and one wind.

    Parameters: `hand_share` mean wind at the hand over that at 10 m [-]; `line_speed_mps` the usual
    speed off the line for a line launch, whose stretch is scaled with the speed asked for, else None;
    `launches` how many are flown at each.
    The other inputs vary as ever, with the same numbers in each cell.
    """
    from overarm.flight.campaign import run
    from overarm.flight.inputs import without_rules

    wind = ("air.wind_10m_mps", "air.wind_angle_rad")
    moved = "hand.speed_mps" if line_speed_mps is None else "line.stretch_m"
    fixed = without_rules(inputs, (moved, *wind))

    def cell(speed_mps: float, headwind_mps: float) -> NDArray[np.void]:
        base = fixed.base.copy()
        if line_speed_mps is None:
            base["hand"]["speed_mps"] = speed_mps
        else:
            base["line"]["stretch_m"] *= max(speed_mps / line_speed_mps, LEAST_STRETCH_SHARE)
        base["air"]["wind_10m_mps"] = abs(headwind_mps) / max(hand_share, LEAST_HAND_SHARE)
        base["air"]["wind_angle_rad"] = 0.0 if headwind_mps >= 0 else math.pi
        chunks = run(dataclasses.replace(fixed, base=base), launches, seed)
        return np.concatenate([chunk.table for chunk in chunks])

    return cell


def carpet_share(
    inputs: Inputs,
    seed: int,
    *,
    hand_share: float,
    line_speed_mps: float | None,
    launches: int = CELL_LAUNCHES,
) -> Callable[[float, float], float]:
    """Return `share(speed, headwind)`: the share of clean launches there, as `carpet_cell` flies them."""
    from overarm.flight.outcomes import Outcome

    cell = carpet_cell(inputs, seed, hand_share=hand_share, line_speed_mps=line_speed_mps, launches=launches)

    def share(speed_mps: float, headwind_mps: float) -> float:
        return float(np.mean(cell(speed_mps, headwind_mps)["outcome"] == int(Outcome.CLEAN)))

    return share


def sample_launches(
    inputs: Inputs, seed: int, count: int = TRACED
) -> tuple[NDArray[np.void], list[dict[str, NDArray[np.float64]]]]:
    """Return the summaries and the samples of the first `count` launches of a campaign."""
    from overarm.flight.campaign import run, trace_launch

    table = np.concatenate([chunk.table for chunk in run(inputs, count, seed)])
    return table, [trace_launch(inputs, seed, launch) for launch in range(count)]

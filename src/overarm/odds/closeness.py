"""How near a launch came to an outcome: a figure that steers a search for rare launches.

It only steers: whether a launch had the outcome is said by the outcome itself. Smaller is nearer.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from overarm.flight.outcomes import Outcome
from overarm.flight.verdict import LONG_STALL_S

Table = NDArray[np.void]
Floats = NDArray[np.float64]

FAR = 1e3
HAPPENED = 0.0
KINDS = 4
STALL_IN_METRES = 8.0  # a second of stall counts as so many metres of height: both must come together


def _hand(table: Table) -> Floats:
    """Time from a clear hand to the first turn [s]."""
    both = (table["first_spin_s"] > HAPPENED) & (table["clear_s"] > HAPPENED)
    return np.where(both, table["first_spin_s"] - table["clear_s"], FAR)


def _height(table: Table) -> Floats:
    """Lowest height after release [m]."""
    return np.where(table["release_s"] > HAPPENED, table["low_point_m"], FAR)


def _stall(table: Table) -> Floats:
    """Height left and time short of a long stall, whichever is more [m]."""
    short = STALL_IN_METRES * (LONG_STALL_S - table["stall_s"])
    return np.maximum(_height(table), short)


_CLOSENESS: dict[Outcome, Callable[[Table], Floats]] = {
    Outcome.HAND_AT_RISK: _hand,
    Outcome.NO_START: lambda table: table["longest_above_s"].astype(np.float64),
    Outcome.POWER_LOST: lambda table: table["lowest_volts_v"].astype(np.float64),
    Outcome.ROLLED_OVER: lambda table: -table["max_bank_rad"].astype(np.float64),
    Outcome.STALLED: _stall,
    Outcome.STRUCK_OBSTACLE: lambda table: table["obstacle_gap_m"].astype(np.float64),
    Outcome.GROUNDED: _height,
    Outcome.MUSHED: lambda table: table["top_height_m"].astype(np.float64),
    Outcome.DIPPED: _height,
    Outcome.OVER_HEIGHT: lambda table: -table["top_height_m"].astype(np.float64),
}


def closeness(outcome: Outcome, table: Table) -> Floats:
    """Return how near each launch came to an outcome, shape (n,); minus infinity where it happened.

    Outcomes that come out of the blue (a false start, a line that sticks) have no such figure: all
    launches without them are equally far.
    """
    near = _CLOSENESS[outcome](table) if outcome in _CLOSENESS else np.full(len(table), FAR)
    return np.where(table["outcome"] == outcome, -np.inf, near)


def kind_of(table: Table) -> NDArray[np.int64]:
    """Return when the cue fired: 0 never, 1 before the person moved, 2 before release, 3 later.

    Launches of different kinds come to the same outcome in different ways.
    """
    fired, moved, released = table["detection_s"], table["windup_s"], table["release_s"]
    early = fired < np.where(moved > HAPPENED, moved, FAR)
    held = fired < np.where(released > HAPPENED, released, FAR)
    kind = np.where(early, 1, np.where(held, 2, 3))
    return np.where(fired < HAPPENED, 0, kind).astype(np.int64)

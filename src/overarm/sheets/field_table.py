"""The go, change, stop table of the field pack: words and odds of each cell from its corners.

A cell lies between two winds, two temperatures and two voltages. It is as good as the worst of its eight
corners, with the gusts at the top of their range, so that no day inside the cell is worse than what it says.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any, NamedTuple

from overarm.odds.as_flown import MOST_HANDS_AT_RISK
from overarm.odds.format import percent as odds_percent
from overarm.odds.format import with_interval
from overarm.odds.intervals import Interval
from overarm.sheets.field_corners import Corner, Corners, Grid
from overarm.sheets.palette import GOOD_FROM, STOP_BELOW, finding_of
from overarm.sheets.wording import fixed, percent, span, tied

GO, CHANGE, STOP = "go", "change", "stop"
_WORDS = {"good": GO, "watch": CHANGE, "stop": STOP}


class Bounds(NamedTuple):
    """What the sheet says besides the odds of a cell: no cell is better than it."""

    band: tuple[float, float] | None  # wind at the hand [m/s]
    least_volts: float
    stops: tuple[str, ...]  # what says stop on the sheet
    hands_known: bool  # enough launches show that hands stay clear


class Cell(NamedTuple):
    """One cell: its word, the odds of its worst corner, and why it is not go."""

    word: str
    clean: Interval
    why: tuple[str, ...]


class Table(NamedTuple):
    """The cells of a grid, gust by gust, then wind, temperature and volts, the last fastest."""

    grid: Grid
    cells: tuple[Cell, ...]
    bounds: Bounds
    launches: int  # of each corner
    seed: int

    def to_dict(self) -> dict[str, Any]:
        """Return the table as JSON-ready data, as the page reads it."""
        return {
            "wind_mps": list(self.grid.winds_mps),
            "gust_ratio": list(self.grid.gust_ratios),
            "air_c": list(self.grid.air_c),
            "pack_volts": list(self.grid.pack_volts),
            "launches": self.launches,
            "seed": self.seed,
            "cells": [_cell_dict(cell) for cell in self.cells],
        }


def _cell_dict(cell: Cell) -> dict[str, Any]:
    clean = cell.clean
    ends = with_interval(clean).removeprefix(odds_percent(clean)).strip(" ()")
    return {
        "word": cell.word,
        "share": round(clean.share, 4),
        "odds": tied(odds_percent(clean)),
        "told": tied(with_interval(clean)),
        "ends": tied(f"{round(100 * clean.level)} % interval: {ends} %"),
        "why": [tied(words) for words in cell.why],
    }


def _by_odds(clean: Interval) -> tuple[str, str]:
    word = _WORDS[finding_of(clean.share)]
    if word == GO and clean.low < STOP_BELOW:
        few = f"With so few launches in the model odds under {percent(STOP_BELOW)} stay possible"
        return CHANGE, f"{few}: make the pack with more of them."
    if word == GO:
        return GO, ""
    if word == CHANGE:
        return CHANGE, f"Fewer than {percent(GOOD_FROM)} of the launches are clean."
    return STOP, f"Fewer than {percent(STOP_BELOW)} of the launches are clean."


def _outside_band(band: tuple[float, float] | None, low_mps: float, high_mps: float) -> str:
    """Return why a wind is outside the band of the sheet; nothing if it is inside."""
    if band is None:
        return "The sheet has no wind band for this setup."
    if low_mps >= round(band[0], 1) and high_mps <= round(band[1], 1):
        return ""
    return f"Outside the wind band of the sheet, {span(*band, 1, 'm/s')}."


def cell_of(corners: Sequence[Corner], wind: tuple[float, float], low_volts: float, bounds: Bounds) -> Cell:
    """Return the cell between some corners.

    Parameters
    ----------
    corners : sequence of Corner
    wind : tuple of float
        The winds that the cell lies between [m/s].
    low_volts : float
        The lowest pack voltage in the cell.
    bounds : Bounds

    Returns
    -------
    Cell
        Stop for odds under 75 %, for a hand at risk in more than one launch of 1000, or for a stop on the
        sheet. Change for odds under 90 %, or whose interval reaches under 75 %; outside the wind band or
        under the volts of the sheet; or if too few launches show that hands stay clear. Else go.
    """
    worst = min(corners, key=lambda corner: (corner.clean.share, corner.clean.low)).clean
    said = [(STOP, words) for words in bounds.stops]
    risky, flown = sum(c.hands_at_risk for c in corners), sum(c.launches for c in corners)
    if risky / flown > MOST_HANDS_AT_RISK:
        said.append((STOP, f"The disc turned near a hand in {risky} of {flown} launches."))
    said.append(_by_odds(worst))
    said.append((CHANGE, _outside_band(bounds.band, *wind)))
    if low_volts < round(bounds.least_volts, 1):
        least = fixed(bounds.least_volts, 1)
        said.append((CHANGE, f"The sheet asks for a pack at {least} V or more: charge it."))
    if not bounds.hands_known:
        said.append(
            (CHANGE, "Too few launches were flown in the model to say that hands stay clear of the disc.")
        )
    said = [(word, words) for word, words in said if words]
    word = next((word for word in (STOP, CHANGE) if any(told == word for told, _ in said)), GO)
    return Cell(word, worst, tuple(words for _, words in said))


def table_of(grid: Grid, corners: Corners, bounds: Bounds, launches: int, seed: int) -> Table:
    """Return the table between flown corners; each axis but the gusts has one cell fewer than corners."""
    gusts, winds, airs, volts = grid.shape
    cells = []
    for g, w, t, v in itertools.product(range(gusts), range(winds - 1), range(airs - 1), range(volts - 1)):
        around = [corners[g, w + a, t + b, v + c] for a, b, c in itertools.product((0, 1), repeat=3)]
        between = (grid.winds_mps[w], grid.winds_mps[w + 1])
        cells.append(cell_of(around, between, grid.pack_volts[v], bounds))
    return Table(grid, tuple(cells), bounds, launches, seed)

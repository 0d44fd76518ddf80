"""Field packs for the tests: made-up odds over a small day, so that every word is known beforehand."""

from __future__ import annotations

import itertools
import runpy
from pathlib import Path
from typing import Any

from overarm.odds.intervals import Interval
from overarm.sheets.content import Trail
from overarm.sheets.field_corners import Corner, Corners, Grid
from overarm.sheets.field_pack import pack_html
from overarm.sheets.field_table import Bounds, Table, table_of

# A pack of 16.2 V is on the card of the made-up setup, so its sheet asks for 16.0 V; its band starts at 2.0.
GRID = Grid((0.0, 2.0, 4.0, 6.0), (1.5, 2.0), (0.0, 15.0, 35.0), (15.4, 16.0, 16.4))
BAND = (2.0, 6.0)
TRAIL = Trail("0.1.0", "9f2c4a7be1d0aa55", 1, 10_000, "25 November 2026")
LAUNCHES = 500


def share_at(gust: float, wind: float, air: float, volts: float) -> float:
    """Return made-up odds: poor in a calm, worse in gusts and in hot air, better with wind and volts."""
    return min(0.97, 0.78 + 0.10 * wind + 0.05 * (volts - 16.0) - 0.25 * (gust - 1.5) - 0.002 * (air - 15.0))


def corners_of(grid: Grid = GRID) -> Corners:
    """Return the made-up corners of a grid."""
    axes = (grid.gust_ratios, grid.winds_mps, grid.air_c, grid.pack_volts)
    found: Corners = {}
    for place in itertools.product(*(range(len(axis)) for axis in axes)):
        g, w, t, v = place
        share = share_at(axes[0][g], axes[1][w], axes[2][t], axes[3][v])
        found[g, w, t, v] = Corner(Interval(share, share - 0.02, share + 0.01), LAUNCHES, 0)
    return found


def bounds(stops: tuple[str, ...] = ()) -> Bounds:
    """Return what the made-up sheet says besides."""
    return Bounds(BAND, 16.0, stops, hands_known=True)


def made_table(stops: tuple[str, ...] = ()) -> Table:
    """Return the table over the made-up corners."""
    return table_of(GRID, corners_of(), bounds(stops), LAUNCHES, 1)


def made_page(stop: str = "", name: str = "Kestrel-sized wing", style: str = "throw-started") -> str:
    """Return a page with the made-up table."""
    synthetic: dict[str, Any] = runpy.run_path(str(Path(__file__).parent / "unit" / "synthetic.py"))
    made = synthetic["made"](count=8, stop=stop, name=name)
    subject = made.subject
    if style != subject.style:
        import dataclasses

        subject = dataclasses.replace(subject, style=style)
    return pack_html(made.content, subject, TRAIL, made_table((stop,) if stop else ()))

"""What a difference of a height or a radius is in metres, beside what it does to the odds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from overarm.describe.outlines import HEIGHT_ERROR_M, HOME_ABOVE_M
from overarm.readback.compare import Compared

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

WORDS = {
    "handover_height": ("higher", "lower"),
    "home_height": ("higher", "lower"),
    "home_circle_radius": ("wider", "tighter"),
}


def in_metres(setup: Setup, item: Compared) -> str:
    """Return a difference in words, such as "20 m lower, 5 m above the top of trees (25 m are wanted)".

    Nothing for a key that is no height or radius, or that does not differ. Raises InputError for an obstacle
    file that cannot be used.
    """
    if item.key not in WORDS or item.kind != "different" or item.sheet_si is None or item.reported_si is None:
        return ""
    off_m = item.reported_si - item.sheet_si
    more, less = WORDS[item.key]
    said = f"{abs(off_m):.3g} m {more if off_m > 0.0 else less}"
    return f"{said}{_above(setup, item.reported_si)}" if item.key == "home_height" else said


def _above(setup: Setup, height_m: float) -> str:
    from overarm.describe.outlines import outlines

    tallest = max(outlines(setup), key=lambda outline: outline.height_m, default=None)
    if tallest is None:
        return ""
    gap_m = height_m - tallest.height_m
    way = "above" if gap_m >= 0.0 else "below"
    wanted_m = HOME_ABOVE_M + HEIGHT_ERROR_M
    return f", {abs(gap_m):.3g} m {way} the top of {tallest.name} ({wanted_m:.0f} m are wanted)"

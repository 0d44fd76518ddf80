"""Where each figure of a launch lies in what was to be expected, and what single changes would do to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from overarm.review.result import Again, Place, Prediction
from overarm.review.shown import SHOWN, number, with_unit
from overarm.sheets.canvas import SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import FINDINGS, colour

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FAR_Z = 4.0
HALF_90 = 1.645
MARKERS = {"good": "o", "watch": "^", "stop": "s", "not known": "o"}
ROW_MM, NARROW_ROW_MM = 4.5, 8.4
FOOT_MM = 9.5
MOST_CHANGES = 14


def places_height(found: Prediction, *, narrow: bool) -> float:
    """Return how high the picture of places has to be [mm]."""
    return FOOT_MM + (NARROW_ROW_MM if narrow else ROW_MM) * max(1, len(found.places)) + 2.0


def draw_places(found: Prediction, size: Size, name: str = "places") -> Picture:
    """Draw each figure on a scale of its own expectation: 5 to 95 % shaded, furthest out first."""
    rows = sorted(found.places, key=lambda place: -abs(place.z))
    left, right = (2.0, 2.0) if size.narrow else (52.0, 62.0)
    height = size.height_mm - FOOT_MM - 2.0
    with sketch(name, size) as figure:
        ax = axes(figure, size, Box(left, FOOT_MM, size.width_mm - left - right, height))
        quiet(ax, "bottom")
        ax.set_xlim(-FAR_Z, FAR_Z)
        ax.set_ylim(len(rows) - 0.5, -0.5)
        ax.axvspan(
            -HALF_90, HALF_90, facecolor=colour("panel"), edgecolor=colour("rule"), hatch="////", linewidth=0
        )
        ax.axvline(0.0, color=colour("muted"), linewidth=0.8, linestyle=(0, (2.2, 1.4)))
        for k, place in enumerate(rows):
            _row(ax, k, place, size.narrow)
        ax.set_xticks([-HALF_90, 0.0, HALF_90], ["5 %", "middle", "95 %"])
        ax.set_xlabel("of what was to be expected", fontsize=SMALL_PT, labelpad=1)
        return to_picture(figure, name, "Where each figure lies", places_words(found))


def places_words(found: Prediction) -> str:
    """Return what the picture of places says."""
    off = [place for place in found.places if place.word != "good"]
    if not off:
        return "Every figure lies within 5 to 95 % of what was to be expected."
    told = ", ".join(f"{SHOWN[place.name].name} {'above' if place.z > 0.0 else 'below'}" for place in off)
    return f"Outside 5 to 95 % of what was to be expected: {told}. The others lie within."


def _row(ax: Axes, k: int, place: Place, narrow: bool) -> None:
    mark = FINDINGS[place.word]
    z = min(max(place.z, -FAR_Z + 0.12), FAR_Z - 0.12)
    y = k + 0.2 if narrow else k
    ax.plot([0.0, z], [y, y], color=colour(mark.ink), linewidth=0.9, zorder=2)
    ax.plot(
        [z], [y], marker=MARKERS[place.word], markersize=5.2, color=colour(mark.ink), zorder=3, clip_on=False
    )
    value = with_unit(place.name, place.value)
    expected = f"{number(place.name, place.p5)} to {number(place.name, place.p95)}"
    if narrow:
        where: dict[str, Any] = {"fontsize": SMALL_PT, "va": "center", "transform": ax.get_yaxis_transform()}
        ax.text(0.0, k - 0.22, SHOWN[place.name].name, ha="left", **where)
        ax.text(1.0, k - 0.22, value, ha="right", fontweight=600, **where)
        return
    where = {"fontsize": SMALL_PT, "va": "center", "transform": ax.get_yaxis_transform(), "clip_on": False}
    ax.text(-0.03, k, SHOWN[place.name].name, ha="right", **where)
    ax.text(1.03, k, value, ha="left", fontweight=600, **where)
    ax.text(1.36, k, expected, ha="left", color=colour("muted"), **where)
    ax.text(1.72, k, place.word, ha="left", color=colour(mark.ink), **where)


def changes_height(again: Again, *, narrow: bool) -> float:
    """Return how high the picture of changes has to be [mm]."""
    rows = min(MOST_CHANGES, max(1, len(again.others)))
    return FOOT_MM + (NARROW_ROW_MM if narrow else ROW_MM) * rows + 2.0


def draw_changes(again: Again, size: Size, name: str = "changes") -> Picture:
    """Draw what each single change does to the share of clean launches, with its interval."""
    rows = sorted(again.others, key=lambda other: (not other.asked, -other.difference.share))[:MOST_CHANGES]
    left, right = (2.0, 2.0) if size.narrow else (62.0, 44.0)
    ends = [100.0 * edge for other in rows for edge in (other.difference.low, other.difference.high)]
    low, high = min([-5.0, *ends]), max([5.0, *ends])
    with sketch(name, size) as figure:
        box = Box(left, FOOT_MM, size.width_mm - left - right, size.height_mm - FOOT_MM - 2.0)
        ax = axes(figure, size, box)
        quiet(ax, "bottom")
        ax.set_xlim(low - 0.04 * (high - low), high + 0.04 * (high - low))
        ax.set_ylim(len(rows) - 0.5, -0.5)
        ax.axvline(0.0, color=colour("ink"), linewidth=0.8)
        for k, other in enumerate(rows):
            gap = other.difference
            ink = "muted" if other.refused or not gap.clear else "green" if gap.share > 0.0 else "stop"
            y = k + 0.2 if size.narrow else k
            ax.plot([100.0 * gap.low, 100.0 * gap.high], [y, y], color=colour(ink), linewidth=3.2, zorder=2)
            ax.plot([100.0 * gap.share], [y], marker="|", markersize=9, color=colour("ink"), zorder=3)
            told = " and ".join(_change(item.key, item.after) for item in other.changes)
            whole = round(100.0 * gap.share)
            points = f"{whole:+d}" if whole else "0"
            note = "refused: " + other.refused.removeprefix("not advised: ") if other.refused else ""
            _change_row(ax, k, (told, points.replace("-", "\u2212"), note), size.narrow)
        ax.set_xlabel("points of clean launches, of launches like this one", fontsize=SMALL_PT, labelpad=1)
        return to_picture(figure, name, "What a change would do", changes_words(again))


def changes_words(again: Again) -> str:
    """Return what the picture of changes says."""
    return " ".join(other.sentence for other in again.others[:MOST_CHANGES])


def _change(key: str, after: str) -> str:
    return f"{key.rpartition('.')[2].replace('_', ' ')} {after.replace('m/s2', 'm/s²')}"


def _change_row(ax: Axes, k: int, texts: tuple[str, str, str], narrow: bool) -> None:
    told, points, note = texts
    where: dict[str, Any] = {
        "fontsize": SMALL_PT,
        "va": "center",
        "transform": ax.get_yaxis_transform(),
        "clip_on": False,
    }
    if narrow:
        ax.text(0.0, k - 0.22, told, ha="left", **where)
        ax.text(1.0, k - 0.22, f"{points}{' refused' if note else ''}", ha="right", fontweight=600, **where)
        return
    ax.text(-0.03, k, told, ha="right", **where)
    ax.text(1.03, k, points, ha="left", fontweight=600, **where)
    if note:
        ax.text(1.12, k, note, ha="left", color=colour("muted"), **where)

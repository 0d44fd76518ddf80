"""Level-dwell map: false starts and missed gestures for every level and dwell, and the region between."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.sheets.canvas import (
    LABEL,
    SMALL_PT,
    Box,
    Picture,
    Size,
    axes,
    empty_picture,
    quiet,
    sketch,
    to_picture,
)
from overarm.sheets.ladder import heights, scale_axis, scaled
from overarm.sheets.palette import colour
from overarm.sheets.wording import fixed, trimmed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.trigger.result import TriggerResult

NAME, TITLE = "level-dwell", "Level-dwell map"
EMPTY = "No recording can tell: there is nothing to draw a map from."
RATES_PER_HOUR = (1.0, 10.0, 100.0, 1000.0)
MISSED_PER_HUNDRED = (10.0, 50.0)
LABELS_AT_S = (0.09, 0.17, 0.25, 0.33)  # dwells at which the lines may have their figures
ASIDE_PT = 9.0
LABEL_WIDE_S, LABEL_HIGH = 0.09, 0.055  # room of a figure: dwell, and share of the height

Numbers = NDArray[np.float64]


class MapData(NamedTuple):
    """The map; grids of shape (levels, dwells), None where nothing was recorded."""

    levels_mps2: Numbers
    dwells_s: Numbers
    false_per_hour: Numbers | None
    missed_per_hundred: Numbers | None
    early_per_hundred: Numbers | None
    point: tuple[float, float]  # dwell, level
    advised: tuple[float, float] | None
    top_mps2: float


def map_data(result: TriggerResult, top_mps2: float) -> MapData:
    """Return what the picture shows of an answer."""
    grid, advised = result.grid, result.advice.margins
    hours = grid.carry_s / 3600.0
    false = grid.false / np.maximum(hours, 1e-9) if np.any(hours > 0.0) else None
    some = max(1, grid.gestures)
    share = grid.gestures > 0
    return MapData(
        np.concatenate([[0.0], grid.levels_mps2]),
        grid.dwells_s,
        None if false is None else _to_the_ground(false),
        _to_the_ground(100.0 * grid.missed / some) if share else None,
        _to_the_ground(100.0 * grid.early / some) if share else None,
        (result.dwell_s, result.level_mps2),
        None if advised is None else (advised.dwell_s, advised.level_mps2),
        top_mps2,
    )


def _to_the_ground(grid: Numbers) -> Numbers:
    """Return a grid with its lowest level repeated at 0, so that the picture has no empty strip."""
    return np.concatenate([grid[:1], grid])


def words_of(data: MapData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    dwell, level = data.point
    said = [f"Set: level {trimmed(level, 3)} m/s2 for {trimmed(dwell, 3)} s."]
    if data.advised is not None:
        said.append(f"Advised: level {trimmed(data.advised[1], 3)} m/s2 for {trimmed(data.advised[0], 3)} s.")
    for grid, what in (
        (data.false_per_hour, "false start"),
        (data.missed_per_hundred, "missed or early gesture"),
    ):
        if grid is None:
            said.append(f"No recording shows a {what} or its absence.")
            continue
        column = int(np.argmin(np.abs(data.dwells_s - dwell)))
        none = data.levels_mps2[grid[:, column] == 0.0]
        span = (
            f"from {trimmed(float(none.min()), 3)} to {trimmed(float(none.max()), 3)}"
            if none.size
            else "at no level"
        )
        said.append(f"At this dwell no {what} {span}{' m/s2' if none.size else ''}.")
    return " ".join(said)


def _free(data: MapData) -> NDArray[np.bool_]:
    """Return where nothing goes wrong in the recordings; nowhere if they show only one side."""
    right = np.zeros((data.levels_mps2.size, data.dwells_s.size), dtype=np.bool_)
    grids = (data.false_per_hour, data.missed_per_hundred, data.early_per_hundred)
    if grids[0] is not None and grids[1] is not None and grids[2] is not None:
        right = (grids[0] == 0.0) & (grids[1] == 0.0) & (grids[2] == 0.0)
    return right


def milder(grid: Numbers) -> Numbers:
    """Return a grid of rates that never falls towards a lower level or a shorter dwell.

    A stricter setting fires nowhere where a milder one does not; counts of a second's rest do not show that.
    """
    down = np.maximum.accumulate(grid[::-1], axis=0)[::-1]
    return np.asarray(np.maximum.accumulate(down[:, ::-1], axis=1)[:, ::-1])


def stricter(grid: Numbers) -> Numbers:
    """Return a grid of shares that never falls towards a higher level or a longer dwell."""
    return np.asarray(np.maximum.accumulate(np.maximum.accumulate(grid, axis=0), axis=1))


def _region(ax: Axes, data: MapData, where: NDArray[np.bool_], face: str, edge: str, hatch: str) -> None:
    """Fill a region of the grid, cell by cell joined, with its own pattern."""
    if not where.any() or where.all():
        if where.all():
            ax.axhspan(
                *ax.get_ylim(),
                facecolor=colour(face),
                edgecolor=colour(edge),
                hatch=hatch,
                linewidth=0,
                zorder=0.4,
            )
        return
    filled: Any = ax.contourf(
        data.dwells_s, heights(data.levels_mps2), where.astype(float), levels=[0.5, 1.5],
        colors=[colour(face)], hatches=[hatch], zorder=0.4,
    )  # fmt: skip
    filled.set_edgecolor(colour(edge))
    filled.set_linewidth(0.0)


class Look(NamedTuple):
    """How iso-lines look, and on which side of them the level has the value."""

    ink: str
    dash: Any
    unit: str
    from_above: bool


FALSE_LOOK = Look("stop", "solid", " an hour", False)
MISSED_LOOK = Look("ink", (0, (4, 2)), " in 100", True)


def _lines(ax: Axes, data: MapData, grid: Numbers, at: tuple[float, ...], look: Look) -> None:
    """Draw iso-lines of a grid where it has some, each with its figure at a dwell of its own."""
    if not np.any(grid > 0.0):
        return
    least, most = float(grid[grid > 0.0].min()), float(grid.max())
    wanted = [value for value in at if 0.5 * least < value < most]
    if not wanted:
        return
    floor = wanted[0] / 30.0  # between none and many the line lies half-way, as the edge of the region does
    ax.contour(
        data.dwells_s, heights(data.levels_mps2), np.log(grid + floor),
        levels=np.log(np.array(wanted) + floor), colors=[colour(look.ink)], linewidths=1.1,
        linestyles=[look.dash], zorder=4,
    )  # fmt: skip
    taken = [(at[0] + 0.03, scaled(at[1])) for at in (data.point, data.advised) if at is not None]
    for value in wanted:
        spot = _free_spot(data, grid >= value, look, taken)
        if spot is None:
            continue
        taken.append(spot)
        words = f"{trimmed(value, 4)}{look.unit}"
        ax.text(
            *spot, words, ha="center", va="center", fontsize=SMALL_PT - 0.5, color=colour(look.ink),
            zorder=5, bbox=LABEL | {"boxstyle": "round,pad=0.08"},
        )  # fmt: skip


def _free_spot(
    data: MapData, inside: NDArray[np.bool_], look: Look, taken: list[tuple[float, float]]
) -> tuple[float, float] | None:
    """Return a place on an iso-line where nothing is written yet; None if there is none."""
    high = LABEL_HIGH * scaled(data.top_mps2)
    for dwell in LABELS_AT_S:
        levels = data.levels_mps2[inside[:, int(np.argmin(np.abs(data.dwells_s - dwell)))]]
        if not levels.size:
            continue
        y = scaled(float(levels.min() if look.from_above else levels.max()))
        clear = all(abs(dwell + 0.02 - x) > LABEL_WIDE_S or abs(y - other) > high for x, other in taken)
        if clear and y < scaled(data.top_mps2):
            return dwell, y
    return None


def _aside(data: MapData, at: tuple[float, float]) -> float:
    """Return how far up [pt] the word at the advised point goes, so that it does not cover the set one."""
    x, y = data.point[0], scaled(data.point[1])
    near = abs(at[0] - x) < LABEL_WIDE_S and abs(scaled(at[1]) - y) < LABEL_HIGH * scaled(data.top_mps2)
    return math.copysign(ASIDE_PT, scaled(at[1]) - y) if near and at != data.point else 0.0


def _point(ax: Axes, at: tuple[float, float], words: str, ink: str, marker: str, data: MapData) -> None:
    x, y = at[0], scaled(at[1])
    ax.plot(
        [x], [y], marker=marker, markersize=6.5, color=colour(ink), markeredgecolor=colour("paper"), zorder=8
    )
    right = x > 0.6 * float(data.dwells_s[-1])
    ax.annotate(
        words, (x, y), xytext=(-7 if right else 7, _aside(data, at)), textcoords="offset points",
        ha="right" if right else "left", va="center", fontsize=SMALL_PT, fontweight=600, color=colour(ink),
        zorder=9, bbox=LABEL,
    )  # fmt: skip


def draw_onto(ax: Axes, data: MapData, *, named: bool) -> None:
    """Draw the map onto axes; ``named`` writes the levels at the left."""
    quiet(ax, "left bottom")
    scale_axis(ax, data.top_mps2, named=named)
    ax.set_xlim(float(data.dwells_s[0]), float(data.dwells_s[-1]))
    if data.missed_per_hundred is not None:
        _region(ax, data, data.missed_per_hundred > 0.0, "panel", "muted", "---")
    wrong = np.zeros((data.levels_mps2.size, data.dwells_s.size), dtype=np.bool_)
    for grid in (data.false_per_hour, data.early_per_hundred):
        wrong |= np.zeros_like(wrong) if grid is None else grid > 0.0
    _region(ax, data, wrong, "stop-pale", "stop", "xxx")
    _region(ax, data, _free(data), "green-pale", "green", "")
    if data.false_per_hour is not None:
        _lines(ax, data, milder(data.false_per_hour), RATES_PER_HOUR, FALSE_LOOK)
    if data.missed_per_hundred is not None:
        _lines(ax, data, stricter(data.missed_per_hundred), MISSED_PER_HUNDRED, MISSED_LOOK)
    advised = data.advised
    same = (
        advised is not None
        and math.isclose(advised[0], data.point[0])
        and math.isclose(advised[1], data.point[1])
    )
    if advised is not None and not same:
        _point(ax, advised, "advised", "green", "D", data)
    _point(ax, data.point, "set, as advised" if same else "set", "ink", "o", data)
    ax.axhline(scaled(data.point[1]), color=colour("ink"), linewidth=0.7, zorder=3.5)
    ticks = [value for value in (0.05, 0.1, 0.2, 0.3, 0.4) if value <= data.dwells_s[-1] + 1e-9]
    ax.set_xticks(ticks, [fixed(value, 2).rstrip("0") for value in ticks])
    ax.set_xlabel("dwell, s", fontsize=SMALL_PT, labelpad=1)


def key_onto(page: Axes, at: tuple[float, float], *, rows: bool) -> None:
    """Explain the three regions; ``at`` [mm], in one line or in rows."""
    from matplotlib.patches import Rectangle

    x, y = at
    items = (
        ("false or early start", "stop-pale", "stop", "xxxxx", 30.0),
        ("missed", "panel", "muted", "-----", 16.0),
        ("neither seen", "green-pale", "green", "", 0.0),
    )
    for words, face, edge, hatch, wide in items:
        page.add_patch(
            Rectangle(
                (x, y - 1.0),
                4.2,
                2.0,
                facecolor=colour(face),
                edgecolor=colour(edge),
                hatch=hatch,
                linewidth=0.5,
            )
        )
        page.text(x + 5.2, y, words, ha="left", va="center", fontsize=SMALL_PT - 0.3, color=colour("muted"))
        if rows and words == items[1][0]:
            x, y = at[0], y - 3.6
        else:
            x += wide


def draw_level_dwell(data: MapData, size: Size) -> Picture:
    """Draw the map as a picture of its own, or say why there is none."""
    if data.false_per_hour is None and data.missed_per_hundred is None:
        return empty_picture(NAME, TITLE, EMPTY, size)
    with sketch(NAME, size) as figure:
        page = axes(figure, size, Box(0, 0, size.width_mm, size.height_mm))
        quiet(page)
        page.set_xlim(0, size.width_mm)
        page.set_ylim(0, size.height_mm)
        head = 10.5 if size.narrow else 8.0
        ax = axes(figure, size, Box(7.0, 9.0, size.width_mm - 9.0, size.height_mm - head - 9.0))
        draw_onto(ax, data, named=True)
        page.text(1.0, size.height_mm - 3.0, "level, m/s²", va="center", fontsize=SMALL_PT, fontweight=600)
        key_onto(page, (18.0, size.height_mm - 3.0), rows=size.narrow)
        return to_picture(figure, NAME, TITLE, words_of(data))

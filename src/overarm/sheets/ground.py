"""Plan view: the field from above and to scale, with the climb-out, the way home and the home circle."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from overarm.sheets.canvas import (
    LABEL,
    SMALL_PT,
    TEXT_PT,
    Box,
    Picture,
    Size,
    axes,
    quiet,
    sketch,
    to_picture,
)
from overarm.sheets.field import (
    FAR_SHARE,
    View,
    drawn_outline,
    fan_upto,
    home_spot,
    nearest_m,
    reach_m,
    round_length_m,
    view_of,
)
from overarm.sheets.palette import colour
from overarm.sheets.wording import fixed, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.plan.result import PlanResult

NAME = "ground"
TITLE = "The field from above"
KEY_MM = 25.0
KEY_ROW_MM = 20.0
LONGEST_LABEL = 28
MOST_LABELS = 8
MOST_BANDS = 4


def map_box(size: Size) -> Box:
    """Return where the field itself is drawn: beside the key, or on a phone below it."""
    if size.narrow:
        return Box(1, 1, size.width_mm - 2, size.height_mm - KEY_ROW_MM - 2)
    return Box(1, 1, size.width_mm - KEY_MM - 3, size.height_mm - 2)


def _outlines(ax: Axes, plan: PlanResult, view: View) -> None:
    from matplotlib.patches import Polygon

    for outline in plan.outlines:
        corners = np.stack(view.at(*drawn_outline(outline).T), axis=1)
        if outline.closed:
            area = Polygon(
                corners, facecolor=colour("panel"), edgecolor=colour("ink"), linewidth=0.9, hatch="xxxx"
            )
            area.set_zorder(2.5)
            ax.add_patch(area)
        else:
            x, y = corners.T
            ax.plot(x, y, color=colour("leaf"), linewidth=4.2, solid_capstyle="butt", zorder=2.4)
            ax.plot(x, y, color=colour("ink"), linewidth=4.2, linestyle=(0, (0.25, 0.9)), zorder=2.5)


def _label(ax: Axes, words: str, at: tuple[float, float], **more: Any) -> None:
    given: dict[str, Any] = {
        "textcoords": "offset points", "fontsize": SMALL_PT, "zorder": 7, "bbox": LABEL, "clip_on": True,
        "annotation_clip": True, "ha": "center", "va": "center", "xytext": (0, 0),
    }  # fmt: skip
    ax.annotate(words, at, **{**given, **more})


def _names(ax: Axes, plan: PlanResult, view: View) -> None:
    """Write name and height on the nearest obstacles, where there is paper."""
    near = sorted(plan.outlines, key=nearest_m)[:MOST_LABELS]
    for k, outline in enumerate(near):
        if nearest_m(outline) > FAR_SHARE * reach_m(plan):
            continue
        x, y = view.at(*drawn_outline(outline).T)
        words = f"{short(outline.name, LONGEST_LABEL)}, {fixed(outline.height_m, 0)} m"
        if outline.closed:
            place = float(np.mean(x)), float(np.max(y))
            _label(ax, words, place, xytext=(0, 3), va="bottom")
            continue
        inside = np.clip(x, view.left_m, view.right_m), np.clip(y, view.low_m, view.high_m)
        end = int(np.argmax(y)) if not view.up else int(np.argmax(x))
        if k % 2:
            end = len(x) - 1 - end
        place = float(inside[0][end]), float(inside[1][end])
        if view.up:
            right = end == int(np.argmax(x))
            _label(ax, words, place, xytext=(-3 if right else 3, 6), ha="right" if right else "left")
        else:
            top = end == int(np.argmax(y))
            _label(ax, words, place, xytext=(4, -6 if top else 6), ha="left")


def _fan(ax: Axes, plan: PlanResult, view: View) -> None:
    upto = fan_upto(plan)
    if upto < 2:
        return
    fan = plan.fan
    ahead, low, high = fan.ahead_m[:upto], fan.right_p5_m[:upto], fan.right_p95_m[:upto]
    x, y = view.at(np.concatenate((ahead, ahead[::-1])), np.concatenate((low, high[::-1])))
    ax.fill(x, y, facecolor=colour("rust-faint"), edgecolor="none", zorder=1.5)
    for path in fan.paths:
        ax.plot(*view.at(path[:, 0], path[:, 1]), color=colour("rust-mid"), linewidth=0.35, zorder=2)
    for side in (low, high):
        ax.plot(
            *view.at(ahead, side), color=colour("rust-mid"), linewidth=0.9, linestyle=(0, (4, 2)), zorder=2.2
        )
    ax.plot(*view.at(ahead, fan.right_p50_m[:upto]), color=colour("rust"), linewidth=1.9, zorder=3)


def _circle(ax: Axes, plan: PlanResult, view: View) -> None:
    """Draw the home circle, and thin ones for the radius that other winds ask for."""
    from matplotlib.patches import Circle as Ring

    ahead, right = home_spot(plan)
    x, y = (float(v) for v in view.at(ahead, right))
    bands = [pair for pair in plan.circle.by_wind if pair[1] <= 2.0 * plan.circle.radius_m]
    step = max(1, math.ceil(len(bands) / MOST_BANDS))
    for k, (wind_mps, radius_m) in enumerate(bands[::step]):
        thin = Ring((x, y), radius_m, fill=False, edgecolor=colour("blue"), linewidth=0.5)
        thin.set_linestyle((0, (1, 2)))
        ax.add_patch(thin)
        angle = math.radians((150 if not view.up else 295) + 22 * k)
        place = x + radius_m * math.cos(angle), y + radius_m * math.sin(angle)
        _label(
            ax, f"{fixed(wind_mps, 0)}", place, color=colour("blue"), fontsize=SMALL_PT - 0.6,
            bbox={**LABEL, "boxstyle": "round,pad=0.05"},
        )  # fmt: skip
    ring = Ring((x, y), plan.circle.radius_m, fill=False, edgecolor=colour("blue"), linewidth=1.7, zorder=3.5)
    ax.add_patch(ring)


def _way(ax: Axes, plan: PlanResult, view: View) -> None:
    """Draw the way home as a dashed line with an arrow on each leg."""
    points = [p for p in plan.route if p.kind != "launch"]
    for start, end in itertools.pairwise(points):
        (x0, y0), (x1, y1) = view.at(start.ahead_m, start.right_m), view.at(end.ahead_m, end.right_m)
        ax.plot([x0, x1], [y0, y1], color=colour("ink"), linewidth=1.1, linestyle=(0, (5, 2)), zorder=3.2)
        if math.hypot(float(x1 - x0), float(y1 - y0)) > 0.03 * (view.right_m - view.left_m):
            tip = float(x0 + 0.56 * (x1 - x0)), float(y0 + 0.56 * (y1 - y0))
            tail = float(x0 + 0.5 * (x1 - x0)), float(y0 + 0.5 * (y1 - y0))
            ax.annotate(
                "", tip, tail, arrowprops={"arrowstyle": "-|>", "color": colour("ink"), "linewidth": 0.9}
            )


def _marks(ax: Axes, plan: PlanResult, view: View) -> None:
    fan = plan.fan
    x, y = (float(v) for v in view.at(0.0, 0.0))
    ax.plot(
        *view.at(np.array([0.0, 4.0 * reach_m(plan)]), np.zeros(2)), color=colour("muted"), linewidth=0.7,
        linestyle=(0, (9, 3, 1, 3)), zorder=2.9,
    )  # fmt: skip
    edge = (x, view.high_m) if view.up else (view.right_m, y)
    _label(
        ax, "launch line", edge, xytext=(2, -3) if view.up else (-2, 2), ha="left" if view.up else "right",
        va="top" if view.up else "bottom", color=colour("muted"), bbox=None,
    )  # fmt: skip
    ax.plot([x], [y], marker="o", markersize=5, color=colour("ink"), zorder=6)
    _label(
        ax,
        "launch",
        (x, y),
        xytext=(-6, 0) if not view.up else (0, -8),
        ha="right" if not view.up else "center",
    )
    if fan.handed_over_share > 0.0:
        place = tuple(float(v) for v in view.at(fan.handover_ahead_m, fan.handover_right_m))
        ax.plot(*([v] for v in place), marker="D", markersize=5, color=colour("rust"), zorder=6)
        _label(
            ax, f"handover, {fixed(plan.handover.height_m, 0)} m", (place[0], place[1]), xytext=(0, 9),
            weight=600,
        )  # fmt: skip
    ahead, right = home_spot(plan)
    radius = plan.circle.radius_m
    words = f"home circle, {fixed(radius, 0)} m"
    spot = view.at(ahead - radius, right) if view.up else view.at(ahead, right - radius)
    _label(
        ax, words, (float(spot[0]), float(spot[1])), xytext=(0, -6 if view.up else 6), color=colour("blue")
    )


def _arrow(ax: Axes, at: tuple[float, float], to: tuple[float, float], name: str, width: float) -> None:
    """Draw an arrow of one unit centred at a place of the key."""
    (x, y), (u, v) = at, to
    ax.annotate(
        "",
        (x + 0.5 * u, y + 0.5 * v),
        (x - 0.5 * u, y - 0.5 * v),
        arrowprops={
            "arrowstyle": "-|>",
            "color": colour(name),
            "linewidth": width,
            "shrinkA": 0,
            "shrinkB": 0,
        },
    )


def _key(ax: Axes, plan: PlanResult, view: View, box: Box, *, row: bool) -> None:
    """Draw wind, north and scale: a column beside the field, or a row above it. One unit is 1 mm."""
    quiet(ax)
    ax.set_xlim(0, box.width_mm)
    ax.set_ylim(0, box.height_mm)
    wind, top = plan.wind, box.height_mm
    places = [(9.0, top - 4.5), (32.0, top - 4.5), (57.0, top - 4.5)] if row else [
        (12.0, top - 9.0), (12.0, top - 36.0), (12.0, top - 60.0)
    ]  # fmt: skip
    towards = view.turned(wind.angle_rad + math.pi)
    x, y = places[0]
    if wind.speed_mps > 0.05:
        _arrow(ax, (x, y), (10 * towards[0], 10 * towards[1]), "blue", 2.0)
    words = f"wind {fixed(wind.speed_mps, 1)} m/s" if wind.speed_mps > 0.05 else "no wind"
    ax.text(x, y - 6.0, f"{words}\nat 10 m", ha="center", va="top", color=colour("blue"), fontsize=SMALL_PT)
    x, y = places[1]
    if plan.direction_rad is None:
        ax.text(
            x, y - 1.0, "north\nnot known", ha="center", va="center", color=colour("muted"), fontsize=SMALL_PT
        )
    else:
        north = view.turned(-plan.direction_rad)
        _arrow(ax, (x, y), (8 * north[0], 8 * north[1]), "ink", 1.2)
        bearing = fixed(math.degrees(plan.direction_rad) % 360.0, 0)
        ax.text(
            x + 5.9 * north[0],
            y + 5.9 * north[1],
            "N",
            ha="center",
            va="center",
            fontsize=TEXT_PT,
            weight=600,
        )
        ax.text(x, y - 7.5, f"launch to\n{bearing}°", ha="center", va="top", fontsize=SMALL_PT)
    x, y = places[2]
    field_mm = (map_box_mm(view, box, row=row)) / (view.right_m - view.left_m)
    length = round_length_m(20.0 / field_mm * 4.0 * 0.8)
    half = 0.5 * length * field_mm
    ax.plot(
        [x - half, x - half, x + half, x + half], [y + 1.5, y, y, y + 1.5], color=colour("ink"), linewidth=1.0
    )
    ax.text(x, y - 1.5, f"{fixed(length, 0)} m", ha="center", va="top", fontsize=SMALL_PT)
    if not row:
        ax.text(
            12.0, 1.0, "small blue\nfigures: wind\n[m/s] for that\nradius", ha="center", va="bottom",
            color=colour("muted"), fontsize=SMALL_PT - 0.3,
        )  # fmt: skip


def map_box_mm(view: View, key: Box, *, row: bool) -> float:
    """Return the width of the field on the page [mm]; the key lies beside or above it."""
    return key.width_mm if row else key.left_mm - 3.0


def words_of(plan: PlanResult) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    fan = plan.fan
    things = "; ".join(
        f"{short(g.name, LONGEST_LABEL)}, {fixed(g.height_m, 0)} m high at {fixed(g.distance_m, 0)} m"
        for g in plan.gaps
    )
    wind = f"Wind {fixed(plan.wind.speed_mps, 1)} m/s at 10 m"
    wide, last = "no launch got away", fan_upto(plan) - 1
    if last >= 0:
        across = float(fan.right_p95_m[last] - fan.right_p5_m[last])
        wide = (
            f"nine launches of ten pass within {fixed(across, 0)} m of width at "
            f"{fixed(float(fan.ahead_m[last]), 0)} m"
        )
    return (
        f"The field from above. {wind}; {wide}. Handover at {fixed(plan.handover.height_m, 0)} m height, "
        f"{fixed(fan.handover_ahead_m, 0)} m ahead. Home circle {fixed(plan.circle.radius_m, 0)} m. "
        + (f"Obstacles: {things}." if things else "No obstacle is on the site card.")
    )


def draw_ground_plan(plan: PlanResult, size: Size) -> Picture:
    """Draw the field from above: launch line to the right on paper, up the page on a phone."""
    box = map_box(size)
    view = view_of(plan, box, up=size.narrow)
    key = (
        Box(1, size.height_mm - KEY_ROW_MM, size.width_mm - 2, KEY_ROW_MM - 1)
        if size.narrow
        else Box(box.left_mm + box.width_mm + 2, 1, KEY_MM - 1, size.height_mm - 2)
    )
    with sketch(NAME, size) as figure:
        ax = axes(figure, size, box)
        quiet(ax, "top right bottom left")
        ax.tick_params(bottom=False, left=False, labelbottom=False, labelleft=False)
        for side in ax.spines.values():
            side.set_color(colour("rule"))
        ax.set_xlim(view.left_m, view.right_m)
        ax.set_ylim(view.low_m, view.high_m)
        for draw in (_fan, _outlines, _circle, _way, _marks, _names):
            draw(ax, plan, view)
        _key(axes(figure, size, key), plan, view, key, row=size.narrow)
        return to_picture(figure, NAME, TITLE, words_of(plan))

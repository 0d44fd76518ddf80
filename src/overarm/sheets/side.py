"""Side view: height over distance of the climb-out, the obstacles with the gap that is wanted, and home."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from overarm.sheets.canvas import LABEL, SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.field import Block, blocks_ahead, fan_upto, view_of
from overarm.sheets.ground import KEY_MM, map_box
from overarm.sheets.palette import colour
from overarm.sheets.scenery import draw_ground, draw_thing
from overarm.sheets.wording import fixed, short, trimmed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from overarm.plan.result import PlanResult

NAME = "side"
TITLE = "The climb-out from the side"
STRETCHES = (4.0, 3.0, 2.0, 1.5, 1.0, 0.75, 0.5)
GROUND_MM = 3.0
HEAD_MM = 4.0
CEILING_SHARE = 1.5  # the ceiling is drawn if it is not much above everything else
LONGEST_LABEL = 26


def _top_m(plan: PlanResult, blocks: list[Block]) -> float:
    tops = [block.height_m + block.wanted_m for block in blocks]
    tops += [float(plan.ground_m[:, 1].max())] if len(plan.ground_m) else []
    top = 1.12 * max([plan.handover.height_m, plan.home.height_m, plan.ceiling.highest_m, 10.0, *tops])
    legal = plan.ceiling.legal_m
    return max(top, 1.1 * legal) if legal <= CEILING_SHARE * top else top


def stretch_of(metres_per_mm: float, top_m: float, room_mm: float) -> float:
    """Return how many times heights are drawn, so that they fill the room and not more."""
    fitting = [k for k in STRETCHES if k * top_m / metres_per_mm <= room_mm]
    return fitting[0] if fitting else room_mm * metres_per_mm / top_m


def _ribbon(ax: Axes, plan: PlanResult) -> None:
    upto = fan_upto(plan)
    if upto < 2:
        return
    fan = plan.fan
    x = fan.ahead_m[:upto]
    low, middle, high = (row[:upto] for row in (fan.height_p5_m, fan.height_p50_m, fan.height_p95_m))
    ax.fill_between(x, low, high, facecolor=colour("rust-faint"), linewidth=0, zorder=2)
    for edge in (low, high):
        ax.plot(x, edge, color=colour("rust-mid"), linewidth=0.9, linestyle=(0, (4, 2)), zorder=2.2)
    ax.plot(x, middle, color=colour("rust"), linewidth=1.9, zorder=3)


def _block(ax: Axes, block: Block) -> None:
    """Draw an obstacle: a tree, hedge or house, or one with depth as a hatched block; its name beside it."""
    from matplotlib.patches import Rectangle

    depth, (_, right) = block.to_m - block.from_m, ax.get_xlim()
    if depth < 2.0 * block.height_m:
        middle = 0.5 * (block.from_m + block.to_m)
        draw_thing(ax, block.name, middle, block.height_m)
        edge = middle + 0.75 * block.height_m
    else:
        solid = Rectangle(
            (block.from_m, 0.0), depth, block.height_m, facecolor=colour("panel"), edgecolor=colour("leaf"),
            hatch="|||||",
        )  # fmt: skip
        solid.set_zorder(2.6)
        ax.add_patch(solid)
        edge = block.to_m
    late = edge > 0.8 * right  # no paper on its right: the name stands on its left
    x = edge if not late else block.from_m + min(block.to_m - edge, 0.0)
    ax.annotate(
        f"{short(block.name, LONGEST_LABEL)},\n{fixed(block.height_m, 0)} m",
        (x, 0.0), xytext=(-3 if late else 3, 3), textcoords="offset points", ha="right" if late else "left",
        va="bottom", fontsize=SMALL_PT, color=colour("muted"), zorder=5, bbox=LABEL,
    )  # fmt: skip


def _wanted(ax: Axes, block: Block, narrow: bool) -> None:
    """Draw the wanted gap above an obstacle as an upright bracket with its figure."""
    x, low = block.from_m, block.height_m
    wanted = block.wanted_m
    ax.annotate(
        "", (x, low + wanted), (x, low),
        arrowprops={"arrowstyle": "|-|,widthA=0.18,widthB=0.3", "color": colour("ink"), "linewidth": 1.0,
                    "shrinkA": 0, "shrinkB": 0},
        zorder=6,
    )  # fmt: skip
    words = f"{fixed(wanted, 0)} m" if narrow else f"wanted gap {fixed(wanted, 0)} m"
    late = x > 0.8 * ax.get_xlim()[1]  # no paper on its right
    ax.annotate(
        words, (x, low + 0.5 * wanted), xytext=(-4 if late else 4, 0), textcoords="offset points",
        ha="right" if late else "left", va="center", fontsize=SMALL_PT, zorder=6, bbox=LABEL,
    )  # fmt: skip


def _levels(ax: Axes, plan: PlanResult, top_m: float) -> None:
    """Draw handover height, home height and ceiling as lines with their words at the left edge."""
    left, right = ax.get_xlim()
    handover, home, legal = plan.handover.height_m, plan.home.height_m, plan.ceiling.legal_m
    rows: list[tuple[float, str, str, Any, float]] = [
        (handover, f"handover {fixed(handover, 0)} m", "ink", (0, (6, 2)), 0.9),
        (home, f"home height {fixed(home, 0)} m", "blue", (0, (6, 2, 1, 2)), 1.1),
    ]
    if legal <= top_m:
        rows.append((legal, f"your ceiling {fixed(legal, 0)} m", "stop", "-", 1.6))
    close = abs(handover - home) < 0.12 * top_m
    for height, words, ink, dash, width in rows:
        ax.plot(
            [left, right], [height, height], color=colour(ink), linestyle=dash, linewidth=width, zorder=1.5
        )
        under = (
            close and height == min(handover, home) and ink != "stop" and (handover != home or ink == "ink")
        )
        ax.annotate(
            words, (left, height), xytext=(3, -1.5 if under else 1.5), textcoords="offset points", ha="left",
            va="top" if under else "bottom", fontsize=SMALL_PT, color=colour(ink), zorder=6,
        )  # fmt: skip
    if legal > top_m:
        ax.annotate(
            f"your ceiling, {fixed(legal, 0)} m, lies above this picture ↑", (right, top_m), ha="right",
            xytext=(-2, -1), textcoords="offset points", va="top", fontsize=SMALL_PT, color=colour("muted"),
        )  # fmt: skip


def _marks(ax: Axes, narrow: bool) -> None:
    left, right = ax.get_xlim()
    steps = (10, 20, 25, 50, 100, 200, 500, 1000, 2000, 5000)
    step = next((s for s in steps if (right - left) / s <= (5 if narrow else 9)), 5000)
    ticks = np.arange(np.ceil(left / step) * step, right, step)
    ax.set_xticks(ticks, [fixed(t, 0) + (" m" if t == ticks[-1] else "") for t in ticks])


def _key(figure: Figure, size: Size, scale: str) -> None:
    """Say what is drawn: in the column of the key, or above the picture on a phone."""
    if size.narrow:
        figure.text(
            1.0,
            1 - 0.5 / size.height_mm,
            scale,
            ha="right",
            va="top",
            fontsize=SMALL_PT,
            color=colour("muted"),
        )
        return
    drawn = scale.replace(" drawn ", "\ndrawn ")
    words = f"band: nine of\nten launches;\nline: the\nmiddle one\n\n{drawn}"
    figure.text(
        1 - 0.5 * (KEY_MM - 1) / size.width_mm, 0.55, words, ha="center", va="center", fontsize=SMALL_PT,
        color=colour("muted"), linespacing=1.3,
    )  # fmt: skip


def words_of(plan: PlanResult) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    blocks = blocks_ahead(plan)
    told = "; ".join(
        f"over {short(b.name, LONGEST_LABEL)}, {fixed(b.height_m, 0)} m high at {fixed(b.from_m, 0)} m, a "
        f"gap of {fixed(b.wanted_m, 0)} m is wanted"
        for b in blocks
    )
    return (
        f"Height over distance of the climb-out. Handover at {fixed(plan.handover.height_m, 0)} m, home at "
        f"{fixed(plan.home.height_m, 0)} m, your ceiling {fixed(plan.ceiling.legal_m, 0)} m; it "
        f"goes up to {fixed(plan.ceiling.highest_m, 0)} m. "
        + (f"{told[:1].upper()}{told[1:]}." if told else "No obstacle stands in the way.")
    )


def draw_side(plan: PlanResult, size: Size) -> Picture:
    """Draw the side view; on paper it has the scale of the plan view above it."""
    width = size.width_mm - 2 if size.narrow else size.width_mm - KEY_MM - 3
    box = Box(1, 5, width, size.height_mm - 5 - HEAD_MM)
    blocks = blocks_ahead(plan)
    if size.narrow:
        reach = max([*(p.ahead_m for p in plan.route), *(1.1 * b.to_m for b in blocks), 40.0])
        left, right = -0.06 * reach, 1.06 * reach
    else:
        view = view_of(plan, map_box(GROUND_PAGE), up=False)
        left, right = view.left_m, view.right_m
    shown = [block for block in blocks if block.from_m < right]
    top = _top_m(plan, shown)
    scale = (right - left) / box.width_mm
    stretch = stretch_of(scale, top, box.height_mm - GROUND_MM)
    high = (box.height_mm - GROUND_MM) * scale / stretch
    with sketch(NAME, size) as figure:
        ax = axes(figure, size, box)
        quiet(ax, "bottom")
        ax.set_xlim(left, right)
        ax.set_ylim(-GROUND_MM * scale / stretch, high)
        draw_ground(ax, plan.ground_m if len(plan.ground_m) else None)
        _ribbon(ax, plan)
        for block in shown:
            _block(ax, block)
            _wanted(ax, block, size.narrow)
        _levels(ax, plan, high)
        _marks(ax, size.narrow)
        ax.plot([0.0], [plan.release_height_m], marker="o", markersize=4.5, color=colour("ink"), zorder=6)
        _key(figure, size, "to scale" if stretch == 1.0 else f"heights drawn {trimmed(stretch, 2)} times")
        return to_picture(figure, NAME, TITLE, words_of(plan))


GROUND_PAGE = Size(186, 92)

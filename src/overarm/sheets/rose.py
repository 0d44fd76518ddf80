"""Odds rose: the share of clean launches by the direction of the launch, today's line pointing up."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from overarm.sheets.canvas import SMALL_PT, TEXT_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import FINDINGS, colour, finding_of
from overarm.sheets.wording import bare_percent, fixed, percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.plan.result import PlanResult

NAME = "rose"
TITLE = "Odds by launch direction"
OUTER, INNER, NORTH_AT, EDGE = 1.0, 0.52, 1.17, 1.42
MOST_FIGURES = 16


def side_words(angle_rad: float) -> str:
    """Return a direction in words: "today's line", "30° to the right", "opposite"."""
    angle = round(math.degrees(math.remainder(angle_rad, math.tau)))
    if abs(angle) < 1:
        return "today's line"
    return (
        f"{abs(angle)}° to the {'right' if angle > 0 else 'left'}" if abs(angle) < 179 else "the opposite way"
    )


def _page(angle_rad: float, radius: float) -> tuple[float, float]:
    """Return a place on the rose; angles run clockwise from the top."""
    return radius * math.sin(angle_rad), radius * math.cos(angle_rad)


def _wedges(ax: Axes, plan: PlanResult) -> None:
    from matplotlib.patches import Wedge

    rose = plan.rose
    count = len(rose.angles_rad)
    half = 180.0 / count
    every = math.ceil(count / MOST_FIGURES)
    for k, (angle, odds) in enumerate(zip(rose.angles_rad, rose.odds, strict=True)):
        mark = FINDINGS[finding_of(odds.share)]
        middle = 90.0 - math.degrees(float(angle))
        piece = Wedge(
            (0, 0), OUTER, middle - half + 0.8, middle + half - 0.8, width=OUTER - INNER,
            facecolor=colour(mark.fill), edgecolor=colour(mark.ink), hatch=mark.hatch, linewidth=0.7,
        )  # fmt: skip
        ax.add_patch(piece)
        if k % every == 0:
            x, y = _page(float(angle), 0.5 * (OUTER + INNER))
            ax.text(
                x, y, bare_percent(odds.share), ha="center", va="center", fontsize=TEXT_PT,
                weight=600, zorder=5,
                bbox={"facecolor": colour("paper"), "edgecolor": "none", "boxstyle": "round,pad=0.12"},
            )  # fmt: skip


def _middle(ax: Axes, plan: PlanResult) -> None:
    """Draw today's line, the best direction, the wind and north."""
    arrow = {"arrowstyle": "-|>", "linewidth": 1.8, "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", (0, 0.42), (0, -0.22), arrowprops={**arrow, "color": colour("ink")})
    ax.text(0, -0.33, "today", ha="center", va="center", fontsize=SMALL_PT)
    if plan.wind.speed_mps > 0.05:
        tail, tip = _page(plan.wind.angle_rad, 1.40), _page(plan.wind.angle_rad, 1.06)
        ax.annotate("", tip, tail, arrowprops={**arrow, "color": colour("blue")})
        across = math.sin(plan.wind.angle_rad)
        side = "left" if across >= 0 else "right"
        beside = abs(across) < 0.7  # the arrow is more upright than level: its word stands beside it
        at = (math.copysign(0.15, across), -0.06) if beside else (0.0, -0.12)
        ax.text(
            tail[0] + at[0], tail[1] + at[1], "wind", ha=side if beside else "center",
            va="center" if beside else "top", color=colour("blue"), fontsize=SMALL_PT,
        )  # fmt: skip
    best = math.remainder(plan.rose.best_rad, math.tau)
    if abs(best) > math.radians(1.0):
        x, y = _page(best, 0.44)
        ax.plot([x], [y], marker=(3, 0, -math.degrees(best)), markersize=9, color=colour("rust"), zorder=6)
    if plan.direction_rad is not None:
        x, y = _page(-plan.direction_rad, NORTH_AT)
        badge = {"facecolor": colour("paper"), "edgecolor": colour("rule"), "boxstyle": "circle,pad=0.15"}
        ax.text(x, y, "N", ha="center", va="center", fontsize=TEXT_PT, weight=600, bbox=badge)


def words_of(plan: PlanResult) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    rose = plan.rose
    shares = np.array([odds.share for odds in rose.odds])
    worst = int(np.argmin(shares))
    today = int(np.argmin(np.abs([math.remainder(float(a), math.tau) for a in rose.angles_rad])))
    best = int(
        np.argmin(np.abs([math.remainder(float(a) - rose.best_rad, math.tau) for a in rose.angles_rad]))
    )
    return (
        f"Clean launches by direction: {percent(float(shares[today]))} on today's line. Best: "
        f"{side_words(rose.best_rad)}, {percent(float(shares[best]))}. Worst: "
        f"{side_words(float(rose.angles_rad[worst]))}, {percent(float(shares[worst]))}. "
        f"Wind {fixed(plan.wind.speed_mps, 1)} m/s at 10 m. {rose.sentence}"
    )


def draw_rose(plan: PlanResult, size: Size) -> Picture:
    """Draw the ring of odds; every wedge has a figure or a pattern, so that no colour is needed."""
    side = min(size.width_mm, size.height_mm) - 1
    box = Box(0.5 * (size.width_mm - side), 0.5 * (size.height_mm - side), side, side)
    with sketch(NAME, size) as figure:
        ax = axes(figure, size, box)
        quiet(ax)
        ax.set_xlim(-EDGE, EDGE)
        ax.set_ylim(-EDGE, EDGE)
        _wedges(ax, plan)
        _middle(ax, plan)
        return to_picture(figure, NAME, TITLE, words_of(plan))

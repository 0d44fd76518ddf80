"""Predicted against happened: the odds that were given, and how often launches at those odds were clean."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from overarm.sheets.canvas import SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import colour
from overarm.sheets.picture_file import file_bytes
from overarm.sheets.wording import fixed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.learn.history import HistoryScore

NAME = "reliability"
TITLE = "Predicted and happened"
SIZE = Size(110.0, 132.0)
LEFT_MM, RIGHT_MM, FOOT_MM, COUNTS_MM, GAP_MM, HEAD_MM = 15.0, 3.0, 11.0, 20.0, 3.0, 15.0
TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
LETTERS = 66
KEY = "dashed: as promised; bars: exact 95 %"


def words_of(score: HistoryScore) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    groups = "; ".join(
        f"odds of about {fixed(100.0 * item.predicted, 0)} %: {item.clean} of {item.launches} clean, "
        f"{_span(item.happened.low, item.happened.high)}"
        for item in score.groups
    )
    return f"{groups}. {' '.join(score.sentences)}"


def _span(low: float, high: float) -> str:
    return f"{fixed(100.0 * low, 0)} to {fixed(100.0 * high, 0)} %"


def draw_reliability(score: HistoryScore) -> Picture:
    """Draw the odds against what happened, each group with its exact 95 % interval and its count."""
    with sketch(NAME, SIZE) as figure:
        bottom = FOOT_MM + COUNTS_MM + GAP_MM
        wide = SIZE.width_mm - LEFT_MM - RIGHT_MM
        top = axes(figure, SIZE, Box(LEFT_MM, bottom, wide, SIZE.height_mm - bottom - HEAD_MM))
        _happened(top, score)
        counts = axes(figure, SIZE, Box(LEFT_MM, FOOT_MM, wide, COUNTS_MM))
        _counts(counts, score)
        page = axes(figure, SIZE, Box(0, 0, SIZE.width_mm, SIZE.height_mm))
        quiet(page)
        page.set_xlim(0, SIZE.width_mm)
        page.set_ylim(0, SIZE.height_mm)
        said = "\n".join(textwrap.wrap(score.sentences[0], LETTERS))
        page.text(
            LEFT_MM, SIZE.height_mm - 2.0, said, ha="left", va="top", fontsize=SMALL_PT, linespacing=1.15
        )
        page.text(
            LEFT_MM, SIZE.height_mm - HEAD_MM + 1.0, KEY, ha="left", va="bottom", fontsize=SMALL_PT,
            color=colour("muted"),
        )  # fmt: skip
        return to_picture(figure, NAME, TITLE, words_of(score))


def _happened(ax: Axes, score: HistoryScore) -> None:
    quiet(ax, "bottom left")
    ax.set_xlim(-0.02, 1.04)
    ax.set_ylim(-0.04, 1.06)
    ax.plot([0, 1], [0, 1], color=colour("blue"), linewidth=0.9, linestyle=(0, (4, 2)), zorder=2)
    most = max(item.launches for item in score.groups)
    for item in score.groups:
        here = item.happened
        ax.plot(
            [item.predicted] * 2, [here.low, here.high], color=colour("rust-mid"), linewidth=1.4, zorder=3
        )
        for end in (here.low, here.high):
            ax.plot(
                [item.predicted - 0.012, item.predicted + 0.012], [end, end],
                color=colour("rust-mid"), linewidth=1.4, zorder=3,
            )  # fmt: skip
        size = 3.5 + 5.0 * (item.launches / most) ** 0.5
        ax.plot(
            item.predicted, here.share, marker="o", markersize=size, color=colour("rust"),
            markeredgecolor=colour("paper"), markeredgewidth=0.6, zorder=4,
        )  # fmt: skip
    ax.set_xticks(TICKS, [""] * len(TICKS))
    ax.set_yticks(TICKS, [_percent(value) for value in TICKS])
    ax.set_ylabel("happened: clean")


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _counts(ax: Axes, score: HistoryScore) -> None:
    """Draw how many launches stand in each group: clean ones filled, the others open and hatched."""
    quiet(ax, "bottom")
    most = max(item.launches for item in score.groups)
    ax.set_xlim(-0.02, 1.04)
    ax.set_ylim(0, 1.35 * most)
    for item in score.groups:
        ax.bar(item.predicted, item.clean, width=0.06, facecolor=colour("rust"), linewidth=0, zorder=3)
        ax.bar(
            item.predicted, item.launches - item.clean, bottom=item.clean, width=0.06,
            facecolor=colour("rust-faint"), edgecolor=colour("rust"), hatch="////", linewidth=0.6, zorder=3,
        )  # fmt: skip
        ax.text(
            item.predicted, item.launches + 0.06 * most, f"{item.clean}/{item.launches}",
            ha="center", va="bottom", fontsize=SMALL_PT,
        )  # fmt: skip
    ax.set_xticks(TICKS, [_percent(value) for value in TICKS])
    ax.set_xlabel("predicted odds; columns: launches, clean ones filled")


def picture_bytes(score: HistoryScore, ending: str) -> bytes:
    """Return the picture as a file of the given ending, ``.svg`` or ``.png``."""
    return file_bytes(draw_reliability(score), SIZE, ending)

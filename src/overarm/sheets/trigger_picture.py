"""Ladder and map in one picture: beside each other on the same scale, or one below the other on a phone."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from overarm.sheets import ladder, level_dwell
from overarm.sheets.canvas import SMALL_PT, TEXT_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import colour
from overarm.sheets.picture_file import file_bytes
from overarm.sheets.wording import opened

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.trigger.result import TriggerResult

NAME, TITLE = "trigger", "Trigger ladder and level-dwell map"
WIDE = Size(186.0, 104.0)
PHONE = Size(70.0, 184.0, narrow=True)
LETTERS, PHONE_LETTERS = 132, 48


def _headline(result: TriggerResult) -> str:
    point = f"level {result.level_mps2:g} m/s² for {result.dwell_s:g} s"
    return f"{result.name}: {point}. {opened(ladder.level_words(result))}."


def _empty(ax: Axes) -> None:
    quiet(ax)
    ax.axvspan(0, 1, facecolor=colour("panel"), edgecolor=colour("rule"), hatch="--", linewidth=0)
    ax.set_xlim(0, 1)
    words = "\n".join(textwrap.wrap(level_dwell.EMPTY, 34))
    ax.text(
        0.5, 0.5, words, transform=ax.transAxes, ha="center", va="center", fontsize=TEXT_PT, fontweight=600,
        bbox={"facecolor": colour("paper"), "edgecolor": "none", "boxstyle": "round,pad=0.4"},
    )  # fmt: skip


def draw_trigger(result: TriggerResult, size: Size) -> Picture:
    """Draw both, with one headline."""
    bars = ladder.ladder_data(result)
    ground = level_dwell.map_data(result, bars.top_mps2)
    empty = ground.false_per_hour is None and ground.missed_per_hundred is None
    lines = textwrap.wrap(_headline(result), PHONE_LETTERS if size.narrow else LETTERS)
    with sketch(NAME, size) as figure:
        page = axes(figure, size, Box(0, 0, size.width_mm, size.height_mm))
        quiet(page)
        page.set_xlim(0, size.width_mm)
        page.set_ylim(0, size.height_mm)
        top = size.height_mm - 2.0
        page.text(1.5, top, "\n".join(lines), va="top", fontsize=TEXT_PT, fontweight=600, linespacing=1.15)
        top -= 4.2 * len(lines) + 2.5
        boxes = _phone_boxes(page, top, size) if size.narrow else _wide_boxes(page, top)
        left, right = (axes(figure, size, box) for box in boxes)
        ladder.draw_onto(left, bars, narrow=size.narrow)
        if empty:
            _empty(right)
        else:
            level_dwell.draw_onto(right, ground, named=size.narrow)
        words = f"{ladder.words_of(bars)} {level_dwell.EMPTY if empty else level_dwell.words_of(ground)}"
        return to_picture(figure, NAME, TITLE, words)


def _title(page: Axes, at: tuple[float, float], words: str) -> None:
    page.text(*at, words, ha="left", va="center", fontsize=SMALL_PT, fontweight=600)


def _wide_boxes(page: Axes, top: float) -> tuple[Box, Box]:
    _title(page, (1.5, top), "what the cue reads, m/s²")
    ladder.key_onto(page, (42.0, top))
    level_dwell.key_onto(page, (106.0, top), rows=False)
    height = top - 3.5 - 13.5
    return Box(7.0, 13.5, 95.0, height), Box(106.0, 13.5, 77.0, height)


def _phone_boxes(page: Axes, top: float, size: Size) -> tuple[Box, Box]:
    _title(page, (1.5, top), "what the cue reads, m/s²")
    ladder.key_onto(page, (1.5, top - 4.0))
    half = 0.5 * (top - 4.0 - 37.5)
    first = Box(6.0, top - 8.0 - half, size.width_mm - 7.0, half)
    below = first.bottom_mm - 12.5
    _title(page, (1.5, below), "level, m/s², and dwell")
    level_dwell.key_onto(page, (1.5, below - 4.0), rows=True)
    return first, Box(6.0, 9.5, size.width_mm - 8.5, below - 11.5 - 9.5)


def picture_bytes(result: TriggerResult, ending: str, *, narrow: bool) -> bytes:
    """Return the picture of an answer as a file of the given ending, ``.svg`` or ``.png``."""
    size = PHONE if narrow else WIDE
    return file_bytes(draw_trigger(result, size), size, ending)

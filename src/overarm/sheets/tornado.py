"""Tornado: what one standard deviation of each of the most influential inputs does to the odds."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, NamedTuple

from overarm.sheets.canvas import (
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
from overarm.sheets.palette import colour
from overarm.sheets.picture_file import file_bytes
from overarm.sheets.wording import fixed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.odds.measured import MeasureResult

NAME = "tornado"
TITLE = "What one standard deviation does to the odds"
WIDE_MM, PHONE_MM = 150.0, 70.0
ROW_MM, PHONE_ROW_MM = 8.2, 13.0
HEAD_MM, FOOT_MM = 9.0, 9.5
NAMES_MM = 62.0  # of the wide layout; on a phone the name stands above its bars
LETTERS, PHONE_LETTERS = 44, 58
LEAST_REACH_POINTS = 1.0


class TornadoBar(NamedTuple):
    """One input: its words, and the change of the odds [points] one sd below and above."""

    words: str
    low_points: float
    high_points: float


class TornadoData(NamedTuple):
    """The bars, the largest first, and the odds that they start from, in words."""

    bars: tuple[TornadoBar, ...]
    odds_words: str
    give_points: float  # how far off a change may be at most (two standard errors)
    empty_words: str  # what to say where there is no bar


def tornado_data(result: MeasureResult) -> TornadoData:
    """Return what the picture shows of an answer."""
    from overarm.odds.format import percent

    bars = tuple(
        TornadoBar(
            f"{bar.words} (sd {bar.one_sd})" if bar.one_sd else bar.words, bar.low_points, bar.high_points
        )
        for bar in result.bars
    )
    errors = [max(bar.low_error_points, bar.high_error_points) for bar in result.bars]
    return TornadoData(bars, percent(result.clean), 2.0 * max(errors, default=0.0), result.reason)


def words_of(data: TornadoData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    parts = "; ".join(
        f"{bar.words}: {_points(bar.low_points)} one standard deviation below, "
        f"{_points(bar.high_points)} above"
        for bar in data.bars
    )
    return f"Odds now {data.odds_words}; {_give(data)}: {parts}."


def _give(data: TornadoData) -> str:
    return f"change in points, give or take {fixed(data.give_points, 1)}"


def _points(value: float) -> str:
    said = fixed(abs(value), 1)
    if float(said) == 0.0:
        return "0.0"
    return f"+{said}" if value > 0.0 else f"−{said}"


def size_of(data: TornadoData, *, narrow: bool) -> Size:
    """Return the size that the bars need."""
    row = PHONE_ROW_MM if narrow else ROW_MM
    height = HEAD_MM + FOOT_MM + row * max(1, len(data.bars))
    return Size(PHONE_MM if narrow else WIDE_MM, height, narrow)


def _reach(data: TornadoData) -> float:
    """Return how far the axis goes to either side [points]."""
    largest = max(max(abs(bar.low_points), abs(bar.high_points)) for bar in data.bars)
    return max(LEAST_REACH_POINTS, largest)


def _end(ax: Axes, value: float, y: float, reach: float, above: bool) -> None:
    """Draw one bar and its value: filled and rust above, open and hatched below."""
    ax.barh(
        y,
        value,
        height=0.30,
        facecolor=colour("rust" if above else "rust-faint"),
        edgecolor=colour("rust"),
        hatch="" if above else "////",
        linewidth=0.6,
        zorder=3,
    )
    right = value > 0.0 or (value == 0.0 and above)
    ax.text(
        value + (0.03 if right else -0.03) * reach,
        y,
        _points(value),
        ha="left" if right else "right",
        va="center",
        fontsize=SMALL_PT,
        color=colour("ink"),
        zorder=4,
    )


def _key(ax: Axes, at: tuple[float, float], size: Size) -> None:
    """Explain the two bars, in one line below."""
    from matplotlib.patches import Rectangle

    x, y = at
    for words, above in (("one sd below", False), ("one sd above", True)):
        ax.add_patch(
            Rectangle(
                (x, y - 1.0),
                5.0,
                2.0,
                facecolor=colour("rust" if above else "rust-faint"),
                edgecolor=colour("rust"),
                hatch="" if above else "////",
                linewidth=0.6,
            )
        )
        ax.text(x + 6.4, y, words, ha="left", va="center", fontsize=SMALL_PT, color=colour("muted"))
        x += 29.0 if size.narrow else 30.0


def draw_tornado(data: TornadoData, size: Size) -> Picture:
    """Draw the tornado: a row an input, two bars a row, the largest on top."""
    if not data.bars:
        return empty_picture(NAME, TITLE, "\n".join(textwrap.wrap(data.empty_words, 40)), size)
    left = 1.0 if size.narrow else NAMES_MM
    rows, reach = len(data.bars), _reach(data)
    with sketch(NAME, size) as figure:
        page = axes(figure, size, Box(0, 0, size.width_mm, size.height_mm))
        quiet(page)
        page.set_xlim(0, size.width_mm)
        page.set_ylim(0, size.height_mm)
        body = Box(left, FOOT_MM, size.width_mm - left - 1.0, size.height_mm - HEAD_MM - FOOT_MM)
        ax = axes(figure, size, body)
        quiet(ax)
        ax.set_xlim(-1.28 * reach, 1.28 * reach)
        ax.set_ylim(-0.5, rows - 0.5)
        for k, bar in enumerate(data.bars):
            y = float(rows - 1 - k)
            shift = -0.17 if size.narrow else 0.0
            ax.plot(
                [0.0, 0.0], [y + shift - 0.32, y + shift + 0.32], color=colour("ink"), linewidth=0.9, zorder=5
            )
            _end(ax, bar.low_points, y + shift + 0.17, reach, above=False)
            _end(ax, bar.high_points, y + shift - 0.17, reach, above=True)
            if k:
                ax.axhline(y + 0.5, color=colour("rule"), linewidth=0.4, zorder=1)
            _name(page, bar.words, body, (y + 0.5) / rows, size)
        middle = left + 0.5 * body.width_mm
        page.text(
            middle, size.height_mm - 2.2, f"odds now {data.odds_words}; {_give(data)}",
            ha="center", va="top", fontsize=SMALL_PT, color=colour("ink"), fontweight=600,
        )  # fmt: skip
        _key(page, (middle - 28.0, 4.0), size)
        return to_picture(figure, NAME, TITLE, words_of(data))


def _name(page: Axes, words: str, body: Box, share: float, size: Size) -> None:
    """Write what an input is called, beside its bars or above them."""
    y = body.bottom_mm + share * body.height_mm
    if size.narrow:
        shown = textwrap.shorten(
            words.replace("the tool's own guess", "own guess"), PHONE_LETTERS, placeholder="…"
        )
        page.text(1.0, y + 0.5 * PHONE_ROW_MM - 0.7, shown, ha="left", va="top", fontsize=SMALL_PT)
        return
    shown = "\n".join(textwrap.wrap(words, LETTERS))
    page.text(NAMES_MM - 2.0, y, shown, ha="right", va="center", fontsize=SMALL_PT, linespacing=1.0)


def picture_bytes(result: MeasureResult, ending: str, *, narrow: bool) -> bytes:
    """Return the tornado of an answer as a file of the given ending, ``.svg`` or ``.png``."""
    data = tornado_data(result)
    size = size_of(data, narrow=narrow)
    return file_bytes(draw_tornado(data, size), size, ending)

"""Trigger ladder: what the cue reads, from a board at rest to a throw, on one scale with the level across."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from overarm.sheets.canvas import LABEL, SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import colour
from overarm.sheets.wording import fixed, trimmed
from overarm.trigger.findings import hourly

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from overarm.trigger.ladder import Rung
    from overarm.trigger.result import TriggerResult

NAME, TITLE = "ladder", "Trigger ladder"
TICKS_MPS2 = (0, 1, 2, 3, 5, 8, 12, 18, 25, 40, 60, 100)
BAR_WIDE = 0.46
GESTURES = ("your shake", "your throw")
NAMES = {
    "board: tilt and bias": "board:\ntilt, bias",
    "nose-up carry": "nose-up\ncarry",
    "running, other": "running,\nother",
    "your shake": "your\nshake",
    "your throw": "your\nthrow",
}
PHONE_NAMES = {
    "board: tilt and bias": "board",
    "nose-up carry": "nose\nup",
    "carried": "carry",
    "running, other": "other",
    "wind-up": "wind\nup",
    "your shake": "shake",
    "your throw": "throw",
}
APART = 0.062  # of the height: level and advised are written at least this far apart
CLOSE = 0.28  # on the scale: a figure this close to the level goes below its bar


class LadderData(NamedTuple):
    """The rungs, and the level with what it does."""

    rungs: tuple[Rung, ...]
    level_mps2: float
    advised_mps2: float | None
    top_mps2: float
    words: str  # what the level does


def scaled(value: float) -> float:
    """Return a place on the scale of the ladder: the square root, so that steps and throws are both seen."""
    return math.sqrt(max(0.0, value))


def top_of(result: TriggerResult) -> float:
    """Return where the scale ends [m/s2]."""
    most = max([rung.most_mps2 for rung in result.ladder] + [1.5 * result.level_mps2])
    return 1.08 * most


def ladder_data(result: TriggerResult) -> LadderData:
    """Return what the picture shows of an answer."""
    advised = result.advice.margins
    return LadderData(
        result.ladder,
        result.level_mps2,
        None if advised is None else advised.level_mps2,
        top_of(result),
        level_words(result),
    )


def level_words(result: TriggerResult) -> str:
    """Return what the level does, in figures."""
    rate, missed = result.false_starts, result.missed
    false = "false starts not known" if rate.high is None else f"{hourly(rate.per_hour)} false starts an hour"
    if rate.high is not None:
        false = f"{false} (up to {hourly(rate.high)})"
    if missed.share is None:
        return f"{false}; missed not known"
    share, high = 100.0 * missed.share.share, 100.0 * missed.share.high
    return f"{false}; {share:.0f} missed in a hundred (up to {high:.0f})"


def words_of(data: LadderData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    said = [f"The level is {trimmed(data.level_mps2, 3)} m/s2: {data.words}."]
    for rung in data.rungs:
        if rung.source == "not known":
            said.append(f"{rung.name}: not known, {rung.words}.")
        else:
            said.append(
                f"{rung.name}: {fixed(rung.low_mps2, 1)} to {fixed(rung.high_mps2, 1)}, highest "
                f"{fixed(rung.most_mps2, 1)} m/s2 ({rung.source})."
            )
    if data.advised_mps2 is not None:
        said.append(f"Advised: {trimmed(data.advised_mps2, 3)} m/s2.")
    return " ".join(said)


def scale_axis(ax: Axes, top_mps2: float, *, named: bool) -> None:
    """Put the scale of the ladder on the upright axis."""
    ax.set_ylim(0.0, scaled(top_mps2))
    ticks = [tick for tick in TICKS_MPS2 if tick <= top_mps2]
    ax.set_yticks([scaled(tick) for tick in ticks], [str(tick) if named else "" for tick in ticks])
    for tick in ticks:
        ax.axhline(scaled(tick), color=colour("rule"), linewidth=0.35, zorder=0.2)


def _ink(rung: Rung) -> str:
    return "rust" if rung.name in GESTURES else "blue"


def _bar(ax: Axes, rung: Rung, x: float, level: float) -> None:
    """Draw one rung: filled if recorded, hatched and open if it is from a card or usual."""
    low, high, most = (scaled(value) for value in (rung.low_mps2, rung.high_mps2, rung.most_mps2))
    ink, seen = _ink(rung), rung.source == "recorded"
    pale = "rust-pale" if ink == "rust" else "blue-pale"
    ax.bar(
        x,
        max(high - low, 0.03),
        BAR_WIDE,
        bottom=low,
        facecolor=colour(pale if seen else "paper"),
        edgecolor=colour(ink),
        hatch="" if seen else "////",
        linewidth=1.1,
        zorder=3,
    )
    if most > high + 0.02:
        ax.plot([x, x], [high, most], color=colour(ink), linewidth=1.1, zorder=3)
        ax.plot([x - 0.12, x + 0.12], [most, most], color=colour(ink), linewidth=1.1, zorder=3)
    figure = (
        f"{_end(rung.low_mps2)}–{_end(rung.high_mps2)}"
        if rung.low_mps2 > 0.05
        else f"to {_end(rung.high_mps2)}"
    )
    above = max(most, high) + 0.07
    below = abs(above + 0.12 - level) < CLOSE and low > 0.45
    ax.text(
        x, low - 0.07 if below else above, figure, ha="center", va="top" if below else "bottom",
        fontsize=SMALL_PT - 0.4, color=colour("ink"), zorder=7, bbox=LABEL,
    )  # fmt: skip


def _end(value: float) -> str:
    return fixed(value, 0 if abs(value) >= 9.95 else 1)


def _unknown(ax: Axes, x: float, top: float) -> None:
    ax.bar(
        x, top, BAR_WIDE, bottom=0.0, facecolor=colour("paper"), edgecolor=colour("rule"), hatch="--",
        linewidth=0.0, zorder=1,
    )  # fmt: skip
    ax.text(
        x, 0.45 * top, "not known", rotation=90, ha="center", va="center", fontsize=SMALL_PT - 0.4,
        color=colour("muted"), zorder=7, bbox=LABEL,
    )  # fmt: skip


def _level(ax: Axes, data: LadderData, right: float) -> None:
    """Draw the level across, with its number, and the advised one as a dotted line."""
    y = scaled(data.level_mps2)
    ax.axhline(y, color=colour("ink"), linewidth=1.8, zorder=6)
    words = f"level {trimmed(data.level_mps2, 3)}"
    patch: dict[str, Any] = LABEL | {"facecolor": colour("ink")}
    ax.text(
        right, y, words, ha="right", va="center", fontsize=SMALL_PT, fontweight=600, color=colour("paper"),
        zorder=9, bbox=patch,
    )  # fmt: skip
    advised = data.advised_mps2
    if advised is None or math.isclose(advised, data.level_mps2):
        return
    at = scaled(advised)
    ax.axhline(at, color=colour("green"), linewidth=1.2, linestyle=(0, (1, 1.4)), zorder=5)
    apart = APART * scaled(data.top_mps2)
    off = 0.0 if abs(at - y) > apart else math.copysign(apart - abs(at - y), at - y)
    ax.text(
        right, at + off, f"advised {trimmed(advised, 3)}", ha="right", va="center", fontsize=SMALL_PT,
        fontweight=600, color=colour("green"), zorder=9, bbox=LABEL,
    )  # fmt: skip


def draw_onto(ax: Axes, data: LadderData, *, narrow: bool) -> None:
    """Draw the ladder onto axes: names below, the scale at the left."""
    quiet(ax, "left")
    scale_axis(ax, data.top_mps2, named=True)
    count = len(data.rungs)
    right = count - 0.5 + (0.75 if narrow else 0.9)
    ax.set_xlim(-0.5, right)
    for x, rung in enumerate(data.rungs):
        if rung.source == "not known":
            _unknown(ax, x, scaled(data.top_mps2))
        else:
            _bar(ax, rung, x, scaled(data.level_mps2))
        name = (PHONE_NAMES if narrow else NAMES).get(rung.name, rung.name)
        for line, words in enumerate(name.split("\n")):
            ax.annotate(
                words, (x, 0.0), xytext=(0.0, -11.0 - 8.6 * line), textcoords="offset points", ha="center",
                va="baseline", fontsize=SMALL_PT - (0.6 if narrow else 0.2), color=colour(_ink(rung)),
                fontweight=600, annotation_clip=False,
            )  # fmt: skip
    _level(ax, data, right)


def key_onto(page: Axes, at: tuple[float, float]) -> None:
    """Explain filled and hatched bars in one line; ``at`` [mm]."""
    from matplotlib.patches import Rectangle

    x, y = at
    for words, seen, wide in (("recorded", True, 18.0), ("from the card, or usual", False, 0.0)):
        page.add_patch(
            Rectangle(
                (x, y - 1.0),
                4.2,
                2.0,
                facecolor=colour("blue-pale" if seen else "paper"),
                edgecolor=colour("blue"),
                hatch="" if seen else "//////",
                linewidth=0.6,
            )
        )
        page.text(x + 5.2, y, words, ha="left", va="center", fontsize=SMALL_PT - 0.3, color=colour("muted"))
        x += wide


def draw_ladder(data: LadderData, size: Size) -> Picture:
    """Draw the ladder as a picture of its own."""
    with sketch(NAME, size) as figure:
        page = axes(figure, size, Box(0, 0, size.width_mm, size.height_mm))
        quiet(page)
        page.set_xlim(0, size.width_mm)
        page.set_ylim(0, size.height_mm)
        left, head, foot = 7.0, 9.0 if size.narrow else 8.0, 15.0
        box = Box(left, foot, size.width_mm - left - 1.0, size.height_mm - head - foot)
        ax = axes(figure, size, box)
        draw_onto(ax, data, narrow=size.narrow)
        page.text(
            1.0,
            size.height_mm - 3.0,
            "what the cue reads, m/s²",
            va="center",
            fontsize=SMALL_PT,
            fontweight=600,
        )
        key_onto(page, (1.0 if size.narrow else 44.0, size.height_mm - (6.6 if size.narrow else 3.0)))
        return to_picture(figure, NAME, TITLE, words_of(data))


def heights(values: np.ndarray) -> np.ndarray:
    """Return places on the scale of the ladder for levels [m/s2]."""
    return np.asarray(np.sqrt(np.maximum(0.0, values)))

"""Timeline strip: one launch from the cue to handover, and a bad one beside it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.sheets.canvas import LABEL, SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import colour
from overarm.sheets.wording import fixed, trimmed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.float64]
SCRATCH_MPS = 25.0
CUT_MPS = 60.0


class Course(NamedTuple):
    """One launch; times from detection."""

    time_s: Numbers
    felt_mps2: Numbers
    throttle: Numbers
    tip_mps: Numbers
    speed_ratio: Numbers
    height_m: Numbers
    states: tuple[tuple[str, float, float], ...]  # name, from, to
    outcome: str


class StripData(NamedTuple):
    """A middle launch, a bad one if there was any, the jerk level, and the time shown."""

    middle: Course
    bad: Course | None
    level_mps2: float
    until_s: float


class _Lane(NamedTuple):
    name: str
    unit: str
    field: str
    low: float
    high: float
    marks: tuple[float, ...]


def _felt_limits(courses: list[Course], until_s: float) -> tuple[float, float]:
    """Return the scale of the felt jerk: all of it, peaks too."""
    shown = np.concatenate([c.felt_mps2[(c.time_s <= until_s) & (c.time_s >= -0.5)] for c in courses])
    if not shown.size:
        return -6.0, 12.0
    return min(-6.0, 1.08 * float(shown.min())), max(12.0, 1.08 * float(shown.max()))


def _upper(high: float) -> float:
    """Return the largest round figure that a scale up to `high` still shows clear of its edge."""
    unit = 10.0 ** math.floor(math.log10(high))
    steps = (8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.2, 1.0, 0.8, 0.5)
    return unit * next(step for step in steps if unit * step <= 0.97 * high)


def _tip_marks(high: float) -> tuple[float, ...]:
    """Return the marks of the tip speed; no upper one so near to the cutting speed that they run together."""
    upper = _upper(high)
    return (SCRATCH_MPS, CUT_MPS, upper) if upper >= 2.0 * CUT_MPS else (SCRATCH_MPS, max(upper, CUT_MPS))


def _felt_marks(level_mps2: float, low: float, high: float) -> tuple[float, ...]:
    """Return the marks of the felt jerk; no upper one where the two numbers would run together."""
    upper = _upper(high)
    return (level_mps2, upper) if upper - level_mps2 >= 0.3 * (high - low) else (level_mps2,)


def _lanes(data: StripData) -> tuple[_Lane, ...]:
    both = [c for c in (data.middle, data.bad) if c is not None]

    def top(field: str, least: float) -> float:
        seen = [getattr(c, field)[c.time_s <= data.until_s] for c in both]
        return max(least, *(1.08 * float(np.max(values)) for values in seen if values.size))

    felt = _felt_limits(both, data.until_s)
    tip, ratio, height = top("tip_mps", 80.0), top("speed_ratio", 1.65), top("height_m", 3.0)
    return (
        _Lane("Felt jerk", "m/s²", "felt_mps2", *felt, _felt_marks(data.level_mps2, *felt)),
        _Lane("Throttle", "%", "throttle", 0.0, 1.1, (0.0, 1.0)),
        _Lane("Tip speed", "m/s", "tip_mps", 0.0, tip, _tip_marks(tip)),
        _Lane("Speed ratio", "V/Vs", "speed_ratio", 0.0, ratio, (1.0, _upper(ratio))),
        _Lane("Height", "m", "height_m", 0.0, height, (0.0, _upper(height))),
    )


def tip_bands(ax: Axes, right: float) -> None:
    """Shade tip speeds that broke a skin substitute in one published test; none is called harmless."""
    top = ax.get_ylim()[1]
    ax.axhspan(
        SCRATCH_MPS,
        min(CUT_MPS, top),
        facecolor=colour("panel"),
        edgecolor=colour("rule"),
        hatch="////",
        linewidth=0,
        zorder=0,
    )
    if top > CUT_MPS:
        ax.axhspan(
            CUT_MPS,
            top,
            facecolor=colour("stop-pale"),
            edgecolor=colour("stop"),
            hatch="xxxx",
            linewidth=0,
            zorder=0,
            alpha=0.55,
        )
    _ = right


def _state_row(ax: Axes, course: Course, until_s: float, ink: str) -> None:
    quiet(ax)
    ax.set_ylim(0, 1)
    left = ax.get_xlim()[0]
    hatches = ("", "////", "\\\\\\\\", "", "----", "")
    width = until_s - left
    for k, (name, start, end) in enumerate(course.states):
        a, b = max(start, left), min(end, until_s)
        if b <= a:
            continue
        ax.axvspan(
            a,
            b,
            0.05,
            0.95,
            facecolor=colour("panel"),
            edgecolor=colour("rule"),
            hatch=hatches[k % 6],
            linewidth=0.6,
        )
        if (b - a) / width > 0.013 * len(name) * 60 / ax.get_window_extent().width * ax.figure.dpi / 10:
            ax.text(
                0.5 * (a + b),
                0.47,
                name,
                ha="center",
                va="center",
                fontsize=SMALL_PT,
                color=colour(ink),
                bbox=LABEL,
            )


def _lane_axes(ax: Axes, lane: _Lane, narrow: bool) -> None:
    quiet(ax)
    ax.set_ylim(lane.low, lane.high)
    if narrow:
        ax.text(
            0.0,
            1.02,
            f"{lane.name}, {lane.unit}",
            transform=ax.transAxes,
            va="bottom",
            fontweight=600,
            fontsize=SMALL_PT,
        )
    else:
        ax.text(
            -0.035,
            0.52,
            lane.name,
            transform=ax.transAxes,
            ha="right",
            va="bottom",
            fontweight=600,
            fontsize=SMALL_PT,
        )
        ax.text(
            -0.035,
            0.46,
            lane.unit,
            transform=ax.transAxes,
            ha="right",
            va="top",
            fontsize=SMALL_PT,
            color=colour("muted"),
        )
    _scale_marks(ax, lane, narrow)


def _scale_marks(ax: Axes, lane: _Lane, narrow: bool) -> None:
    """Draw the figures of the scale: all of them beside a wide lane, the upper one inside a narrow one."""
    left = ax.get_xlim()[0]
    for mark in lane.marks:
        shown = trimmed(100 * mark, 3) if lane.unit == "%" else trimmed(mark, 3)
        ax.axhline(mark, color=colour("rule"), linewidth=0.6, zorder=0.5)
        if not narrow:
            low, high = mark == 0.0, mark == SCRATCH_MPS or mark > 0.85 * lane.high
            side = "bottom" if low else "top" if high else "center"
            ax.annotate(
                shown,
                (left, mark),
                xytext=(-2, 0),
                textcoords="offset points",
                ha="right",
                va=side,
                fontsize=SMALL_PT - 0.5,
                color=colour("muted"),
            )
    if narrow:
        ax.annotate(
            trimmed(100 * lane.marks[-1] if lane.unit == "%" else lane.marks[-1], 3),
            (1.0, lane.marks[-1]),
            xycoords=("axes fraction", "data"),
            ha="right",
            va="center",
            fontsize=SMALL_PT - 0.5,
            color=colour("muted"),
            zorder=5,
            bbox=LABEL,
        )


def _draw_lane(ax: Axes, lane: _Lane, data: StripData) -> None:
    middle = data.middle
    ax.plot(middle.time_s, getattr(middle, lane.field), color=colour("rust"), linewidth=1.5, zorder=3)
    if data.bad is not None:
        bad = data.bad
        ax.plot(
            bad.time_s,
            getattr(bad, lane.field),
            color=colour("ink"),
            linewidth=1.1,
            linestyle=(0, (2.2, 1.4)),
            zorder=4,
        )


def words_of(data: StripData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    states = ", then ".join(f"{name} from {fixed(start, 1)} s" for name, start, _ in data.middle.states)
    words = f"A middle launch ({data.middle.outcome}) in seconds from detection: {states}."
    if data.bad is not None:
        low = (
            fixed(float(np.min(data.bad.speed_ratio[data.bad.time_s > 0.3])), 2)
            if data.bad.time_s[-1] > 0.3
            else ""
        )
        words += f" A bad one ended {data.bad.outcome}" + (
            f"; its speed ratio fell to {low}." if low else "."
        )
    return words


def draw_strip(data: StripData, size: Size) -> Picture:
    """Draw the timeline strip."""
    left = 2.0 if size.narrow else 27.0
    width = size.width_mm - left - 2
    gap = 4.4 if size.narrow else 1.3
    lanes = _lanes(data)
    row = 4.6
    rows = 2 if data.bad is not None else 1
    head = rows * (row + 0.6) + (8.0 if size.narrow else 0.0)
    lane_mm = (size.height_mm - head - 9.0) / len(lanes) - gap
    start = -0.5 if data.until_s < 8 else -0.8
    with sketch("strip", size) as figure:
        drawn = []
        for k, lane in enumerate(lanes):
            bottom = 9.0 + (len(lanes) - 1 - k) * (lane_mm + gap)
            ax = axes(figure, size, Box(left, bottom, width, lane_mm))
            ax.set_xlim(start, data.until_s)
            _lane_axes(ax, lane, size.narrow)
            if lane.field == "tip_mps":
                tip_bands(ax, data.until_s)
            _draw_lane(ax, lane, data)
            drawn.append(ax)
        quiet(drawn[-1], "bottom")
        drawn[-1].set_xlabel("seconds from detection", fontsize=SMALL_PT, labelpad=1)
        for k, (course, ink) in enumerate(((data.middle, "rust"), (data.bad, "ink"))):
            if course is None:
                continue
            y = size.height_mm - (k + 1) * (row + 0.6) - (4.0 * (k + 1) if size.narrow else 0)
            ax = axes(figure, size, Box(left, y, width, row))
            ax.set_xlim(start, data.until_s)
            _state_row(ax, course, data.until_s, ink)
            _row_name(ax, k, course.outcome, size.narrow)
        return to_picture(figure, "strip", "Timeline strip", words_of(data))


def _row_name(ax: Axes, k: int, outcome: str, narrow: bool) -> None:
    ink, line = (("rust", "-"), ("ink", (0, (2.2, 1.4))))[k]
    words = ("middle: " if k == 0 else "bad: ") + outcome
    if narrow:
        ax.text(
            0.0,
            1.05,
            words,
            transform=ax.transAxes,
            va="bottom",
            fontsize=SMALL_PT,
            fontweight=600,
            color=colour(ink),
        )
        return
    ax.text(
        -0.008,
        0.62,
        words,
        transform=ax.transAxes,
        ha="right",
        va="center",
        fontsize=SMALL_PT,
        fontweight=600,
        color=colour(ink),
    )
    ax.plot(
        [-0.12, -0.008],
        [0.06, 0.06],
        transform=ax.transAxes,
        color=colour(ink),
        linewidth=1.5,
        linestyle=line,
        clip_on=False,
    )

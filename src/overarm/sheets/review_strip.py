"""Timeline strip of a review: one launch as recorded, over what was to be expected, from release."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from overarm.review.result import Band, LaunchReview
from overarm.review.shown import EVENT_NAMES
from overarm.sheets.canvas import LABEL, SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import colour
from overarm.sheets.wording import fixed, trimmed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NAMES = {
    "forward force": ("Felt forward", "m/s²", 1.0),
    "throttle": ("Throttle", "%", 100.0),
    "airspeed": ("Airspeed", "m/s", 1.0),
    "ground speed": ("Ground speed", "m/s", 1.0),
    "height": ("Height", "m", 1.0),
    "pitch": ("Pitch", "deg", math.degrees(1.0)),
}
SHOWN_EVENTS = (
    "detection", "release", "clear", "first_throttle", "first_spin", "thrust_match", "low_point", "climb",
    "handover", "ground",
)  # fmt: skip
BEFORE_S = 1.0
# What decides a launch happens in its first seconds: they take most of the width.
KNEE_S, SQUEEZE, EVEN_S = 2.5, 4.0, 4.0
NEAR_GROUND_M, HIGH_M = 4.0, 12.0
ROW_MM, PHASE_MM = 4.0, 4.6
LETTER_MM = 1.42
MOST_POINTS = 700
LEAST = {"height": (0.0, 4.0), "throttle": (0.0, 1.05), "airspeed": (0.0, 12.0), "ground speed": (0.0, 12.0)}


class _Flag(NamedTuple):
    name: str
    at_s: float
    at_mm: float  # from the left of the lanes
    row: int
    before: bool  # its name stands to the left


def draw_review_strip(item: LaunchReview, size: Size, name: str = "strip") -> Picture:
    """Draw the strip of one launch: the record in rust, 5 to 95 % of what was to be expected behind it.

    A launch without a release, or without any channel to show, gets a picture that says so.
    """
    bands = [band for band in item.bands if band.seen_t_s.size or band.t_s.size]
    release = item.record.events.get("release")
    if release is None or not bands:
        from overarm.sheets.canvas import empty_picture

        return empty_picture(name, "Timeline strip", "There is no release in it, so no strip is drawn", size)
    scale = scale_of(_until(bands))
    left = 2.0 if size.narrow else 24.0
    width = size.width_mm - left - 2.5
    flags = _flags(item, release.t_s, scale, width)
    rows = 1 + max((flag.row for flag in flags), default=0)
    head = ROW_MM * rows + PHASE_MM + 1.5
    gap = 4.6 if size.narrow else 1.4
    lane_mm = (size.height_mm - head - 9.0) / len(bands) - gap
    with sketch(name, size) as figure:
        drawn = []
        for k, band in enumerate(bands):
            bottom = 9.0 + (len(bands) - 1 - k) * (lane_mm + gap)
            ax = axes(figure, size, Box(left, bottom, width, lane_mm))
            _time_axis(ax, scale)
            _draw_lane(ax, band, size.narrow)
            drawn.append(ax)
        _draw_phases(figure, item, (size, left, width, head), (release.t_s, scale))
        _draw_flags(figure, flags, drawn, (size, left))
        quiet(drawn[-1], "bottom")
        closer = f"; closer together from {KNEE_S:g} s on" if scale.knee < scale.end else ""
        drawn[-1].set_xlabel(f"seconds from release{closer}", fontsize=SMALL_PT, labelpad=1)
        ticks = [t for t in (-1.0, 0.0, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0) if t <= scale.end]
        drawn[-1].set_xticks(ticks, [fixed(t, 0) for t in ticks])
        return to_picture(figure, name, "Timeline strip", words_of(item))


def words_of(item: LaunchReview) -> str:
    """Return what the strip says, for a reader who cannot see it."""
    release = item.record.events.get("release")
    zero = release.t_s if release is not None else 0.0
    told = [
        f"{EVENT_NAMES[name]} at {fixed(item.record.events[name].t_s - zero, 2)} s"
        for name in SHOWN_EVENTS
        if name in item.record.events and name != "release"
    ]
    behind = " over 5 to 95 % of what was to be expected" if item.prediction is not None else ""
    return f"One launch as recorded{behind}, in seconds from release: {', '.join(told)}."


def _until(bands: list[Band]) -> float:
    ends = [float(band.seen_t_s[-1]) for band in bands if band.seen_t_s.size]
    return max(1.0, max(ends, default=1.0))


class Scale(NamedTuple):
    """An axis: as it is up to the knee, so many times closer together from there on."""

    end: float
    knee: float
    squeeze: float = SQUEEZE

    def place(self, value: Any) -> Any:
        """Return where values lie on the axis."""
        beyond = np.maximum(np.asarray(value, dtype=np.float64) - self.knee, 0.0)
        return np.asarray(value) - beyond * (1.0 - 1.0 / self.squeeze)

    def value(self, place: Any) -> Any:
        """Return the values at places on the axis."""
        beyond = np.maximum(np.asarray(place, dtype=np.float64) - self.knee, 0.0)
        return np.asarray(place) + beyond * (self.squeeze - 1.0)

    @property
    def long(self) -> float:
        """Return how long an axis of time is, in seconds of its first part."""
        return float(self.place(self.end)) + BEFORE_S


def scale_of(until: float) -> Scale:
    """Return the axis of a strip that ends at a time [s]; a short one is even."""
    return Scale(until, KNEE_S if until > EVEN_S else until)


def _time_axis(ax: Axes, scale: Scale) -> None:
    ax.set_xscale("function", functions=(scale.place, scale.value))
    ax.set_xlim(-BEFORE_S, scale.end)
    ax.xaxis.set_minor_locator(_no_ticks())


def _no_ticks() -> Any:
    from matplotlib.ticker import NullLocator

    return NullLocator()


def _limits(band: Band) -> tuple[float, float]:
    """Return the scale of a lane: what was recorded, and the expected where it is not far off."""
    low, high = LEAST.get(band.name, (math.inf, -math.inf))
    for values in (band.seen, band.p5, band.p95):
        if values.size:
            low, high = min(low, float(np.min(values))), max(high, float(np.max(values)))
    room = 0.06 * max(high - low, 1e-6)
    return low - (room if low < 0.0 else 0.0), high + room


def _draw_lane(ax: Axes, band: Band, narrow: bool) -> None:
    name, unit, scale = NAMES[band.name]
    quiet(ax)
    low, high = _limits(band)
    ax.set_ylim(scale * low, scale * high)
    near = band.name == "height" and high > HIGH_M
    if near:  # what decides is near the ground: it takes half of the lane
        heights = Scale(high, NEAR_GROUND_M, (high - NEAR_GROUND_M) / NEAR_GROUND_M)
        ax.set_yscale("function", functions=(heights.place, heights.value))
        ax.set_ylim(low, high)
    ax.axhline(0.0, color=colour("rule"), linewidth=0.6, zorder=0.5)
    if band.t_s.size:
        ax.fill_between(
            band.t_s,
            scale * band.p5,
            scale * band.p95,
            facecolor=colour("panel"),
            edgecolor=colour("rule"),
            hatch="////",
            linewidth=0.0,
            zorder=1,
        )
        for edge in (band.p5, band.p95):
            ax.plot(band.t_s, scale * edge, color=colour("rule"), linewidth=0.6, zorder=1.5)
        ax.plot(
            band.t_s,
            scale * band.p50,
            color=colour("muted"),
            linewidth=0.9,
            linestyle=(0, (2.2, 1.4)),
            zorder=2,
        )
    if band.seen_t_s.size:
        thin = slice(None, None, max(1, band.seen_t_s.size // MOST_POINTS))
        dotted = band.seen_t_s.size < 12 * (band.seen_t_s[-1] - band.seen_t_s[0] + 0.1)
        ax.plot(
            band.seen_t_s[thin],
            scale * band.seen[thin],
            color=colour("rust"),
            linewidth=1.5,
            marker="o" if dotted else None,
            markersize=1.8,
            zorder=3,
        )
    _lane_words(ax, name, unit, narrow)
    for mark in _marks(high * scale, near=near):
        _mark(ax, mark, narrow)


def _lane_words(ax: Axes, name: str, unit: str, narrow: bool) -> None:
    if narrow:
        where: dict[str, Any] = {"transform": ax.transAxes, "va": "bottom", "fontsize": SMALL_PT}
        ax.text(0.0, 1.02, f"{name}, {unit}", fontweight=600, **where)
    else:
        ax.text(
            -0.04,
            0.52,
            name,
            transform=ax.transAxes,
            ha="right",
            va="bottom",
            fontweight=600,
            fontsize=SMALL_PT,
        )
        ax.text(
            -0.04,
            0.46,
            unit,
            transform=ax.transAxes,
            ha="right",
            va="top",
            fontsize=SMALL_PT,
            color=colour("muted"),
        )


def _marks(high: float, *, near: bool) -> tuple[float, ...]:
    """Return the figures beside a lane: a round upper one, and the end of the part near the ground."""
    if high <= 0.0:
        return ()
    return (NEAR_GROUND_M, _upper(high)) if near else (_upper(high),)


def _mark(ax: Axes, mark: float, narrow: bool) -> None:
    ax.axhline(mark, color=colour("rule"), linewidth=0.4, zorder=0.4)
    place = (1.0, mark) if narrow else (0.0, mark)
    ax.annotate(
        trimmed(mark, 3),
        place,
        xycoords=("axes fraction", "data"),
        xytext=(0 if narrow else -2, 0),
        textcoords="offset points",
        ha="right",
        va="center",
        fontsize=SMALL_PT - 0.5,
        color=colour("muted"),
        zorder=5,
        bbox=LABEL if narrow else None,
    )


def _upper(high: float) -> float:
    """Return the largest round figure that a scale up to ``high`` still shows clear of its edge."""
    unit = 10.0 ** math.floor(math.log10(high))
    steps = (8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.2, 1.0, 0.8, 0.5)
    return unit * next(step for step in steps if unit * step <= 0.97 * high)


def _flags(item: LaunchReview, zero_s: float, scale: Scale, width_mm: float) -> list[_Flag]:
    """Return the events with rows for their names, so that no two names run together."""
    across = width_mm / scale.long
    ends: list[float] = []
    flags = []
    there = item.record.events
    events = [(name, there[name].t_s - zero_s) for name in SHOWN_EVENTS if name in there]
    for name, at_s in sorted(events, key=lambda pair: pair[1]):
        if not -BEFORE_S <= at_s <= scale.end:
            continue
        at_mm = (float(scale.place(at_s)) + BEFORE_S) * across
        wide = LETTER_MM * len(EVENT_NAMES[name]) + 2.5
        start = at_mm if at_mm + wide <= width_mm else at_mm - wide
        row = next((k for k, end in enumerate(ends) if end <= start), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = max(start + wide, at_mm)
        flags.append(_Flag(name, at_s, at_mm, row, start < at_mm))
    return flags


def _draw_flags(figure: Figure, flags: list[_Flag], lanes: list[Axes], place: tuple[Size, float]) -> None:
    size, left = place
    for flag in flags:
        strong = flag.name in ("release", "first_spin", "clear")
        for ax in lanes:
            ax.axvline(
                flag.at_s,
                color=colour("ink" if strong else "rule"),
                linewidth=0.8 if strong else 0.6,
                linestyle="-" if strong else (0, (1.2, 1.6)),
                zorder=2.5,
            )
        x = left + flag.at_mm
        y = size.height_mm - (flag.row + 1) * ROW_MM + 0.8
        figure.text(
            x / size.width_mm,
            y / size.height_mm,
            f"{EVENT_NAMES[flag.name]}▾" if flag.before else f"▾{EVENT_NAMES[flag.name]}",
            ha="right" if flag.before else "left",
            va="bottom",
            fontsize=SMALL_PT - 0.6,
            fontweight=600 if strong else 400,
            color=colour("ink" if strong else "muted"),
        )


def _draw_phases(
    figure: Figure,
    item: LaunchReview,
    place: tuple[Size, float, float, float],
    times: tuple[float, Scale],
) -> None:
    size, left, width, head = place
    zero_s, scale = times
    ax = axes(figure, size, Box(left, size.height_mm - head + 0.6, width, PHASE_MM))
    quiet(ax)
    _time_axis(ax, scale)
    ax.set_ylim(0.0, 1.0)
    hatches = ("", "////", "\\\\\\\\", "", "----", "")
    for k, span in enumerate(item.record.spans):
        a, b = max(span.from_s - zero_s, -BEFORE_S), min(span.to_s - zero_s, scale.end)
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
        across = width / scale.long
        ends = float(scale.place(a)), float(scale.place(b))
        if (ends[1] - ends[0]) * across > LETTER_MM * len(span.phase.value) + 3.0:
            ax.text(
                float(scale.value(0.5 * (ends[0] + ends[1]))),
                0.47,
                span.phase.value,
                ha="center",
                va="center",
                fontsize=SMALL_PT - 0.6,
                bbox=LABEL,
            )

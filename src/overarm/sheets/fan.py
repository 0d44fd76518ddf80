"""Launch fan: the paths from the hand, seen from the side and to scale.

Two strips of the same drawing: the first metres enlarged, where a launch is won or lost, and the
whole climb with the obstacles. Both have equal scales along and up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.sheets.canvas import (
    LABEL,
    SMALL_PT,
    TEXT_PT,
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
from overarm.sheets.scenery import draw_ground, draw_obstacle, draw_start
from overarm.sheets.wording import fixed, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.float64]
LEVELS = (5.0, 25.0, 50.0, 75.0, 95.0)
NEAR_M = 26.0
SLOW, FAIR = 1.05, 1.25
GRID_KNOTS = 400
NO_FLIGHT = "Not one of the sampled launches left the hand, so there is no path to draw."


class Path(NamedTuple):
    """One launch after release: distance along the ground track from the hand, height, and V/Vs."""

    distance_m: Numbers
    height_m: Numbers
    speed_ratio: Numbers


class Obstacle(NamedTuple):
    """Something that stands in the way, as the site card names it."""

    name: str
    distance_m: float
    height_m: float


class FanData(NamedTuple):
    """What the fan shows."""

    paths: tuple[Path, ...]
    obstacles: tuple[Obstacle, ...]
    handover_m: float
    dip_m: float
    release_height_m: float
    ramp: tuple[float, float] | None  # length [m] and angle [rad]; None: thrown by hand
    headwind_mps: float


class Fan(NamedTuple):
    """Percentiles of height, and the middle speed ratio, over distance."""

    distance_m: Numbers
    height_m: Numbers  # (5, n)
    speed_ratio: Numbers  # (n,)
    shown_m: float  # half of the launches end before this distance


def fan_of(data: FanData) -> Fan:
    """Return the percentiles of height over distance.

    A launch that came down stays on the ground, one that was handed over stays at its height, so
    that no percentile is flattered by launches that are no longer in the sample.
    """
    ends = np.array([path.distance_m[-1] for path in data.paths])
    reach = max(float(np.percentile(ends, 95)), NEAR_M)
    grid = np.linspace(0.0, reach, GRID_KNOTS)
    heights = np.empty((len(data.paths), GRID_KNOTS))
    ratios = np.empty_like(heights)
    for k, path in enumerate(data.paths):
        last = float(path.height_m[-1])
        right = last if last > 0.5 else 0.0
        heights[k] = np.interp(grid, path.distance_m, path.height_m, right=right)
        ratios[k] = np.interp(grid, path.distance_m, path.speed_ratio)
    middle = np.median(ratios, axis=0)
    return Fan(grid, np.percentile(heights, LEVELS, axis=0), middle, float(np.median(ends)))


def _ribbons(ax: Axes, fan: Fan, upto_m: float) -> None:
    use = fan.distance_m <= upto_m
    x = fan.distance_m[use]
    p5, p25, p50, p75, p95 = (row[use] for row in fan.height_m)
    ax.fill_between(x, p5, p95, facecolor=colour("rust-faint"), linewidth=0, zorder=2)
    ax.fill_between(x, p25, p75, facecolor=colour("rust-pale"), linewidth=0, zorder=2.1)
    for edge in (p5, p95):
        ax.plot(x, edge, color=colour("rust-mid"), linewidth=0.6, linestyle=(0, (4, 2)), zorder=2.2)
    _by_speed(ax, x, p50, fan.speed_ratio[use])


def _speed_style(ratio: float) -> dict[str, object]:
    if ratio < SLOW:
        return {"color": colour("ink"), "linewidth": 2.6, "linestyle": (0, (1.1, 0.7))}
    if ratio < FAIR:
        return {"color": colour("rust"), "linewidth": 2.4, "linestyle": "-"}
    return {"color": colour("rust"), "linewidth": 1.2, "linestyle": "-"}


def _by_speed(ax: Axes, x: Numbers, y: Numbers, ratio: Numbers) -> None:
    """Draw a path whose weight and pattern tell how far it is above the stall."""
    classes = np.digitize(ratio, (SLOW, FAIR))
    cuts = np.flatnonzero(np.diff(classes)) + 1
    for part in np.split(np.arange(len(x)), cuts):
        if part.size == 0:
            continue
        stop = min(part[-1] + 2, len(x))
        line = slice(part[0], stop)
        ax.plot(x[line], y[line], zorder=3, **_speed_style(float(ratio[part[0]])))  # type: ignore[arg-type]


def _legend(head: Axes, narrow: bool) -> None:
    """The key to the middle line, in the header row of the whole climb."""
    rows = ((1.4, "above 1.25 Vs"), (1.15, "1.05 to 1.25"), (1.0, "below 1.05 Vs"))
    x, y = (0.0, 0.2) if narrow else (0.19, 0.5)
    long = 0.07 if narrow else 0.03
    for ratio, words in rows:
        head.plot([x, x + long], [y, y], **_speed_style(ratio))  # type: ignore[arg-type]
        head.text(x + (0.085 if narrow else 0.037), y, words, va="center", fontsize=SMALL_PT)
        x += 0.335 if narrow else 0.135


def _scale(ax: Axes, left_m: float, right_m: float, box: Box) -> float:
    """Give the axes equal scales; return the height shown [m]."""
    shown = (right_m - left_m) * box.height_mm / box.width_mm
    low = -0.07 * shown
    ax.set_xlim(left_m, right_m)
    ax.set_ylim(low, low + shown)
    return low + shown


def _near(ax: Axes, data: FanData, fan: Fan, box: Box) -> None:
    right = NEAR_M if box.width_mm > 100 else 0.55 * NEAR_M
    _scale(ax, -2.6, right, box)
    quiet(ax, "bottom")
    draw_ground(ax)
    _ribbons(ax, fan, right)
    draw_start(ax, data.release_height_m, data.ramp)
    ax.axhline(data.dip_m, color=colour("stop"), linewidth=0.9, linestyle=(0, (1.5, 1.5)), zorder=1.5)
    ax.annotate(
        f"below {fixed(data.dip_m, 1)} m is a dip",
        (0.25, data.dip_m),
        xytext=(0, 1),
        textcoords="offset points",
        va="bottom",
        fontsize=SMALL_PT,
        color=colour("stop"),
        zorder=5,
    )
    _height_scale(ax)
    ticks = np.arange(0, right + 0.1, 5)
    ax.set_xticks(ticks, [f"{t:.0f}" for t in ticks[:-1]] + [f"{ticks[-1]:.0f} m"])
    _low_note(ax, data, fan, right, box.width_mm < 100)


def _height_scale(ax: Axes) -> None:
    """Draw a scale of height on the left edge: a mark every metre or two, with its figure."""
    left, top = ax.get_xlim()[0], ax.get_ylim()[1]
    step = 1 if top < 4.5 else 2
    ax.plot([left, left], [0.0, top], color=colour("ink"), linewidth=0.9, zorder=4, clip_on=False)
    marks = np.arange(step, 0.97 * top, step)
    for metres in marks:
        ax.annotate(
            f"{metres:.0f} m" if metres == marks[-1] else f"{metres:.0f}",
            (left, metres),
            xytext=(5, 0),
            textcoords="offset points",
            va="center",
            fontsize=SMALL_PT,
            zorder=5,
        )
        ax.plot([left, left + 0.12], [metres, metres], color=colour("ink"), linewidth=0.7, zorder=4)


def _low_note(ax: Axes, data: FanData, fan: Fan, right_m: float, narrow: bool) -> None:
    use = fan.distance_m <= right_m
    low = fan.height_m[0][use]
    k = int(np.argmin(low[1:])) + 1
    x, y = float(fan.distance_m[use][k]), float(low[k])
    if y >= data.release_height_m - 0.2:
        return
    ax.plot([x], [max(y, 0.0)], marker="v", markersize=4.5, color=colour("ink"), zorder=6, clip_on=False)
    words = (
        f"1 launch in 20 sinks below {fixed(y, 1)} m"
        if y > 0.05
        else "1 launch in 20 reaches the ground here"
    )
    words = words.replace("launch ", "").replace("reaches the ground here", "lands here") if narrow else words
    side = "left" if x < 0.5 * right_m else "right"
    ax.annotate(
        words,
        (x, max(y, 0.0)),
        xytext=(5 if side == "left" else -5, 14 if narrow else 3),
        textcoords="offset points",
        ha=side,
        va="bottom",
        fontsize=SMALL_PT,
        zorder=6,
        bbox=LABEL,
    )


def _far(ax: Axes, data: FanData, fan: Fan, box: Box) -> None:
    furthest = max((o.distance_m + 0.8 * o.height_m for o in data.obstacles), default=0.0)
    tallest = max([data.handover_m * 1.22, *(o.height_m + 5.0 for o in data.obstacles)])
    reach = max(min(fan.shown_m, 400.0), min(furthest, 400.0), tallest * box.width_mm / box.height_mm, 40.0)
    left, right = -0.03 * reach, 1.03 * reach
    _scale(ax, left, right, box)
    quiet(ax, "bottom")
    draw_ground(ax)
    for item in data.obstacles:
        if item.distance_m < right:
            draw_obstacle(ax, short(item.name, 40), item.distance_m, item.height_m)
    _ribbons(ax, fan, min(right, float(fan.distance_m[-1])))
    draw_start(ax, data.release_height_m, data.ramp)
    ax.axhline(data.handover_m, color=colour("ink"), linewidth=0.9, linestyle=(0, (6, 2)), zorder=1.5)
    ax.text(
        right,
        data.handover_m,
        f"handover at {fixed(data.handover_m, 0)} m",
        ha="right",
        va="bottom",
        fontsize=SMALL_PT,
    )
    step = next(s for s in (10, 20, 25, 50, 100, 200) if right / s <= (8 if box.width_mm > 100 else 4))
    ticks = np.arange(0, right, step)
    ax.set_xticks(ticks, [f"{t:.0f}" for t in ticks[:-1]] + [f"{ticks[-1]:.0f} m"])


def _head(head: Axes, words: str) -> None:
    quiet(head)
    head.set_xlim(0, 1)
    head.set_ylim(0, 1)
    head.text(0.0, 0.98, words, va="top", fontweight=600, fontsize=TEXT_PT)


def _wind(head: Axes, headwind_mps: float, narrow: bool) -> None:
    """Draw the wind as a blue arrow with its speed at hand height."""
    long = 0.12 if narrow else 0.06
    tip, tail = (1.0 - long, 1.0) if headwind_mps >= 0 else (1.0, 1.0 - long)
    y = 0.76 if narrow else 0.5
    head.annotate(
        "", (tip, y), (tail, y), arrowprops={"arrowstyle": "->", "color": colour("blue"), "linewidth": 1.4}
    )
    kind = "headwind" if headwind_mps >= 0 else "tailwind"
    place = "" if narrow else " at the hand"
    head.text(
        0.99 - long,
        y,
        f"{kind} {fixed(abs(headwind_mps), 1)} m/s{place}",
        ha="right",
        va="center",
        color=colour("blue"),
        fontsize=SMALL_PT,
    )


def words_of(data: FanData, fan: Fan) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    near = fan.height_m[:, fan.distance_m <= NEAR_M]
    things = "; ".join(
        f"{o.name}, {fixed(o.height_m, 0)} m high at {fixed(o.distance_m, 0)} m" for o in data.obstacles
    )
    return (
        f"Height over distance of {len(data.paths)} launches. In the first {NEAR_M:.0f} m the middle "
        f"launch is never below {fixed(float(near[2].min()), 1)} m and 1 in 20 is below "
        f"{fixed(float(near[0].min()), 1)} m. "
        f"Handover at {fixed(data.handover_m, 0)} m; half of the launches get there, or end, within "
        f"{fixed(fan.shown_m, 0)} m. "
        + (f"In the way: {things}." if things else "No obstacle is on the site card.")
    )


def draw_fan(data: FanData, size: Size) -> Picture:
    """Draw the launch fan, or say that no launch left the hand."""
    if not data.paths:
        return empty_picture("fan", "Launch fan", NO_FLIGHT, size)
    fan = fan_of(data)
    wide = size.width_mm - 2
    head_mm = 9.0 if size.narrow else 5.0
    near_mm = 0.37 * size.height_mm
    far_mm = size.height_mm - near_mm - head_mm - 4.5 - 10.0
    with sketch("fan", size) as figure:
        low = Box(1, 5, wide, far_mm)
        low_head = Box(1, 5 + far_mm, wide, head_mm)
        near = Box(1, 10 + far_mm + head_mm, wide, near_mm)
        near_head = Box(1, size.height_mm - 4.5, wide, 4.5)
        heads = axes(figure, size, near_head), axes(figure, size, low_head)
        _head(heads[0], "The first metres")
        _head(heads[1], "The whole climb")
        _legend(heads[1], size.narrow)
        _wind(heads[1], data.headwind_mps, size.narrow)
        _near(axes(figure, size, near), data, fan, near)
        _far(axes(figure, size, low), data, fan, low)
        return to_picture(figure, "fan", "Launch fan", words_of(data, fan))

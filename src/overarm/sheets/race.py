"""The race: hand in the way, speed left and thrust arriving, on one time axis from detection.

The start wait must be long enough for the hand and short enough for the aeroplane. What is left
between the two is shaded; if nothing is left, the gap is hatched and said in words.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.odds.as_flown import is_too_short, too_short_words, wait_as_said_s
from overarm.odds.clear import ROUNDING_S
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
from overarm.sheets.wording import fixed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.float64]

NO_RACE = "Not one of the sampled launches was detected and released, so the race was never run."


class RaceData(NamedTuple):
    """What the race shows; bands are rows of the 10th, 50th and 90th percentile."""

    time_s: Numbers  # from detection
    hand_share: Numbers  # share of launches in which the disc is not yet past the hand
    speed_left_mps: Numbers  # (3, n), airspeed above 1.05 Vs; NaN before release
    thrust_share: Numbers  # (3, n), thrust over what the climb needs
    wait_s: float
    earliest_s: float  # the hand is away with margin from here on; NaN: no such limit
    latest_s: float  # the speed budget is spent in 1 launch of 5 beyond this; NaN: no such limit
    hand_words: str
    motor_words: str
    reach_s: float = math.nan  # hand or line is away from then on in 999 launches of 1000


def _what(data: RaceData) -> str:
    """Return what has to be away: the hand or the line."""
    return data.hand_words.partition(" ")[0]


def _till(data: RaceData) -> str:
    """Return how long the hand is in reach, since a wait may be shorter by the start delay of the motor."""
    if not np.isfinite(data.reach_s) or _what(data) != "hand":
        return ""
    return f" (a hand is in reach to {fixed(data.reach_s, 2)} s; the motor turns later than the wait ends)"


def window_words(data: RaceData) -> str:
    """Return the sentence about the window of the start wait."""
    low, high = data.earliest_s, data.latest_s
    if not (np.isfinite(low) and np.isfinite(high)):
        return data.motor_words
    # As printed, to 0.01 s: never less than the hand needs, never more than the speed allows.
    low, high = wait_as_said_s(low), math.floor(100.0 * (high + ROUNDING_S)) / 100.0
    what = _what(data)
    if low >= high:
        allowed = f"{fixed(high, 2)} s" if high >= 0.005 else "none at all"
        return (
            f"No wait works: as flown the {what} needs {fixed(low, 2)} s{_till(data)}, the speed allows "
            f"{allowed}. "
            "Raise the throttle faster, throw harder, wait for wind or change the launch style; "
            "never wait less."
        )
    wait = data.wait_s
    if is_too_short(wait, data.earliest_s):
        return f"{too_short_words(wait, data.earliest_s, what)}{_till(data)}."
    if wait > high:
        return f"The wait of {fixed(wait, 2)} s is too long for the speed: at most {fixed(high, 2)} s."
    window = f"The wait of {fixed(wait, 2)} s lies in the window from {fixed(low, 2)} to {fixed(high, 2)} s"
    return f"{window}{_till(data)}."


def _name(ax: Axes, words: str, unit: str, narrow: bool) -> None:
    x = 0.0 if narrow else -0.03
    if narrow:
        ax.text(
            x,
            1.03,
            f"{words}, {unit}",
            transform=ax.transAxes,
            va="bottom",
            fontweight=600,
            fontsize=SMALL_PT,
            zorder=9,
            bbox=LABEL,
        )
    else:
        ax.text(
            x, 0.62, words, transform=ax.transAxes, ha="right", va="bottom", fontweight=600, fontsize=TEXT_PT
        )
        ax.text(
            x,
            0.55,
            unit,
            transform=ax.transAxes,
            ha="right",
            va="top",
            fontsize=SMALL_PT,
            color=colour("muted"),
        )


def _hand_lane(ax: Axes, data: RaceData) -> None:
    half = 0.46 * data.hand_share
    last = min(int(np.count_nonzero(data.hand_share > 0)) + 1, len(half))
    ax.fill_between(
        data.time_s[:last],
        (0.5 - half)[:last],
        (0.5 + half)[:last],
        facecolor=colour("panel"),
        edgecolor=colour("ink"),
        hatch="////",
        linewidth=0.7,
    )
    ax.set_ylim(0, 1)
    gone = np.flatnonzero(data.hand_share < 0.005)
    if gone.size and gone[0] > 0:
        end = float(data.time_s[-1])
        limits = (data.wait_s, data.earliest_s, data.latest_s)
        x = max(float(data.time_s[gone[0]]), *(limit for limit in limits if np.isfinite(limit)))
        if x > 0.85 * end:
            return
        ax.text(x + 0.015 * end, 0.5, data.hand_words, va="center", fontsize=SMALL_PT, zorder=8, bbox=LABEL)


def _speed_lane(ax: Axes, data: RaceData) -> None:
    low, middle, high = data.speed_left_mps
    top = max(1.0, float(np.nanmax(high)) * 1.05)
    ax.set_ylim(
        min(-0.6, 1.05 * float(np.nanmin(low))) if float(np.nanmin(low)) < 0 else -0.25 * top / 3, top
    )
    ax.axhline(0, color=colour("ink"), linewidth=0.6)
    ax.fill_between(data.time_s, 0, np.maximum(middle, 0), facecolor=colour("blue-pale"), linewidth=0)
    ax.fill_between(
        data.time_s,
        0,
        np.minimum(middle, 0),
        facecolor=colour("stop-pale"),
        edgecolor=colour("stop"),
        hatch="xxxx",
        linewidth=0,
    )
    ax.plot(data.time_s, middle, color=colour("blue"), linewidth=1.8)
    for row in (low, high):
        ax.plot(data.time_s, row, color=colour("blue"), linewidth=0.8, linestyle=(0, (3, 2)))
    empty = np.flatnonzero(middle <= 0)
    if empty.size:
        k = int(empty[0])
        ax.plot([data.time_s[k]], [0], marker="X", markersize=6, color=colour("stop"), zorder=6)
        ax.annotate(
            "empty",
            (data.time_s[k], 0),
            xytext=(5, 3),
            textcoords="offset points",
            fontsize=SMALL_PT,
            fontweight=600,
            color=colour("stop"),
            zorder=8,
            bbox=LABEL,
        )


def _thrust_lane(ax: Axes, data: RaceData) -> None:
    low, middle, high = (np.minimum(row, 1.25) for row in data.thrust_share)
    ax.set_ylim(0, 1.28)
    ax.fill_between(data.time_s, 0, middle, facecolor=colour("rust-pale"), linewidth=0)
    ax.plot(data.time_s, middle, color=colour("rust"), linewidth=1.8)
    for row in (low, high):
        ax.plot(data.time_s, row, color=colour("rust"), linewidth=0.8, linestyle=(0, (3, 2)))
    ax.axhline(1.0, color=colour("ink"), linewidth=0.7, linestyle=(0, (1, 1.5)))
    ax.text(
        data.time_s[0],
        0.94,
        " enough to climb",
        fontsize=SMALL_PT,
        va="top",
        color=colour("muted"),
        zorder=8,
        bbox=LABEL,
    )
    enough = np.flatnonzero(middle >= 1.0)
    if enough.size:
        ax.plot([data.time_s[enough[0]]], [1.0], marker="o", markersize=5, color=colour("rust"), zorder=6)


def _window(figure_axes: list[Axes], data: RaceData) -> None:
    low, high = data.earliest_s, data.latest_s
    end = float(data.time_s[-1])
    if np.isfinite(low) and np.isfinite(high):
        if low < high:
            for ax in figure_axes:
                ax.axvspan(low, min(high, end), facecolor=colour("green-pale"), edgecolor="none", zorder=0)
                for x in (low, min(high, end)):
                    ax.axvline(x, color=colour("green"), linewidth=0.8, zorder=0.5)
        else:
            for ax in figure_axes:
                ax.axvspan(
                    max(high, float(data.time_s[0])),
                    low,
                    facecolor=colour("stop-pale"),
                    edgecolor=colour("stop"),
                    hatch="xx",
                    linewidth=0.8,
                    zorder=0,
                )
    for ax in figure_axes:
        ax.axvline(data.wait_s, -0.12, 1.12, color=colour("ink"), linewidth=1.5, zorder=7, clip_on=False)


def _window_lane(ax: Axes, data: RaceData, narrow: bool) -> None:
    """The lane of words above the bars: what the shaded window and the upright line are."""
    quiet(ax)
    ax.set_ylim(0, 1)
    low, high = data.earliest_s, data.latest_s
    end = float(data.time_s[-1])
    late = data.wait_s > 0.62 * end
    ax.text(
        data.wait_s,
        0.5,
        f"{'' if late else '  '}wait {fixed(data.wait_s, 2)} s{'  ' if late else ''}",
        ha="right" if late else "left",
        va="center",
        fontweight=600,
        fontsize=SMALL_PT,
        bbox=LABEL,
        zorder=8,
    )
    if not (np.isfinite(low) and np.isfinite(high)) or narrow:
        return
    if low < high:
        words, ink, x, side = "window for the wait", "green", min(high, end), "left"
    else:
        words, ink, x, side = "no window: too short for the hand, too long for the speed", "stop", low, "left"
    if x + 0.3 * end > end and low < high:
        x, side = low, "right"
    x = max(x, data.wait_s + 0.13 * end) if side == "left" else min(x, data.wait_s - 0.02 * end)
    ax.text(
        x, 0.5, f"  {words}  ", ha=side, va="center", fontsize=SMALL_PT, fontweight=600, color=colour(ink)
    )


def words_of(data: RaceData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    middle = data.thrust_share[1]
    enough = np.flatnonzero(middle >= 1.0)
    thrust = (
        f"Thrust is enough to climb {fixed(float(data.time_s[enough[0]]), 2)} s after detection in the "
        "middle launch."
        if enough.size
        else "Thrust is not enough to climb in the time shown."
    )
    left = data.speed_left_mps[1]
    least = fixed(float(np.nanmin(left)), 1)
    return (
        f"{window_words(data)} Speed left above 1.05 Vs falls to {least} m/s in the middle launch. {thrust}"
    )


def draw_race(data: RaceData, size: Size) -> Picture:
    """Draw the race, or say that it was never run."""
    if not data.time_s.size:
        return empty_picture("race", "The race", NO_RACE, size)
    left = 1.5 if size.narrow else 36.0
    width = size.width_mm - left - (3.0 if size.narrow else 4.5)
    gap = 4.5 if size.narrow else 1.6
    head, foot = 5.0, 9.0
    lane = (size.height_mm - head - foot - 3 * gap) / 3
    with sketch("race", size) as figure:
        lanes = []
        for k in range(3):
            bottom = foot + (2 - k) * (lane + gap)
            lanes.append(axes(figure, size, Box(left, bottom, width, lane)))
        words = axes(figure, size, Box(left, size.height_mm - head, width, head))
        for ax in (*lanes, words):
            ax.set_xlim(float(data.time_s[0]), float(data.time_s[-1]))
        for ax in lanes[:2]:
            quiet(ax)
        quiet(lanes[2], "bottom")
        _hand_lane(lanes[0], data)
        _speed_lane(lanes[1], data)
        _thrust_lane(lanes[2], data)
        _window(lanes, data)
        _window_lane(words, data, size.narrow)
        _name(lanes[0], f"{_what(data).capitalize()} in the way", "share of launches", size.narrow)
        _name(lanes[1], "Speed left", "m/s above 1.05 Vs", size.narrow)
        _name(lanes[2], "Thrust arriving", "share of the need", size.narrow)
        if not size.narrow:
            _speed_ticks(lanes[1])
        lanes[2].set_xlabel("seconds from detection", fontsize=SMALL_PT, labelpad=1)
        return to_picture(figure, "race", "The race", words_of(data))


def _speed_ticks(ax: Axes) -> None:
    low, top = ax.get_ylim()
    step = next(s for s in (8, 6, 5, 4, 3, 2, 1, 0.5) if s <= 0.95 * max(top, -low))
    step = step if top >= -low else -step
    for value in (0.0, step):
        ax.annotate(
            fixed(value, 0 if value == int(value) else 1),
            (0.0, value),
            xycoords=("axes fraction", "data"),
            xytext=(-2, 0),
            textcoords="offset points",
            ha="right",
            va="center",
            fontsize=SMALL_PT - 0.5,
            color=colour("muted"),
        )
    ax.axhline(step, color=colour("rule"), linewidth=0.5, zorder=0.4)

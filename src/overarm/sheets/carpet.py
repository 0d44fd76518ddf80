"""Odds carpet: the share of clean launches over throw speed and headwind."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.sheets.canvas import SMALL_PT, TEXT_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import FINDINGS, GOOD_FROM, colour, finding_of
from overarm.sheets.wording import bare_percent, fixed, percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.float64]
ROW_SIGMAS = (-2.0, -1.2, -0.4, 0.4, 1.2, 2.0)
TENTH_SIGMAS = 1.2816  # of a normal spread: nine throws in ten are above the mean less this


FRAME_WORDS = "blue: today; black frame: today, usual throw"


class CarpetData(NamedTuple):
    """The carpet: rows of throw speed (lowest first), columns of headwind at the hand."""

    speeds_mps: Numbers
    headwinds_mps: Numbers
    share: Numbers  # (rows, columns)
    speed_mean_mps: float
    speed_sd_mps: float
    wind_mean_mps: float
    wind_sd_mps: float
    speed_words: str  # "throw speed" or "speed off the line"
    least_wind_mps: float = 0.0  # lowest headwind in which the weakest throw held when flown again


def rows_of(mean_mps: float, sd_mps: float) -> Numbers:
    """Return six throw speeds that span the thrower's spread."""
    step = max(sd_mps, 0.05 * mean_mps)
    return np.round(mean_mps + step * np.array(ROW_SIGMAS), 1)


def fill_carpet(
    share: Callable[[float, float], float],
    speeds_mps: Numbers,
    headwinds_mps: Numbers,
    progress: Callable[[int, int], None] | None = None,
) -> Numbers:
    """Ask `share(speed, headwind)` for each cell; `progress(done, all)` is told after each."""
    out = np.empty((len(speeds_mps), len(headwinds_mps)))
    for k in range(out.size):
        i, j = divmod(k, out.shape[1])
        out[i, j] = share(float(speeds_mps[i]), float(headwinds_mps[j]))
        if progress is not None:
            progress(k + 1, out.size)
    return out


def by_wind(data: CarpetData) -> Numbers:
    """Return the odds of this thrower in each wind: rows weighed by the normal spread of the throw.

    Equation: ``sum_i w_i p_ij / sum_i w_i`` with ``w_i`` the normal probability of the bin around row i.
    """
    from scipy.stats import norm

    edges = np.concatenate(([-np.inf], 0.5 * (data.speeds_mps[1:] + data.speeds_mps[:-1]), [np.inf]))
    weight = np.diff(norm.cdf(edges, data.speed_mean_mps, max(data.speed_sd_mps, 1e-6)))
    return np.asarray(weight @ data.share, dtype=np.float64)


def weak_throw_mps(data: CarpetData) -> float:
    """Return the speed that nine throws in ten exceed [m/s]."""
    return max(0.0, data.speed_mean_mps - TENTH_SIGMAS * data.speed_sd_mps)


def worst_by_wind(data: CarpetData) -> Numbers:
    """Return the lowest odds in each wind over all throws from the weakest of ten to the strongest of ten."""
    low = weak_throw_mps(data)
    high = data.speed_mean_mps + TENTH_SIGMAS * data.speed_sd_mps
    between = data.speeds_mps[(data.speeds_mps > low) & (data.speeds_mps < high)]
    speeds = np.concatenate(([low], between, [high]))
    return np.array([np.interp(speeds, data.speeds_mps, column).min() for column in data.share.T])


def go_band(data: CarpetData) -> tuple[float, float] | None:
    """Return the lowest and highest headwind with odds of 90 % or more even for a weak throw, or None.

    The throw is the worst between the weakest and the strongest of ten, so that wind and throw hold
    together. The band is the longest unbroken run of columns; between two the edge is interpolated.
    """
    odds = worst_by_wind(data)
    good = odds >= GOOD_FROM
    best: tuple[int, int] | None = None
    start = None
    for j in range(len(good) + 1):
        if j < len(good) and good[j]:
            start = j if start is None else start
        elif start is not None:
            if best is None or j - 1 - start > best[1] - best[0]:
                best = (start, j - 1)
            start = None
    if best is None:
        return None
    wind = data.headwinds_mps
    low = float(wind[best[0]])
    if best[0] > 0:
        a, b = odds[best[0] - 1], odds[best[0]]
        low = float(np.interp(GOOD_FROM, [a, b], [wind[best[0] - 1], wind[best[0]]]))
    high = float(wind[best[1]])
    if low < data.least_wind_mps:
        low = data.least_wind_mps if data.least_wind_mps < high or data.least_wind_mps == 0.0 else math.inf
    return None if math.isinf(low) else (low, high)


def least_wind_mps(data: CarpetData, share: Callable[[float, float], float]) -> float:
    """Return the lowest headwind of the band, in steps of 0.5 m/s, in which the weakest throw holds [m/s].

    `share(speed, headwind)` flies the corner again with more launches, since a cell of the carpet has few.
    Infinite if no wind of the band holds; 0 if there is no band.
    """
    band = go_band(data)
    if band is None:
        return 0.0
    wind_mps = max(0.0, math.ceil(2.0 * band[0] - 1e-9) / 2.0)
    while wind_mps < band[1]:
        if share(weak_throw_mps(data), wind_mps) >= GOOD_FROM:
            return wind_mps
        wind_mps += 0.5
    return math.inf


def _cells(ax: Axes, data: CarpetData) -> None:
    from matplotlib.patches import Rectangle

    for i, row in enumerate(data.share):
        for j, share in enumerate(row):
            mark = FINDINGS[finding_of(float(share))]
            ax.add_patch(
                Rectangle(
                    (j + 0.03, i + 0.04), 0.94, 0.92, facecolor=colour(mark.fill), linewidth=0, zorder=1
                )
            )
            if mark.hatch:
                ax.add_patch(
                    Rectangle(
                        (j + 0.03, i + 0.04),
                        0.94,
                        0.92,
                        facecolor="none",
                        linewidth=0,
                        edgecolor=colour("rule" if mark.word == "Watch" else "stop"),
                        hatch=mark.hatch[0] * 3,
                        zorder=1.1,
                    )
                )
            text = ax.text(
                j + 0.5,
                i + 0.48,
                bare_percent(float(share)),
                ha="center",
                va="center",
                fontweight=600,
                fontsize=TEXT_PT + 1,
                color=colour("ink"),
                zorder=3,
            )
            ground = colour("paper" if mark.hatch else mark.fill)
            text.set_bbox({"facecolor": ground, "edgecolor": "none", "boxstyle": "round,pad=0.18"})


def _place(value: float, knots: Numbers) -> float:
    """Return the position of a value on the axis of cells, beyond the ends by the last step."""
    middle = np.arange(len(knots)) + 0.5
    if value < knots[0]:
        return float(max(0.0, 0.5 + (value - knots[0]) / (knots[1] - knots[0])))
    if value > knots[-1]:
        return float(min(len(knots), middle[-1] + (value - knots[-1]) / (knots[-1] - knots[-2])))
    return float(np.interp(value, knots, middle))


def _spread(ax: Axes, data: CarpetData) -> None:
    """The thrower's spread beside the rows, today's wind below the columns, and where they meet."""
    from matplotlib.patches import Rectangle

    rows, columns = data.share.shape
    mean, sd = data.speed_mean_mps, data.speed_sd_mps
    wind, gust = data.wind_mean_mps, data.wind_sd_mps
    y = [_place(mean + k * sd, data.speeds_mps) for k in (-2, -1, 1, 2)]
    x = [_place(wind + k * gust, data.headwinds_mps) for k in (-1, 1)]
    ax.plot([-0.16, -0.16], [y[0], y[3]], color=colour("rust"), linewidth=1.0, clip_on=False)
    ax.plot(
        [-0.16, -0.16],
        [y[1], y[2]],
        color=colour("rust"),
        linewidth=3.4,
        solid_capstyle="butt",
        clip_on=False,
    )
    ax.plot(x, [-0.2, -0.2], color=colour("blue"), linewidth=3.4, solid_capstyle="butt", clip_on=False)
    # Whole cells: those that the usual throw and today's wind touch.
    left, right = int(min(x[0], columns - 1)), int(min(np.ceil(x[1] - 1e-9), columns))
    low, high = int(min(y[1], rows - 1)), int(min(np.ceil(y[2] - 1e-9), rows))
    ax.add_patch(
        Rectangle(
            (left, low),
            max(right - left, 1),
            max(high - low, 1),
            facecolor="none",
            edgecolor=colour("ink"),
            linewidth=1.6,
            zorder=4,
        )
    )


def words_of(data: CarpetData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    odds = by_wind(data)
    parts = ", ".join(
        f"{percent(float(p))} at {fixed(float(w), 0)} m/s"
        for w, p in zip(data.headwinds_mps, odds, strict=True)
    )
    return (
        f"Odds of a clean launch by headwind at the hand, for a {data.speed_words} of "
        f"{fixed(data.speed_mean_mps, 1)} ± {fixed(data.speed_sd_mps, 1)} m/s: {parts}. The black frame is "
        "the usual throw in today’s wind."
    )


def draw_carpet(data: CarpetData, size: Size) -> Picture:
    """Draw the odds carpet."""
    rows, columns = data.share.shape
    left, foot, head = (12.0, 13.5, 4.5)
    with sketch("carpet", size) as figure:
        box = Box(left, foot, size.width_mm - left - 1, size.height_mm - foot - head)
        ax = axes(figure, size, box)
        quiet(ax)
        ax.set_xlim(0, columns)
        ax.set_ylim(0, rows)
        _cells(ax, data)
        _spread(ax, data)
        for i, speed in enumerate(data.speeds_mps):
            ax.text(-0.32, i + 0.5, fixed(float(speed), 1), ha="right", va="center", fontsize=SMALL_PT)
        for j, wind in enumerate(data.headwinds_mps):
            label = fixed(float(wind), 0 if float(wind).is_integer() else 1)
            ax.text(j + 0.5, -0.42, label, ha="center", va="top", fontsize=SMALL_PT)
        to_mm = rows / box.height_mm
        ax.text(
            0.0,
            -0.42 - 3.6 * to_mm,
            "headwind at hand, m/s; below 0 a tailwind",
            va="top",
            ha="left",
            color=colour("blue"),
            fontsize=SMALL_PT,
        )
        ax.text(
            0.0,
            -0.42 - 7.0 * to_mm,
            FRAME_WORDS,
            va="top",
            ha="left",
            color=colour("muted"),
            fontsize=SMALL_PT,
        )
        ax.text(-0.32, rows + 0.7 * to_mm, "m/s", ha="right", va="bottom", fontsize=SMALL_PT)
        ax.text(
            0.0,
            rows + 0.7 * to_mm,
            f"{data.speed_words}; thick bar: the usual spread",
            va="bottom",
            ha="left",
            color=colour("rust"),
            fontsize=SMALL_PT,
        )
        return to_picture(figure, "carpet", "Odds carpet", words_of(data))

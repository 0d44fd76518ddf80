"""Blade clock: tip speed and energy of the propeller while a hand can still reach it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.sheets.canvas import LABEL, SMALL_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import colour
from overarm.sheets.strip import CUT_MPS, SCRATCH_MPS, tip_bands
from overarm.sheets.wording import fixed, whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.float64]


LEAST_LIVE_S = 0.005


class Beside(NamedTuple):
    """Launches flown, those with a hand at risk, those above 25 m/s beside it, and the longest such."""

    launches: int
    at_risk: int
    fast: int
    longest_s: float


class BladeData(NamedTuple):
    """Percentiles (10, 50, 90) of tip speed from detection, and the time a hand is in reach."""

    time_s: Numbers
    tip_mps: Numbers  # (3, n)
    joules_per_mps2: float  # J = this times tip speed squared
    reach_s: float  # the hand is away by then in 999 launches of 1000; 0 if none left it
    beside: Beside
    propeller: str
    by_line: bool = False


def _energy_axis(ax: Axes, data: BladeData) -> None:
    top = ax.get_ylim()[1]
    most = data.joules_per_mps2 * top * top
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500)
    step = next((s for s in steps if most / s <= 5), 1000)
    for joules in np.arange(step, most, step):
        y = float(np.sqrt(joules / data.joules_per_mps2))
        if y > 0.97 * top:
            continue
        ax.annotate(
            f"{joules:.0f} J",
            (1.0, y),
            xycoords=("axes fraction", "data"),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=SMALL_PT,
        )
        ax.plot(
            [1.0, 1.012],
            [y, y],
            transform=ax.get_yaxis_transform(),
            color=colour("ink"),
            linewidth=0.7,
            clip_on=False,
        )


def live_words(data: BladeData) -> str:
    """Return the sentence about the time beside a hand, from the same launches as the finding on it."""
    launches, at_risk, fast, longest_s = data.beside
    if not fast and not at_risk:
        return "off a line, no hand near" if data.by_line else "never above 25 m/s beside a hand"
    how = f"above 25 m/s beside a hand in {whole(fast)}" if fast else "never above 25 m/s beside one"
    long = f", for up to {fixed(longest_s, 2)} s" if fast else ""
    if at_risk:
        return f"near a hand in {whole(at_risk)} of {whole(launches)} launches; {how}{long}"
    return f"{how} of {whole(launches)} launches{long}"


def _reach_words(data: BladeData) -> str:
    if data.reach_s <= 0.0:
        return "When the hand is away is not known: no launch left it"
    reach = fixed(data.reach_s, 2)
    if data.by_line:
        return f"It is on the line until {reach} s"
    return f"In 999 launches of 1000 the hand is away by {reach} s"


def words_of(data: BladeData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    top = float(np.max(data.tip_mps[1]))
    joules = data.joules_per_mps2 * top * top
    return (
        f"Tip speed of the {data.propeller} propeller in seconds from detection. {_reach_words(data)}; "
        f"{live_words(data)}. The middle launch reaches "
        f"{fixed(top, 0)} m/s and {fixed(joules, 0)} J. In one published test small blades scratched a skin "
        "substitute above 25 m/s and cut it above 60 m/s; no tip speed is harmless."
    )


def draw_blade(data: BladeData, size: Size) -> Picture:
    """Draw the blade clock."""
    foot = 9.0
    with sketch("blade", size) as figure:
        box = Box(9.0, foot, size.width_mm - 21.0, size.height_mm - foot - 5.0)
        ax = axes(figure, size, box)
        start, end = float(data.time_s[0]), float(data.time_s[-1])
        ax.set_xlim(start, end)
        ax.set_ylim(0, max(90.0, 1.12 * float(np.max(data.tip_mps[2]))))
        quiet(ax, "bottom left right")
        ax.tick_params(axis="y", pad=1)
        ax.set_yticks(
            [0, SCRATCH_MPS, CUT_MPS, 100, 150] if ax.get_ylim()[1] > 150 else [0, SCRATCH_MPS, CUT_MPS]
        )
        tip_bands(ax, end)
        _reach(ax, data, start)
        ax.fill_between(
            data.time_s,
            data.tip_mps[0],
            data.tip_mps[2],
            facecolor=colour("rust-pale"),
            linewidth=0,
            zorder=2,
        )
        ax.plot(data.time_s, data.tip_mps[1], color=colour("rust"), linewidth=1.9, zorder=3)
        _energy_axis(ax, data)
        ax.text(0.0, 1.02, "m/s", transform=ax.transAxes, ha="left", va="bottom", fontsize=SMALL_PT)
        ax.text(1.0, 1.02, "energy", transform=ax.transAxes, ha="left", va="bottom", fontsize=SMALL_PT)
        for y, words in ((0.5 * (SCRATCH_MPS + CUT_MPS), "scratches"), (CUT_MPS + 9.0, "cuts")):
            ax.annotate(
                words,
                (start, y),
                xytext=(7, 0),
                textcoords="offset points",
                va="center",
                fontsize=SMALL_PT,
                zorder=1.8,
                color=colour("ink"),
                bbox=LABEL,
            )
        ax.set_xlabel("seconds from detection", fontsize=SMALL_PT, labelpad=1)
        return to_picture(figure, "blade", "Blade clock", words_of(data))


def _reach(ax: Axes, data: BladeData, start: float) -> None:
    top = ax.get_ylim()[1]
    end = min(data.reach_s, ax.get_xlim()[1])
    ax.axvspan(start, end, facecolor=colour("ink"), alpha=0.10, zorder=1.5, linewidth=0)
    ax.axvline(end, color=colour("ink"), linewidth=1.2, zorder=4)
    until = f"to {fixed(data.reach_s, 2)} s" if data.reach_s > 0.0 else "until: not known"
    words = f"{'on the line' if data.by_line else 'hand in reach'} {until}"
    wide = (end - start) / (ax.get_xlim()[1] - start) > 0.5
    place = end if wide else max(end, start + 0.13 * (ax.get_xlim()[1] - start))
    ax.annotate(
        words,
        (place, top),
        xytext=(0 if wide else -1, 2.5),
        textcoords="offset points",
        ha="right" if wide else "left",
        va="bottom",
        fontsize=SMALL_PT,
        fontweight=600,
        zorder=6,
    )

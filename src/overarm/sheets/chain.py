"""Weakest link: the launch as a chain, each link as thick as its own odds."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from overarm.sheets.canvas import SMALL_PT, TEXT_PT, Box, Picture, Size, axes, quiet, sketch, to_picture
from overarm.sheets.palette import GOOD_FROM, STOP_BELOW, colour

if TYPE_CHECKING:
    from matplotlib.axes import Axes


class Link(NamedTuple):
    """One link: the share of launches in which it held, that share as it is printed, and if any got there."""

    name: str
    share: float
    words: str
    reached: bool = True


class ChainData(NamedTuple):
    """The links in the order of the launch, and the sentence about the worst."""

    links: tuple[Link, ...]
    sentence: str


def worst_of(links: tuple[Link, ...]) -> int:
    """Return the place of the weakest link that was reached; the first of equals. ValueError if none is."""
    reached = [k for k, link in enumerate(links) if link.reached]
    if not reached:
        raise ValueError("a chain needs at least one link")
    return min(reached, key=lambda k: links[k].share)


def shown_words(link: Link) -> str:
    """Return the odds of a link as they are printed; none for a link that no launch reached."""
    return link.words if link.reached else "not reached"


def _weight(share: float) -> float:
    """Return the line weight [pt] of a link: 4.5 when it always holds, thin when it rarely does."""
    return 1.0 + 3.5 * max(0.0, min(1.0, (share - 0.4) / 0.6))


def _link(ax: Axes, centre: tuple[float, float], half: tuple[float, float], link: Link, worst: bool) -> None:
    from matplotlib.patches import FancyBboxPatch

    x, y = centre
    rx, ry = half
    weak = link.reached and link.share < GOOD_FROM
    low = "stop" if link.share < STOP_BELOW else ("rust" if worst else "ink")
    ink = low if link.reached else "muted"
    ax.add_patch(
        FancyBboxPatch(
            (x - rx, y - ry),
            2 * rx,
            2 * ry,
            boxstyle=f"round,pad=0,rounding_size={ry}",
            facecolor="none",
            edgecolor=colour(ink),
            linewidth=_weight(link.share) if link.reached else 0.6,
            linestyle=(0, (2.0, 1.0)) if weak else "-",
            mutation_aspect=1.0,
            zorder=3,
        )
    )
    ax.text(
        x,
        y,
        shown_words(link) if link.reached else "not\nreached",
        ha="center",
        va="center",
        fontsize=TEXT_PT if link.reached else SMALL_PT - 0.4,
        linespacing=0.95,
        fontweight=600 if link.reached else 400,
        color=colour(ink),
        zorder=4,
    )
    ax.text(
        x,
        y - ry - 1.6,
        link.name,
        ha="center",
        va="top",
        fontsize=SMALL_PT,
        zorder=4,
        fontweight=600 if worst else 400,
        color=colour(ink if worst else "ink"),
    )
    if worst:
        ax.plot(
            [x - 0.75 * len(link.name) - 1.6],
            [y - ry - 2.9],
            marker="^",
            markersize=4,
            color=colour(ink),
            zorder=4,
        )


def words_of(data: ChainData) -> str:
    """Return what the picture says, for a reader who cannot see it."""
    parts = ", ".join(f"{link.name} {shown_words(link)}" for link in data.links)
    return f"{data.sentence} Odds of each link: {parts}."


def draw_chain(data: ChainData, size: Size) -> Picture:
    """Draw the chain, in one row or, on a narrow page, in as many as needed."""
    place = worst_of(data.links)
    worst = place if data.links[place].share < 1.0 else -1  # no link broke: none is the weakest
    per_row = 3 if size.narrow else len(data.links)
    rows = -(-len(data.links) // per_row)
    with sketch("chain", size) as figure:
        ax = axes(figure, size, Box(0, 0, size.width_mm, size.height_mm))
        quiet(ax)
        ax.set_xlim(0, size.width_mm)
        ax.set_ylim(0, size.height_mm)
        pitch, row_mm = size.width_mm / per_row, size.height_mm / rows
        half = (min(0.36 * pitch, 9.5), 3.3)
        for k, link in enumerate(data.links):
            x = (k % per_row + 0.5) * pitch
            y = size.height_mm - (k // per_row) * row_mm - 5.6
            if k + 1 < len(data.links) and k % per_row + 1 < per_row:
                ax.plot(
                    [x + half[0], x + pitch - half[0]],
                    [y, y],
                    color=colour("rule"),
                    linewidth=2.2,
                    solid_capstyle="round",
                    zorder=2,
                )
            _link(ax, (x, y), half, link, k == worst)
        return to_picture(figure, "chain", "Weakest link", words_of(data))

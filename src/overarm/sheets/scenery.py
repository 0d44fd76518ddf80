"""Ground, thrower, trees and hedges for side views drawn to scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from overarm.sheets.canvas import LABEL, SMALL_PT
from overarm.sheets.palette import colour

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

# Joints of a standing person after the throw, as shares of the body height, facing right.
_LEGS = ((-0.16, 0.0), (-0.02, 0.48), (0.14, 0.0))
_TRUNK = ((-0.02, 0.48), (0.03, 0.82))
_ARM = ((0.03, 0.79), (0.17, 0.86), (0.30, 0.98))
_BACK_ARM = ((0.03, 0.79), (-0.10, 0.68), (-0.16, 0.54))
_HEAD = (0.05, 0.925)
_HAND_SHARE = 1.0
_LOW_WORDS = ("hedge", "fence", "wall", "crop", "bush", "reed")
_BUILT_WORDS = ("house", "building", "barn", "hut", "roof", "shed", "church")


def draw_ground(ax: Axes, profile: NDArray[np.float64] | None = None) -> None:
    """Draw the ground line and the earth below it; ``profile``: distance and height, (k, 2)."""
    left, right = ax.get_xlim()
    low = ax.get_ylim()[0]
    x, height = np.array([[left, right], [0.0, 0.0]]) if profile is None else profile.T
    ax.fill_between(
        x,
        low,
        np.maximum(height, low),
        facecolor=colour("panel"),
        edgecolor=colour("rule"),
        hatch="\\\\\\\\",
        linewidth=0,
        zorder=1,
    )
    ax.plot(x, height, color=colour("ink"), linewidth=0.9, zorder=4)


def _draw_ramp(ax: Axes, top_m: float, ramp: tuple[float, float]) -> None:
    long_m, angle_rad = ramp
    back, low = long_m * math.cos(angle_rad), top_m - long_m * math.sin(angle_rad)
    ax.plot([-back, 0.0], [low, top_m], color=colour("ink"), linewidth=1.8, zorder=5)
    for share in (0.1, 0.9):
        foot = -back * (1 - share)
        ax.plot(
            [foot, foot], [0.0, low + share * (top_m - low)], color=colour("ink"), linewidth=1.0, zorder=5
        )


def draw_start(ax: Axes, hand_m: float, ramp: tuple[float, float] | None) -> None:
    """Draw what the aeroplane leaves at x = 0 and `hand_m`: a person's hand, or a ramp (length, angle)."""
    if ramp is not None:
        _draw_ramp(ax, hand_m, ramp)
        return
    tall = hand_m / _HAND_SHARE
    points_per_m = ax.get_window_extent().width / (ax.get_xlim()[1] - ax.get_xlim()[0]) * 72.0 / ax.figure.dpi
    limb = max(0.9, 0.065 * tall * points_per_m)
    away = _ARM[-1][0]
    for joints, weight in ((_LEGS, 1.0), (_TRUNK, 1.7), (_ARM, 0.8), (_BACK_ARM, 0.8)):
        x = [(p[0] - away) * tall for p in joints]
        y = [p[1] * tall for p in joints]
        ax.plot(
            x,
            y,
            color=colour("ink"),
            linewidth=weight * limb,
            solid_capstyle="round",
            solid_joinstyle="round",
            zorder=5,
        )
    from matplotlib.patches import Circle

    ax.add_patch(
        Circle(((_HEAD[0] - away) * tall, _HEAD[1] * tall), 0.068 * tall, color=colour("ink"), zorder=5)
    )


def draw_thing(ax: Axes, name: str, distance_m: float, height_m: float) -> None:
    """Draw a building, a hedge or three trees, as the name says: to scale, centred on its distance."""
    from matplotlib.patches import Ellipse, FancyBboxPatch, Rectangle

    lower = name.lower()
    ink, leaf, panel = colour("ink"), colour("leaf"), colour("panel")
    common: dict[str, Any] = {"facecolor": panel, "linewidth": 0.8, "zorder": 2.6}
    if any(word in lower for word in _BUILT_WORDS):
        corner = (distance_m - 0.6 * height_m, 0.0)
        ax.add_patch(Rectangle(corner, 1.2 * height_m, height_m, edgecolor=ink, hatch="++", **common))
    elif any(word in lower for word in _LOW_WORDS):
        corner = (distance_m - 0.35 * height_m, 0.15 * height_m)
        round_style = f"round,pad={0.15 * height_m}"
        box = FancyBboxPatch(
            corner,
            0.7 * height_m,
            0.7 * height_m,
            boxstyle=round_style,
            edgecolor=leaf,
            hatch="xxxxx",
            **common,
        )
        ax.add_patch(box)
    else:
        for k, share in enumerate((1.0, 0.86, 0.94)):
            tall = height_m * share
            x = distance_m + 0.40 * height_m * (k - 1)
            ax.plot([x, x], [0, 0.4 * tall], color=ink, linewidth=1.1, zorder=2.5)
            crown = Ellipse(
                (x, 0.62 * tall), 0.48 * tall, 0.76 * tall, edgecolor=leaf, hatch="|||||", **common
            )
            ax.add_patch(crown)


def draw_obstacle(ax: Axes, name: str, distance_m: float, height_m: float) -> None:
    """Draw one obstacle to scale with its name, centred on its distance."""
    draw_thing(ax, name, distance_m, height_m)
    right = ax.get_xlim()[1]
    side = "right" if distance_m > 0.85 * right else "center"
    x = min(distance_m + 0.6 * height_m, right) if side == "right" else distance_m
    ax.annotate(
        f"{name}, {np.round(height_m):.0f} m",
        (x, height_m),
        xytext=(0, 2),
        textcoords="offset points",
        ha=side,
        va="bottom",
        fontsize=SMALL_PT,
        color=colour("muted"),
        zorder=5,
        bbox=LABEL,
    )

"""The field as it lies on the page: which metres are shown, and where they stand."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.describe.outlines import wanted_gap_m
from overarm.plan.exports.route import is_endless, shortened
from overarm.sheets.canvas import Box

if TYPE_CHECKING:
    from overarm.describe.outlines import Outline
    from overarm.plan.result import PlanResult

Numbers = NDArray[np.float64]

FAR_SHARE = 1.3  # an obstacle further off than this share of the whole way is left out of the drawing
LEAST_REACH_M = 60.0
ROOM_SHARE = 0.05
BESIDE_M = 15.0
STEP_M = 2.0
THERE_SHARE = 0.05  # the fan is drawn as far as one launch of twenty gets


class View(NamedTuple):
    """What part of the field is drawn, in page directions [m]."""

    left_m: float
    right_m: float
    low_m: float
    high_m: float
    up: bool  # the launch line runs up the page; else it runs to the right

    def at(self, ahead_m: Numbers | float, right_m: Numbers | float) -> tuple[Numbers, Numbers]:
        """Return where a place of the launch frame stands on the page [m]."""
        ahead, right = np.asarray(ahead_m, dtype=np.float64), np.asarray(right_m, dtype=np.float64)
        return (right, ahead) if self.up else (ahead, -right)

    def turned(self, bearing_rad: float) -> tuple[float, float]:
        """Return the page direction of a bearing that is counted from the launch line to the right."""
        x, y = self.at(math.cos(bearing_rad), math.sin(bearing_rad))
        return float(x), float(y)


def home_spot(plan: PlanResult) -> tuple[float, float]:
    """Return the middle of the home circle [m ahead, m right]."""
    found = [p for p in plan.route if p.kind == "home"]
    return (found[-1].ahead_m, found[-1].right_m) if found else (0.0, 0.0)


def fan_upto(plan: PlanResult) -> int:
    """Return how many steps of the fan are drawn."""
    there = np.flatnonzero(plan.fan.share_there >= THERE_SHARE)
    return int(there[-1]) + 1 if there.size else 0


def drawn_outline(outline: Outline) -> Numbers:
    """Return the corners of an obstacle as they are drawn [m]; a wall without an end is cut."""
    return shortened(outline.points_m) if is_endless(outline) else outline.points_m


def nearest_m(outline: Outline) -> float:
    """Return the distance from the launch to the nearest part of an obstacle [m]."""
    return float(np.min(np.hypot(*dense(outline).T)))


def dense(outline: Outline) -> Numbers:
    """Return points along the edge of an obstacle, no further apart than 2 m [m]."""
    corners = drawn_outline(outline)
    if outline.closed:
        corners = np.vstack([corners, corners[:1]])
    pieces = [corners[:1]]
    for start, end in itertools.pairwise(corners):
        count = max(1, math.ceil(float(np.hypot(*(end - start))) / STEP_M))
        pieces.append(start + np.linspace(0.0, 1.0, count + 1)[1:, None] * (end - start))
    return np.vstack(pieces)


def reach_m(plan: PlanResult) -> float:
    """Return how far the way and the circle reach from the launch [m]."""
    x, y = home_spot(plan)
    ways = [math.hypot(p.ahead_m, p.right_m) for p in plan.route]
    return max(LEAST_REACH_M, math.hypot(x, y) + plan.circle.radius_m, *ways)


def _places(plan: PlanResult) -> Numbers:
    x, y = home_spot(plan)
    radius, far = 1.15 * plan.circle.radius_m, FAR_SHARE * reach_m(plan)
    rows = [np.array([[x - radius, y - radius], [x + radius, y + radius]])]
    rows += [np.array([[p.ahead_m, p.right_m]]) for p in plan.route]
    upto = fan_upto(plan)
    for side in (plan.fan.right_p5_m, plan.fan.right_p95_m):
        rows.append(np.stack([plan.fan.ahead_m[:upto], side[:upto]], axis=1))
    for outline in plan.outlines:
        points = dense(outline)
        away = np.hypot(*points.T)
        if is_endless(outline):
            points = points[[int(np.argmin(away))]]
        elif away.min() <= far:
            points = points[away <= far]
        rows.append(points if away.min() <= far else points[:0])
    return np.vstack(rows)


def view_of(plan: PlanResult, box: Box, *, up: bool) -> View:
    """Return the part of the field that holds everything drawn and fills the box at one scale."""
    places = _places(plan)
    blank = View(0.0, 0.0, 0.0, 0.0, up)
    x, y = blank.at(places[:, 0], places[:, 1])
    middle = np.array([x.min() + x.max(), y.min() + y.max()]) / 2.0
    span = np.array([np.ptp(x), np.ptp(y)]) * (1.0 + 2.0 * ROOM_SHARE)
    scale = max(span[0] / box.width_mm, span[1] / box.height_mm)
    half = 0.5 * scale * np.array([box.width_mm, box.height_mm])
    low, high = middle - half, middle + half
    return View(float(low[0]), float(high[0]), float(low[1]), float(high[1]), up)


def round_length_m(span_m: float) -> float:
    """Return a round length of about a fifth of a span, for a scale bar [m]."""
    lengths = [k * 10.0**e for e in range(4) for k in (1, 2, 5)]
    return max((length for length in lengths if length <= max(span_m / 4.0, 1.0)), default=1.0)


class Block(NamedTuple):
    """An obstacle as it stands in the side view: from where to where along the launch line."""

    name: str
    from_m: float
    to_m: float
    height_m: float
    wanted_m: float  # gap that is wanted above it


def blocks_ahead(plan: PlanResult) -> list[Block]:
    """Return the obstacles that stand ahead, in the way of nine launches of ten or just beside it."""
    fan = plan.fan
    found = []
    wanted = {(gap.name, gap.height_m): gap.wanted_m for gap in plan.gaps}
    for outline in plan.outlines:
        points = dense(outline)
        ahead, right = points.T
        if fan.ahead_m.size:
            low = np.interp(ahead, fan.ahead_m, fan.right_p5_m) - BESIDE_M
            high = np.interp(ahead, fan.ahead_m, fan.right_p95_m) + BESIDE_M
        else:
            low, high = np.full_like(ahead, -BESIDE_M), np.full_like(ahead, BESIDE_M)
        use = (ahead > 0.0) & (right >= low) & (right <= high)
        if use.any():
            low_m, high_m = float(ahead[use].min()), float(ahead[use].max())
            asked = wanted.get((outline.name, outline.height_m), wanted_gap_m(low_m))
            found.append(Block(outline.name, low_m, high_m, outline.height_m, asked))
    return sorted(found, key=lambda block: block.from_m)

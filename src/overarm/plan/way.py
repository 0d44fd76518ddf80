"""The line of the way home over the ground, and what stands on it: on, round, and back to the launch."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from overarm.plan.clearance import shape_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from overarm.describe.outlines import Outline
    from overarm.plan.scene import Scene, Surface

    Floats = NDArray[np.float64]

ON_AT_LEAST_M = 20.0
LONGEST_STRAIGHT_M = 400.0
ARC_STEPS = 13
GRID_M = 5.0


class Way(NamedTuple):
    """Corner points in the launch frame [m]; the turn is half a circle from out to turn."""

    handover: tuple[float, float]
    out: tuple[float, float]
    turn: tuple[float, float]
    side: float  # +1: it turns to the right
    radius_m: float

    @property
    def on_m(self) -> float:
        """Return the length from the handover to the start of the turn."""
        return math.dist(self.handover, self.out)

    @property
    def straight_m(self) -> float:
        """Return how far on from the handover it may come before it heads for home: on, and round.

        Nobody watches it fly straight on for longer than 400 m (own estimate).
        """
        return min(LONGEST_STRAIGHT_M, self.on_m + 2.0 * self.radius_m)

    @property
    def turn_m(self) -> float:
        """Return the length of the turn."""
        return math.pi * self.radius_m

    @property
    def back_m(self) -> float:
        """Return the length from the end of the turn to the launch."""
        return math.hypot(*self.turn)

    @property
    def back_course_rad(self) -> float:
        """Return the course from the end of the turn to the launch, 0 ahead, to the right positive."""
        return math.atan2(-self.turn[1], -self.turn[0])


def way_of(handover: tuple[float, float], on_m: float, radius_m: float, side: float) -> Way:
    """Return the way that goes on so far ahead, turns half round to one side, and comes straight back."""
    out = (handover[0] + max(ON_AT_LEAST_M, on_m), handover[1])
    return Way(handover, out, (out[0], out[1] + 2.0 * radius_m * side), side, radius_m)


def turn_area(way: Way) -> BaseGeometry:
    """Return the half disc that the turn runs around."""
    from shapely.geometry import Polygon

    angles = np.linspace(-0.5 * math.pi, 0.5 * math.pi, ARC_STEPS)
    ahead = way.out[0] + way.radius_m * np.cos(angles)
    right = way.out[1] + way.side * way.radius_m * (1.0 + np.sin(angles))
    return Polygon(np.column_stack([ahead, right]))


def corridor(way: Way, beside_m: float) -> BaseGeometry:
    """Return the ground that it may pass over: the line, the turn and the launch with a margin [m]."""
    from shapely import union_all
    from shapely.geometry import LineString

    line = LineString([way.handover, way.out, way.turn, (0.0, 0.0)])
    return union_all([line.buffer(beside_m), turn_area(way).buffer(beside_m)])


def corridor_out(way: Way) -> BaseGeometry:
    """Return the ground under the way from the handover to the end of the turn, a radius wide."""
    from shapely import union_all
    from shapely.geometry import LineString

    line = LineString([way.handover, way.out]).buffer(way.radius_m)
    return union_all([line, turn_area(way).buffer(way.radius_m)])


def tallest_in(area: BaseGeometry, outlines: Iterable[Outline]) -> float:
    """Return the height [m] of the tallest obstacle that reaches into an area; 0 if none does."""
    return max((item.height_m for item in outlines if shape_of(item).intersects(area)), default=0.0)


def _ground_in(area: BaseGeometry, surface: Surface) -> Floats:
    """Return the heights [m] of a surface on a net of 5 m within an area; NaN where it knows none."""
    import shapely

    west, south, east, north = area.bounds
    ahead, right = np.meshgrid(
        np.arange(west, east + GRID_M, GRID_M), np.arange(south, north + GRID_M, GRID_M)
    )
    inside = shapely.contains_xy(area, ahead, right)
    return surface(ahead[inside], right[inside])


def highest_ground(area: BaseGeometry, scene: Scene) -> float:
    """Return the highest place [m] of the height model within an area; 0 without a model or lower."""
    if scene.surface is None:
        return 0.0
    heights = _ground_in(area, scene.surface)
    known = heights[np.isfinite(heights)]
    return max(0.0, float(known.max())) if len(known) else 0.0


def unknown_ground(area: BaseGeometry, scene: Scene) -> float:
    """Return the share of an area for which the height model has no height; 0 without a model."""
    if scene.surface is None:
        return 0.0
    heights = _ground_in(area, scene.surface)
    return float(np.mean(~np.isfinite(heights))) if len(heights) else 0.0


def lower_side(handover: tuple[float, float], on_m: float, scene: Scene) -> Way:
    """Return the way that turns over the lower ground; to the right if both sides are alike."""
    ways = [way_of(handover, on_m, scene.radius_m, side) for side in (1.0, -1.0)]
    heights = [
        max(tallest_in(turn_area(way), scene.outlines), highest_ground(turn_area(way), scene)) for way in ways
    ]
    return ways[0] if heights[0] <= heights[1] else ways[1]

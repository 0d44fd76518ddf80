"""The way that a route makes from the launch: where it turns to first, and what stands below it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from overarm.describe.outlines import Outline
from overarm.readback.places import LAUNCH_NEAR_M, Located

# Over an obstacle a route keeps this much. Common practice, no source.
OVER_M = 15.0
# A model is this far beside its leg at times: its position, its turns and the wind. Own estimate.
PLACE_ERROR_M = 10.0


class LegGap(NamedTuple):
    """A leg over or beside an obstacle: how far it keeps above the top."""

    leg: int  # that leads to this point, from 1
    obstacle: str
    gap_m: float
    height_m: float  # of the leg there, above the launch
    aside_m: float  # least distance over ground from the leg; 0 if it passes over


def first_bearing_rad(points: Sequence[Located]) -> float | None:
    """Return where the first point away from the launch lies: 0 ahead, right positive; None if none."""
    for point in points:
        if math.hypot(point.ahead_m, point.right_m) > 3.0 * LAUNCH_NEAR_M:
            return math.atan2(point.right_m, point.ahead_m)
    return None


def low_legs(
    points: Sequence[Located], found: Sequence[Outline], span_m: float, handover_m: float
) -> tuple[LegGap, ...]:
    """Return every leg that passes over or beside an obstacle with less than 15 m to spare.

    An obstacle counts where the leg is within half the span and a place error of it. The height is a straight
    line from point to point. An end without a height has the last one that is known: at first that of the
    handover. Where the start has none, as on the first leg, from the launch, it is the lower one of that and
    of the leg's end.

    Parameters: the points without the launch; the obstacles; the span [m]; height of the handover [m].
    """
    gaps = []
    here, last_m = Located("launch", 0.0, 0.0, None), handover_m
    reach_m = 0.5 * span_m + PLACE_ERROR_M
    for k, there in enumerate(points, 1):
        end_m = last_m if there.height_m is None else there.height_m
        low_m = min(last_m, end_m)
        heights = (low_m, low_m) if here.height_m is None else (here.height_m, end_m)
        gaps += [
            gap for outline in found if (gap := _gap(k, (here, there), heights, outline, reach_m)) is not None
        ]
        here, last_m = there, end_m
    return tuple(gaps)


def _gap(
    leg: int, ends: tuple[Located, Located], heights: tuple[float, float], outline: Outline, reach_m: float
) -> LegGap | None:
    import shapely

    line = shapely.LineString([(end.ahead_m, end.right_m) for end in ends])
    shape = shapely.Polygon(outline.points_m) if outline.closed else shapely.LineString(outline.points_m)
    near = line.intersection(shape.buffer(reach_m))
    if near.is_empty or line.length == 0.0:
        return None
    shares = [
        float(line.project(shapely.Point(place))) / float(line.length)
        for place in shapely.get_coordinates(near)
    ]
    start_m, end_m = heights
    height = min(start_m + share * (end_m - start_m) for share in shares)
    gap = height - outline.height_m
    return LegGap(leg, outline.name, gap, height, float(line.distance(shape))) if gap < OVER_M else None

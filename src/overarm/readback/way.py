"""The way that a route makes from the launch: where it turns to first, and what stands below it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from overarm.describe.outlines import Outline
from overarm.readback.places import LAUNCH_NEAR_M, Located

# Over an obstacle a route keeps this much. Common practice, no source.
OVER_M = 15.0


class LegGap(NamedTuple):
    """A leg over an obstacle: how far it keeps above the top."""

    leg: int  # that leads to this point, from 1
    obstacle: str
    gap_m: float
    height_m: float  # of the leg there, above the launch


def first_bearing_rad(points: Sequence[Located]) -> float | None:
    """Return where the first point away from the launch lies: 0 ahead, right positive; None if none."""
    for point in points:
        if math.hypot(point.ahead_m, point.right_m) > 3.0 * LAUNCH_NEAR_M:
            return math.atan2(point.right_m, point.ahead_m)
    return None


def low_legs(points: Sequence[Located], found: Sequence[Outline]) -> tuple[LegGap, ...]:
    """Return every leg that passes over an obstacle with less than 15 m to spare.

    The height on a leg is a straight line from point to point; on the first one, from the launch, it is
    taken as that of its point already, which is the most it can be.
    """
    gaps = []
    here = Located("launch", 0.0, 0.0, None)
    for k, there in enumerate(points, 1):
        start = here if here.height_m is not None else here._replace(height_m=there.height_m)
        if start.height_m is not None and there.height_m is not None:
            gaps += [gap for outline in found if (gap := _gap(k, start, there, outline)) is not None]
        here = there
    return tuple(gaps)


def _gap(leg: int, start: Located, end: Located, outline: Outline) -> LegGap | None:
    import shapely

    line = shapely.LineString([(start.ahead_m, start.right_m), (end.ahead_m, end.right_m)])
    shape = shapely.Polygon(outline.points_m) if outline.closed else shapely.LineString(outline.points_m)
    crossed = line.intersection(shape)
    if crossed.is_empty or line.length == 0.0:
        return None
    assert start.height_m is not None, "the leg has no height at its start"
    assert end.height_m is not None, "the leg has no height at its end"
    shares = [
        float(line.project(shapely.Point(place))) / float(line.length)
        for place in shapely.get_coordinates(crossed)
    ]
    height = min(start.height_m + share * (end.height_m - start.height_m) for share in shares)
    gap = height - outline.height_m
    return LegGap(leg, outline.name, gap, height) if gap < OVER_M else None

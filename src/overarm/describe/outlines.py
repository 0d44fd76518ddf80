"""Obstacles in the plane: what the site card and its obstacle file say, in the launch frame.

Every obstacle is an outline with one height; the launch engine sees the walls of the outlines. An
obstacle of the card stands square to the line of sight from the point of release to it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.earth import Ground, Spot

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.site import Obstacle

Floats = NDArray[np.float64]

# An obstacle without a width goes on this far to either side: beyond any launch or way home.
ENDLESS_M = 10_000.0
# An area is cut square to the launch line this often, so that sinking into it from above is seen, as far as
# a launch can go before it is judged.
CUT_M = 10.0
CUT_REACH_M = 1_500.0
# What lies within this angle of the launch line is ahead: the spread of launch directions that torque and
# wrist give. Common practice, no source.
AHEAD_RAD = math.radians(15.0)
WANTED_GAP_M, WANTED_GAP_SHARE = 5.0, 0.1
# Home height over the tallest of what stands on the way home; common practice, no source.
HOME_ABOVE_M = 15.0
HEIGHT_ERROR_M = 10.0  # satellite, vertical, 95 %


class Outline(NamedTuple):
    """One obstacle in the launch frame: origin at the point of release, x ahead, y to the right."""

    name: str
    points_m: Floats  # (n, 2): ahead, right; the first point of an area is not repeated
    height_m: float  # top above the ground at the launch
    closed: bool  # an area; else a wall


def wanted_gap_m(distance_m: float) -> float:
    """Return the gap that is wanted over an obstacle at a distance [m]: 5 m and a tenth of the distance.

    Source: common practice, no source.
    """
    return WANTED_GAP_M + WANTED_GAP_SHARE * distance_m


def ground_of(setup: Setup) -> Ground | None:
    """Return where the launch is on the earth; None unless the site card says point and direction."""
    point, direction = setup.site.launch_point, setup.site.launch_direction_rad
    if point is None or direction is None:
        return None
    # Rounded to a micrometre on the ground: as many digits as were written, and no more than 90 or 180.
    latitude = round(math.degrees(point.latitude_rad.value), 11)
    longitude = round(math.degrees(point.longitude_rad.value), 11)
    return Ground(Spot(latitude, longitude), direction.value % (2.0 * math.pi))


def outlines(setup: Setup) -> tuple[Outline, ...]:
    """Return every obstacle of the site card and of its obstacle file.

    Raises InputError for a file that cannot be used.
    """
    found = [_of_card(item) for item in setup.site.obstacles]
    ground, file = ground_of(setup), setup.site.obstacle_file
    if file is not None and ground is not None:
        from overarm.describe.obstacle_file import read_obstacles

        found += [Outline(*shape) for shape in read_obstacles(file, ground)]
    return tuple(found)


def _of_card(item: Obstacle) -> Outline:
    """Return an obstacle of the card: a wall square to the line of sight, centred on it."""
    half_m = 0.5 * item.width_m.value if item.width_m is not None else ENDLESS_M
    sine, cosine = math.sin(item.angle_rad.value), math.cos(item.angle_rad.value)
    ahead, right = item.distance_m.value * cosine, item.distance_m.value * sine
    ends = [
        (ahead + half_m * sine, right - half_m * cosine),
        (ahead - half_m * sine, right + half_m * cosine),
    ]
    return Outline(item.name, np.array(ends), item.height_m.value, False)


def walls(found: Iterable[Outline]) -> Floats:
    """Return the walls of outlines for the launch engine, shape (n, 5): x1, y1, x2, y2, height [m].

    An area has its edges, and cuts across it every 10 m along the launch line.
    """
    rows = []
    for outline in found:
        ends = _edges(outline)
        if outline.closed:
            ends = np.concatenate([ends, _cuts(ends)])
        rows.append(np.column_stack([ends, np.full(len(ends), outline.height_m)]))
    return np.ascontiguousarray(np.concatenate(rows) if rows else np.empty((0, 5)))


def _edges(outline: Outline) -> Floats:
    """Return the edges of an outline, shape (n, 4): x1, y1, x2, y2 [m]."""
    points = outline.points_m
    if outline.closed:
        return np.column_stack([points, np.roll(points, -1, axis=0)])
    return np.column_stack([points[:-1], points[1:]])


def _cuts(edges: Floats) -> Floats:
    """Return the pieces of lines across the launch line that lie inside an area, shape (n, 4).

    Each line passes the edges in pairs, in and out.
    """
    first, last = max(-CUT_REACH_M, edges[:, 0].min()), min(CUT_REACH_M, edges[:, 0].max())
    pieces = []
    for x in np.arange(first + CUT_M, last, CUT_M):
        x1, y1, x2, y2 = edges[(edges[:, 0] <= x) != (edges[:, 2] <= x)].T
        across = np.sort(y1 + (x - x1) / (x2 - x1) * (y2 - y1))
        pieces += [(x, y, x, z) for y, z in zip(across[::2], across[1::2], strict=True)]
    return np.array(pieces).reshape(-1, 4)


def ahead_m(outline: Outline) -> float | None:
    """Return how far from the release an obstacle begins within 15 deg of the launch line [m]; else None.

    0 if the release is inside it. An obstacle behind or far aside is not ahead.
    """
    edges = _edges(outline)
    if outline.closed and _inside(edges):
        return 0.0
    slope = math.tan(AHEAD_RAD)
    found = (_nearest_in_wedge(edge, slope) for edge in edges.tolist())
    return min((distance for distance in found if distance is not None), default=None)


def _inside(edges: Floats) -> bool:
    """Return True if the release is inside an area: the launch line passes an odd number of edges."""
    x1, y1, x2, y2 = edges[(edges[:, 1] <= 0.0) != (edges[:, 3] <= 0.0)].T
    return bool(np.count_nonzero(x1 - y1 / (y2 - y1) * (x2 - x1) > 0.0) % 2)


def _nearest_in_wedge(edge: list[float], slope: float) -> float | None:
    """Return the least distance from the origin of what an edge has in ``|y| <= slope x`` [m]."""
    x, y, along_x, along_y = edge[0], edge[1], edge[2] - edge[0], edge[3] - edge[1]
    low, high = 0.0, 1.0
    for side in (-1.0, 1.0):
        start, rise = slope * x + side * y, slope * along_x + side * along_y
        if rise > 0.0:
            low = max(low, -start / rise)
        elif rise < 0.0:
            high = min(high, -start / rise)
        elif start < 0.0:
            return None
    if low > high:
        return None
    length_2 = along_x * along_x + along_y * along_y
    share = -(x * along_x + y * along_y) / length_2 if length_2 > 0.0 else 0.0
    share = min(high, max(low, share))
    return math.hypot(x + share * along_x, y + share * along_y)

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


class Outline(NamedTuple):
    """One obstacle in the launch frame: origin at the point of release, x ahead, y to the right."""

    name: str
    points_m: Floats  # (n, 2): ahead, right; the first point of an area is not repeated
    height_m: float  # top above the ground at the launch
    closed: bool  # an area; else a wall


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
    """Return the walls of outlines for the launch engine, shape (n, 5): x1, y1, x2, y2, height [m]."""
    rows = []
    for outline in found:
        points = outline.points_m
        ends = np.roll(points, -1, axis=0) if outline.closed else points[1:]
        starts = points if outline.closed else points[:-1]
        rows.append(np.column_stack([starts, ends, np.full(len(starts), outline.height_m)]))
    return np.ascontiguousarray(np.concatenate(rows) if rows else np.empty((0, 5)))

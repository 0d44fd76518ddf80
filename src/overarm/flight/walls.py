"""Obstacles on the way: the walls that the path over ground crosses, and how high above them.

A wall is a row x1, y1, x2, y2, height [m] in the launch frame: upright, with a level top.
"""

from __future__ import annotations

import math
from typing import Any

from overarm.frames import Vector
from overarm.jit import scalar
from overarm.physics.rigid_body import Body

# A height above a wall that was not crossed.
NOT_CROSSED_M = 1e9
# The line that a model is taken to fly on after handover: as long as the longest wall on either side.
AHEAD_M = 20_000.0
# Ends of walls that meet leave no hole between them for the last bit of a number to slip through.
SHARED_END = 1e-9
# Walls are looked at again this much before one can be reached.
SOON_M = 1e-3


@scalar
def gap_over(wall: Any, start: Vector, end: Vector) -> float:
    """Return how far above a wall a straight line crosses it [m], negative: into it; else NOT_CROSSED_M.

    ``start`` and ``end`` are points of the launch frame [m]. A line that ends on the wall crosses it,
    one that starts there does not, so that no crossing is counted twice or left out.
    Equation: signs of the cross products of the wall with both ends; height linear between them.
    """
    along_x, along_y = wall[2] - wall[0], wall[3] - wall[1]
    before = along_x * (start[1] - wall[1]) - along_y * (start[0] - wall[0])
    after = along_x * (end[1] - wall[1]) - along_y * (end[0] - wall[0])
    if not ((before > 0.0 and after <= 0.0) or (before < 0.0 and after >= 0.0)):
        return NOT_CROSSED_M
    share = before / (before - after)
    x = start[0] + share * (end[0] - start[0]) - wall[0]
    y = start[1] + share * (end[1] - start[1]) - wall[1]
    length_2 = along_x * along_x + along_y * along_y
    place = (x * along_x + y * along_y) / length_2
    if place < -SHARED_END or place > 1.0 + SHARED_END:
        return NOT_CROSSED_M
    return -(start[2] + share * (end[2] - start[2])) - wall[4]


@scalar
def distance_to(wall: Any, x_m: float, y_m: float) -> float:
    """Return the distance over ground from a point to the nearest point of a wall [m]."""
    along_x, along_y = wall[2] - wall[0], wall[3] - wall[1]
    x, y = x_m - wall[0], y_m - wall[1]
    length_2 = along_x * along_x + along_y * along_y
    share = 0.0
    if length_2 > 0.0:
        share = min(1.0, max(0.0, (x * along_x + y * along_y) / length_2))
    x, y = x - share * along_x, y - share * along_y
    return math.sqrt(x * x + y * y)


@scalar
def free_way(free_m: float, before: Vector, now: Body) -> float:
    """Return what is left of the way that can be flown before any wall can be reached [m].

    Walls are looked at only when it is used up; no step is longer than its parts ahead and aside
    together.
    """
    return free_m - abs(now.x - before[0]) - abs(now.y - before[1])


@scalar
def note_walls(out: Any, walls: Any, start: Vector, now: Body) -> tuple[bool, float]:
    """Keep the least gap over the walls crossed in one step from a point ``start``.

    Returns (True if a wall was struck, the way that can be flown before any can be reached [m]).
    """
    end = (now.x, now.y, now.z)
    struck, free_m = False, AHEAD_M
    for k in range(walls.shape[0]):
        gap_m = gap_over(walls[k], start, end)
        out.obstacle_gap_m = min(out.obstacle_gap_m, gap_m)
        struck = struck or gap_m < 0.0
        free_m = min(free_m, distance_to(walls[k], now.x, now.y))
    return struck, free_m - SOON_M


@scalar
def note_ahead(out: Any, walls: Any, body: Body, velocity_mps: Vector) -> None:
    """Keep the gap over what is still ahead at handover, the path taken as level from here on.

    Ahead is every wall on either of two straight lines: on along the ground track, and on along the
    launch line's direction. A wall without an end across the launch line is thus ahead whatever
    the track, and a tree only if one of the lines meets it. Own estimate: nothing is known here of the
    task that follows.
    """
    start = (body.x, body.y, body.z)
    speed = math.sqrt(velocity_mps[0] * velocity_mps[0] + velocity_mps[1] * velocity_mps[1])
    reach_s = AHEAD_M / speed if speed > 0.0 else 0.0
    on_track = (body.x + reach_s * velocity_mps[0], body.y + reach_s * velocity_mps[1], body.z)
    on_line = (body.x + AHEAD_M, body.y, body.z)
    for k in range(walls.shape[0]):
        out.obstacle_gap_m = min(out.obstacle_gap_m, gap_over(walls[k], start, on_track))
        out.obstacle_gap_m = min(out.obstacle_gap_m, gap_over(walls[k], start, on_line))

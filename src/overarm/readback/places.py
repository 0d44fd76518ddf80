"""Route points in the launch frame: from the plan, or from a file."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from overarm.describe.outlines import ground_of
from overarm.earth import Ground, Spot, to_launch
from overarm.errors import InputError, Problem
from overarm.readback.track import Track, TrackPoint

if TYPE_CHECKING:
    from collections.abc import Sequence

    from overarm.describe.cards import Setup
    from overarm.plan.result import RoutePoint

# A first point this near to the launch is the launch itself; an aircraft may hold it or not.
LAUNCH_NEAR_M = 5.0
MICROMETRE = 6  # decimals of a metre; what is smaller is nothing


class Located(NamedTuple):
    """One route point in the launch frame, its height above the ground at the launch (None: not told)."""

    name: str
    ahead_m: float
    right_m: float
    height_m: float | None


class Frame(NamedTuple):
    """Where the launch frame lies; ``directed`` is False if only the place is known."""

    ground: Ground | None
    directed: bool


def frame_of(setup: Setup, planned: Track | None, reported: Track) -> Frame:
    """Return the frame in which both routes can be compared.

    Raises InputError if one is on the earth and the launch is not.
    """
    ground = ground_of(setup)
    if ground is not None:
        return Frame(ground, True)
    on_earth = [_on_earth(track) for track in (planned, reported) if track is not None]
    if not any(on_earth):
        return Frame(None, True)
    if planned is not None and all(on_earth):
        point = setup.site.launch_point
        first = planned.points[0]
        spot = Spot(first.latitude_deg or 0.0, first.longitude_deg or 0.0)
        if point is not None:
            import math

            spot = Spot(*(math.degrees(part.value) for part in (point.latitude_rad, point.longitude_rad)))
        return Frame(Ground(spot, 0.0), False)
    cure = (
        "Give site.launch_point and site.launch_direction in the setup, or the route that was loaded up, too"
    )
    message = "holds latitudes and longitudes, and the setup does not say where the launch is"
    raise InputError([Problem(message, cure, reported.file)])


def _on_earth(track: Track) -> bool:
    return track.points[0].latitude_deg is not None


def located(track: Track, frame: Frame, elevation_m: float) -> tuple[Located, ...]:
    """Return the points of a file in the launch frame.

    Heights above the sea lose the height of the field; those above the ground are taken as above the
    ground at the launch.
    """
    lift = elevation_m if track.height_from == "sea" else 0.0
    return tuple(_located(point, frame, lift) for point in track.points)


def _located(point: TrackPoint, frame: Frame, lift_m: float) -> Located:
    height = None if point.height_m is None else round(point.height_m - lift_m, MICROMETRE)
    if point.latitude_deg is None or point.longitude_deg is None:
        ahead, right = (round(part or 0.0, MICROMETRE) for part in (point.ahead_m, point.right_m))
        return Located(point.name, ahead, right, height)
    assert frame.ground is not None, "a route on the earth without a launch on the earth"
    found = to_launch(frame.ground, point.latitude_deg, point.longitude_deg)
    ahead, right = (round(float(part), MICROMETRE) for part in found)
    return Located(point.name, ahead, right, height)


def of_plan(route: Sequence[RoutePoint]) -> tuple[Located, ...]:
    """Return the points of a plan."""
    return tuple(Located(item.name, item.ahead_m, item.right_m, item.height_m) for item in route)


def without_launch(points: tuple[Located, ...]) -> tuple[Located, ...]:
    """Return the points without a first one that is the launch itself."""
    first = points[0] if points else None
    near = first is not None and first.ahead_m**2 + first.right_m**2 <= LAUNCH_NEAR_M**2
    return points[1:] if near and len(points) > 1 else points

"""A plan as GPX 1.1: the route, and the launch and the home as single points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from overarm.plan.exports.route import Placed, Point, about_words

if TYPE_CHECKING:
    from gpxpy.gpx import GPXRoutePoint, GPXWaypoint

NO_SEA_LEVEL = (
    "The height of the field above the sea is not on the site card, so no point has one; heights are in the "
    "descriptions."
)
SEA_LEVEL = (
    "Heights of the points (ele) are above the sea: height of the field on the site card, {} m, added."
)


def _told(point: Point) -> str:
    return f"{point.kind}, {point.height_m:.1f} m above the ground at the launch"


def _elevation(plan: Placed, point: Point) -> float | None:
    """Return the height above the sea [m], which is what GPX means by ``ele``; None if not known."""
    return None if plan.elevation_m is None else round(plan.elevation_m + point.height_m, 2)


def _route_point(plan: Placed, point: Point) -> GPXRoutePoint:
    from gpxpy.gpx import GPXRoutePoint

    longitude, latitude = point.at
    return GPXRoutePoint(
        latitude, longitude, _elevation(plan, point), name=point.name, description=_told(point)
    )


def _waypoint(plan: Placed, point: Point) -> GPXWaypoint:
    from gpxpy.gpx import GPXWaypoint

    longitude, latitude = point.at
    return GPXWaypoint(
        latitude, longitude, _elevation(plan, point), name=point.name, description=_told(point),
        type=point.kind,
    )  # fmt: skip


def gpx_text(plan: Placed) -> str:
    """Return the plan as GPX 1.1.

    Without the height of the field above the sea the points carry none: ``ele`` is a height above the sea
    and nothing else.
    Source: GPX 1.1 schema, wptType.
    """
    from gpxpy.gpx import GPX, GPXRoute

    sea = NO_SEA_LEVEL if plan.elevation_m is None else SEA_LEVEL.format(f"{plan.elevation_m:g}")
    words = f"{about_words(plan.trail)} {sea}"
    book = GPX()
    book.creator = f"Overarm {plan.trail.version}"
    book.name = plan.trail.setup
    book.description = words
    ends = [next((p for p in plan.points if p.kind == kind), None) for kind in ("launch", "home")]
    book.waypoints = [_waypoint(plan, point) for point in ends if point is not None]
    route = GPXRoute(name=plan.trail.setup, description=words)
    route.points = [_route_point(plan, point) for point in plan.points]
    book.routes = [route]
    return book.to_xml(version="1.1") + "\n"

"""Route points of a GPX file."""

from __future__ import annotations

from typing import Any

from overarm.readback.text import FileText
from overarm.readback.track import Track, TrackPoint, bare, broken


def from_gpx(source: FileText) -> Track:
    """Return the first route of a file, else its single points, else its track. Raises InputError."""
    import gpxpy

    try:
        book = gpxpy.parse(bare(source).strip())
    except Exception as error:
        # The reader is not ours; whatever it trips over is not a route.
        raise broken(source, "GPX", error) from None
    notes = []
    routes = [route.points for route in book.routes if route.points]
    if routes:
        found: list[Any] = list(routes[0])
        if len(routes) > 1:
            notes.append(f"it holds {len(routes)} routes; the first one is compared")
    elif book.waypoints:
        found = list(book.waypoints)
        notes.append("it holds no route; its single points are compared in their order")
    else:
        found = [point for track in book.tracks for part in track.segments for point in part.points]
        notes += ["it holds no route; the points of its track are compared"] if found else []
    points = tuple(
        TrackPoint(str(item.name or ""), item.latitude, item.longitude, None, None, item.elevation)
        for item in found
    )
    return Track(source.file, points, "sea", tuple(notes))

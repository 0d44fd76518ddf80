"""Route points of a GeoJSON file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.readback.text import FileText
from overarm.readback.track import Track, TrackPoint, broken

OUR_HEIGHT = "height_above_launch_ground_m"


def from_geojson(source: FileText) -> Track:
    """Return the single points of a file, else its first line. Raises InputError."""
    from geojson_pydantic import Feature, FeatureCollection
    from pydantic import ValidationError

    def refused(name: str) -> Any:
        raise ValueError(f"{name} is no number")

    try:
        data = json.loads(source.text, parse_constant=refused)
    except json.JSONDecodeError as error:
        place = Place(source.file, error.lineno, error.colno)
        reason = f"is not JSON: {error.msg.lower()}"
        raise InputError([trouble(reason, "Give the file as it was written", place)]) from None
    except (ValueError, RecursionError) as error:
        raise broken(source, "GeoJSON", error) from None
    if isinstance(data, dict) and data.get("type") not in ("FeatureCollection", "Feature"):
        data = {"type": "Feature", "geometry": data, "properties": None}
    kind: Any = FeatureCollection if data.get("type") == "FeatureCollection" else Feature
    try:
        whole = kind.model_validate(data)
    except (ValidationError, RecursionError) as error:
        raise InputError([_first_fault(source, error)]) from None
    features = whole.features if kind is FeatureCollection else [whole]
    points = list(_geo_points(features))
    ours = bool(points) and all(launch for _, launch in points)
    return Track(source.file, tuple(point for point, _ in points), "launch" if ours else "sea")


def _first_fault(source: FileText, error: Exception) -> Problem:
    from pydantic import ValidationError

    cure = "Give the file as it was written"
    if not isinstance(error, ValidationError):
        return Problem("is nested too deep", cure, source.file)
    item = error.errors()[0]
    key = ".".join(str(part) for part in item["loc"])
    message = f"is no GeoJSON: {item['msg'][:1].lower()}{item['msg'][1:]}"
    return trouble(message, cure, Place(source.file, 0, 0), key)


def _geo_points(features: Any) -> Iterator[tuple[TrackPoint, bool]]:
    """Yield points, and whether their height is above the launch as our own exports have it."""
    shapes = [(item, item.geometry) for item in features if item.geometry is not None]
    single = [pair for pair in shapes if pair[1].type == "Point"]
    chosen = single or [pair for pair in shapes if pair[1].type in ("LineString", "MultiPoint")][:1]
    for item, shape in chosen:
        told = item.properties if isinstance(item.properties, dict) else {}
        name, lifted = told.get("name"), told.get(OUR_HEIGHT)
        for place in [shape.coordinates] if shape.type == "Point" else shape.coordinates:
            height = float(place[2]) if len(place) > 2 else None
            ours = isinstance(lifted, int | float) and not isinstance(lifted, bool)
            if ours:
                height = float(str(lifted))
            yield (
                TrackPoint(
                    str(name) if name is not None else "",
                    float(place[1]),
                    float(place[0]),
                    None,
                    None,
                    height,
                ),
                ours,
            )

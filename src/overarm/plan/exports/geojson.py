"""A plan as GeoJSON (RFC 7946)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from overarm.plan.exports.route import CUT_WORDS, Placed, Position, about

FAN_WORDS = "nine launches of ten pass within this area"
HEIGHT = "height_above_launch_ground_m"


def _feature(kind: str, name: str, geometry: dict[str, Any], **more: object) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": {"what": kind, "name": name, **more}}


def _shape(kind: str, coordinates: object) -> dict[str, Any]:
    return {"type": kind, "coordinates": coordinates}


def _line(positions: Sequence[Position]) -> list[list[float]]:
    return [list(at) for at in positions]


def _areas(plan: Placed) -> list[dict[str, Any]]:
    found = []
    if plan.fan:
        found.append(
            _feature(
                "launch fan, 5th to 95th percentile",
                "launch fan",
                _shape("Polygon", [_line(plan.fan)]),
                meaning=FAN_WORDS,
            )
        )
        found.append(
            _feature(
                "middle of the launch fan",
                "middle launch",
                _shape("LineString", _line(plan.middle)),
                heights_above_launch_ground_m=[round(h, 2) for h in plan.middle_height_m],
            )
        )
    for item in plan.obstacles:
        shape = (
            _shape("Polygon", [_line(item.positions)])
            if item.closed
            else _shape("LineString", _line(item.positions))
        )
        more: dict[str, object] = {HEIGHT: round(item.height_m, 2)}
        if item.cut:
            more["meaning"] = CUT_WORDS
        found.append(_feature("obstacle", item.name, shape, **more))
    found.append(
        _feature(
            "home circle",
            "home circle",
            _shape("Polygon", [_line(plan.circle)]),
            radius_m=round(plan.circle_radius_m, 2),
            **{HEIGHT: round(plan.circle_height_m, 2)},
        )
    )
    return found


def geojson_text(plan: Placed) -> str:
    """Return the plan as a FeatureCollection, checked by its model.

    Heights are properties, not third coordinates: RFC 7946 section 4 counts those from the ellipsoid,
    which no card knows. The member ``about`` is a foreign member (section 6.1); the point of the launch
    carries the same, as many readers drop foreign members.
    """
    from geojson_pydantic import FeatureCollection

    features = []
    for k, point in enumerate(plan.points):
        more: dict[str, object] = {HEIGHT: round(point.height_m, 2), "order": k + 1}
        if point.kind == "launch":
            more |= about(plan.trail)
        features.append(
            _feature(f"route point, {point.kind}", point.name, _shape("Point", list(point.at)), **more)
        )
    if len(plan.points) > 1:
        way = _shape("LineString", _line([p.at for p in plan.points]))
        heights = [round(p.height_m, 2) for p in plan.points]
        features.append(_feature("route", "route", way, heights_above_launch_ground_m=heights))
    whole = {
        "type": "FeatureCollection",
        "about": about(plan.trail),
        "features": [*features, *_areas(plan)],
    }
    FeatureCollection.model_validate(whole)
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1) + "\n"

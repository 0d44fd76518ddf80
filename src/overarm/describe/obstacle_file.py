"""Obstacles from a GeoJSON file (RFC 7946), laid into the launch frame.

Areas, lines and points with a ``height`` above the ground at the launch: a number of metres, or text
with a unit such as "40 ft". A point is a tree with a ``width``. Heights in coordinates are left out. So are
holes in areas: a clearing in a wood counts as wood, since nobody plans to fly low over a clearing.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from overarm.earth import Ground, Spot, distance_bearing, to_launch, to_spots
from overarm.errors import InputError, Problem
from overarm.files import read_bytes
from overarm.units import LENGTH, UnitError, to_si

Floats = NDArray[np.float64]
_A = TypeVar("_A")
_B = TypeVar("_B")

MOST_BYTES = 5_000_000
MOST_FEATURES = 2_000
MOST_POINTS = 20_000
MOST_TOLD = 20
FURTHEST_M = 20_000.0
SWAPPED_M = 50_000.0
HEIGHTS_M = (0.1, 300.0)
WIDTHS_M = (0.1, 5000.0)
# The crown of a grown tree that stands alone. Own estimate.
POINT_WIDTH_M = 10.0
POINT_CORNERS = 8
# Names of WGS 84 in the member "crs" of GeoJSON before RFC 7946.
WGS_84 = ("CRS84", "EPSG::4326", "EPSG:4326")
FORM = "Write a FeatureCollection as in RFC 7946, each feature with geometry and properties"
KINDS = ("Polygon", "MultiPolygon", "LineString", "MultiLineString", "Point")
AREAS = ("Polygon", "MultiPolygon", "Point")
LONGEST_TOLD, LONGEST_NAME = 60, 200
_PLACE = re.compile(r"\[(\S+) (\S+)\]")


class Shape(NamedTuple):
    """One obstacle of a file in the launch frame; see `overarm.describe.outlines.Outline`."""

    name: str
    points_m: Floats  # (n, 2)
    height_m: float
    closed: bool


class _Feature(NamedTuple):
    """One feature whose form is right, and how it is told about."""

    file: str
    number: int  # from 1
    kind: str
    properties: dict[str, Any]
    parts: tuple[Floats, ...]  # (n, 2) longitude, latitude [deg] of each line or outer ring

    def wrong(self, message: str, cure: str, key: str = "", value: Any = "") -> InputError:
        return _wrong(self.file, self.number, message, cure, (key, value))


def _wrong(file: str, number: int, message: str, cure: str, what: tuple[str, Any] = ("", "")) -> InputError:
    """Return the problem of a feature; ``what`` is the key and its value."""
    key, value = what
    text = value if isinstance(value, str) else json.dumps(value, default=str)
    told = text if len(text) <= LONGEST_TOLD else f"{text[:LONGEST_TOLD]}..."
    return InputError([Problem(message, cure, file, key=f"feature {number}{key and ', '}{key}", value=told)])


def _each(items: Iterable[_A], work: Callable[[_A], _B]) -> list[_B]:
    """Return the result of every item; raises InputError with the problems of all."""
    done: list[_B] = []
    problems: list[Problem] = []
    for item in items:
        try:
            done.append(work(item))
        except InputError as error:
            problems += error.problems
    if len(problems) > MOST_TOLD:
        more = f"and {len(problems) - MOST_TOLD:,} more of the kind"
        problems = [*problems[:MOST_TOLD], Problem(more, "Mend those above first", problems[0].file)]
    if problems:
        raise InputError(problems)
    return done


def read_obstacles(file: Path, ground: Ground) -> tuple[Shape, ...]:
    """Return the obstacles of a GeoJSON file in the launch frame.

    Parameters
    ----------
    file : Path
    ground : Ground
        Where the launch is.

    Returns
    -------
    tuple of Shape
        A feature of several parts gives one for each. The same content is worked out once.

    Raises
    ------
    InputError
        With file, feature (counted from 1) and cure of whatever cannot be used; with line and column for
        what is not JSON.
    """
    raw = read_bytes(file, MOST_BYTES, "Give a GeoJSON file", "Keep what is near the launch")
    return _read(str(file), raw, ground)


@lru_cache(maxsize=4)
def _read(file: str, raw: bytes, ground: Ground) -> tuple[Shape, ...]:
    items = list(enumerate(_items(file, _json(file, raw)), start=1))
    features = _each(items, lambda item: _feature(file, *item))
    count = sum(len(part) for feature in features for part in feature.parts)
    if count > MOST_POINTS:
        cure = f"Keep what is near the launch, or simplify the outlines to {MOST_POINTS:,} points in all"
        raise InputError([Problem(f"has {count:,} points", cure, file)])
    _each(features, _check_range)
    laid = [tuple(_laid(ground, part) for part in feature.parts) for feature in features]
    _check_swapped(file, ground, features, laid)
    shapes = _each(zip(features, laid, strict=True), lambda pair: _shapes(ground, *pair))
    return tuple(shape for several in shapes for shape in several)


def _json(file: str, raw: bytes) -> Any:
    def refuse(word: str) -> None:
        cure = "Write a number in its place"
        raise InputError([Problem("is not JSON: it holds a word that is no number", cure, file, value=word)])

    try:
        return json.loads(raw.decode("utf-8-sig"), parse_constant=refuse)
    except json.JSONDecodeError as error:
        cure = "Mend this place, or save the file again from the map program"
        message = f"is not JSON: {error.msg[0].lower()}{error.msg[1:]}"
        raise InputError([Problem(message, cure, file, error.lineno, error.colno)]) from None
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line, column = before.count(b"\n") + 1, len(before) - before.rfind(b"\n")
        cure = "Save it as UTF-8 text"
        raise InputError([Problem("is not text in UTF-8", cure, file, line, column)]) from None
    except (RecursionError, ValueError):  # nested without end, or a number of thousands of digits
        raise InputError([Problem("is not GeoJSON that can be read", FORM, file)]) from None


def _items(file: str, data: Any) -> list[Any]:
    """Return what stands in the place of features."""
    if not isinstance(data, dict):
        raise InputError([Problem("is not GeoJSON", FORM, file)])
    system = data.get("crs")
    name = json.dumps(system)
    if system is not None and not any(word in name for word in WGS_84):
        message = "has coordinates in another reference system than WGS 84"
        cure = "Save it in WGS 84, longitude and latitude in degrees, as RFC 7946 asks"
        raise InputError([Problem(message, cure, file, key="crs", value=name[:LONGEST_TOLD])])
    kind = data.get("type")
    items = data.get("features") if kind == "FeatureCollection" else [data] if kind == "Feature" else None
    if not isinstance(items, list):
        message = "is not GeoJSON with features"
        raise InputError([Problem(message, FORM, file, value=str(kind or "")[:LONGEST_TOLD])])
    if not items:
        cure = "Draw the obstacles, or take obstacle_file out of the setup"
        raise InputError([Problem("has no features", cure, file)])
    if len(items) > MOST_FEATURES:
        cure = "Keep what is near the launch"
        raise InputError([Problem(f"has more than {MOST_FEATURES:,} features", cure, file)])
    return items


def _feature(file: str, number: int, item: Any) -> _Feature:
    """Return a feature that can be an obstacle."""
    from geojson_pydantic import Feature

    geometry = item.get("geometry") if isinstance(item, dict) else None
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if not isinstance(kind, str) or kind not in KINDS:
        cure = f"Draw obstacles as {', '.join(KINDS[:-1])} or {KINDS[-1]}, and take other features out"
        said = kind if isinstance(kind, str) else "no kind"
        raise _wrong(file, number, "has a geometry that is no obstacle", cure, ("geometry", said))
    if not isinstance(item.get("properties"), dict | None):
        raise _wrong(file, number, "has properties without names", FORM, ("properties", ""))
    try:
        made: Any = Feature.model_validate({"type": "Feature", "properties": None, "geometry": geometry})
    except ValueError as error:  # pydantic's own
        raise _wrong(file, number, *_told(error), ("geometry", "")) from None
    parts: Any = made.geometry.coordinates
    if kind == "Point":
        parts = [[parts]]
    elif kind == "LineString":
        parts = [parts]
    elif kind == "Polygon":
        parts = parts[:1]
    elif kind == "MultiPolygon":
        parts = [rings[0] for rings in parts if rings]
    if not parts or not parts[0]:
        raise _wrong(file, number, "has no points", "Draw it again, or take it out", ("geometry", ""))
    corners = tuple(np.array([point[:2] for point in part], float) for part in parts)
    return _Feature(file, number, kind, item.get("properties") or {}, corners)


def _told(error: ValueError) -> tuple[str, str]:
    """Return what the library finds wrong with the coordinates of a feature, and the cure."""
    first = error.errors()[0]  # type: ignore[attr-defined]
    if "start and end" in first["msg"]:
        return "has a ring that is not closed", "Repeat its first point as its last"
    if first["type"] == "too_short":
        return "has too few points", f"Give {first['ctx']['min_length']} or more"
    place = ".".join(str(part + 1) for part in first["loc"] if isinstance(part, int))
    return f"has no point at entry {place} of its coordinates", "Write each point as [longitude, latitude]"


def _check_range(feature: _Feature) -> None:
    for longitude, latitude in np.concatenate(feature.parts):
        if not (abs(longitude) <= 180.0 and abs(latitude) <= 90.0):
            cure = "Write each point as [longitude, latitude] in degrees, within 180 and 90"
            value = [float(longitude), float(latitude)]
            raise feature.wrong("has a point that is not on the earth", cure, "coordinates", value)


def _laid(ground: Ground, part: Floats) -> Floats:
    return np.column_stack(to_launch(ground, part[:, 1], part[:, 0]))


def _check_swapped(
    file: str, ground: Ground, features: list[_Feature], laid: list[tuple[Floats, ...]]
) -> None:
    """Refuse a file whose points are far away as they stand and near the other way round."""
    parts = [part for several in laid for part in several]
    if not parts or min(float(np.hypot(*part.T).min()) for part in parts) <= SWAPPED_M:
        return
    for feature in features:
        first, second = (float(value) for value in feature.parts[0][0])
        if abs(first) > 90.0 or distance_bearing(ground.launch, Spot(first, second))[0] > SWAPPED_M:
            return
    message = "has latitude and longitude swapped, it seems: the other way round all would be near"
    value = json.dumps(features[0].parts[0][0].tolist())
    raise InputError([Problem(message, "GeoJSON puts the longitude first", file, value=value)])


def _shapes(ground: Ground, feature: _Feature, laid: tuple[Floats, ...]) -> list[Shape]:
    """Return the obstacles that a feature gives."""
    far_m = max(float(np.hypot(*part.T).max()) for part in laid)
    if far_m > FURTHEST_M:
        cure = f"Take it out, or correct site.launch_point; {FURTHEST_M / 1000:.0f} km is the most"
        raise feature.wrong(f"reaches {far_m / 1000:.0f} km away from the launch", cure, "geometry")
    height_m = _length(feature, "height", HEIGHTS_M, None)
    name = _name(feature)
    if feature.kind == "Point":
        width_m = _length(feature, "width", WIDTHS_M, POINT_WIDTH_M)
        laid = tuple(_round(part[0], width_m) for part in laid)
    elif feature.kind in AREAS:
        laid = tuple(_ring(feature, ground, part) for part in laid)
    for part in laid:
        part.flags.writeable = False
    return [Shape(name, part, height_m, feature.kind in AREAS) for part in laid]


def _ring(feature: _Feature, ground: Ground, part: Floats) -> Floats:
    """Return the outer ring of an area, its last point left out; raises InputError if it crosses itself."""
    from shapely import Polygon
    from shapely.validation import explain_validity

    said = explain_validity(Polygon(part))
    if said != "Valid Geometry":
        found = _PLACE.search(said)
        where = ""
        if found:
            latitude, longitude = to_spots(ground, float(found[1]), float(found[2]))
            where = f" at latitude {float(latitude):.6f}, longitude {float(longitude):.6f}"
        crosses = "intersection" in said.lower()
        message = f"crosses itself{where}" if crosses else f"is no area{where}: {said.split('[')[0].lower()}"
        raise feature.wrong(message, "Draw its outline once round, without a knot", "geometry")
    return part[:-1].copy()


def _round(middle: Floats, width_m: float) -> Floats:
    """Return the corners of a tree: about its circle, not within it."""
    turn = (np.arange(POINT_CORNERS) + 0.5) * (2.0 * math.pi / POINT_CORNERS)
    radius_m = 0.5 * width_m / math.cos(math.pi / POINT_CORNERS)
    return middle + radius_m * np.column_stack([np.cos(turn), np.sin(turn)])


def _length(feature: _Feature, key: str, limits_m: tuple[float, float], default_m: float | None) -> float:
    """Return a length from the properties of a feature [m]."""
    raw = feature.properties.get(key)
    example = f'"{key}": 12 in metres, or "{key}": "40 ft"'
    if raw is None:
        if default_m is not None:
            return default_m
        raise feature.wrong(f"has no {key}", f"Give it the property {example}", key)
    try:
        plain = isinstance(raw, int | float) and not isinstance(raw, bool)
        value_m = float(raw) if plain else to_si(raw, LENGTH, example="12 m")
    except (UnitError, OverflowError) as error:
        raise feature.wrong(str(error) or "is no length", f"Write {example}", key, raw) from None
    low, high = limits_m
    if not low <= value_m <= high:
        raise feature.wrong(f"is outside {low:g} m to {high:g} m", f"Write {example}", key, raw)
    return value_m


def _name(feature: _Feature) -> str:
    raw = feature.properties.get("name")
    if not isinstance(raw, str) or not raw.strip():
        return f"obstacle {feature.number}"
    return "".join(letter if letter.isprintable() else " " for letter in raw.strip()[:LONGEST_NAME])

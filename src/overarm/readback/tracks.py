"""Route points of a file: GPX, KML, GeoJSON, or a table whose columns the mapping names."""

from __future__ import annotations

import csv
import json
import math
import re
import warnings
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any, NamedTuple

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.readback.mapping import Reference, RouteColumns
from overarm.readback.text import FileText, read_text
from overarm.readback.value import ValueFault, number_of

MOST_POINTS = 500
MOST_TOLD = 20
FARTHEST_M = 1e6
OURS = {name: name for name in ("latitude", "longitude", "ahead", "right", "height", "name")}
OUR_HEIGHT = "height_above_launch_ground_m"
GEO_TYPES = ("FeatureCollection", "Feature", "Point", "MultiPoint", "LineString")
_DECLARATION = re.compile(r"\s*<\?xml[^>]*\?>")


class TrackPoint(NamedTuple):
    """One route point as a file has it; a height of None is none."""

    name: str
    latitude_deg: float | None
    longitude_deg: float | None
    ahead_m: float | None
    right_m: float | None
    height_m: float | None
    line: int = 0


class Track(NamedTuple):
    """The points of a file in their order, and what their heights are counted from."""

    file: str
    points: tuple[TrackPoint, ...]
    height_from: Reference
    notes: tuple[str, ...] = ()


def kind_of(source: FileText) -> str:
    """Return gpx, kml, geojson or table, by what stands at the beginning."""
    begins = source.text.lstrip()
    if begins.startswith("<"):
        tag = _root_tag(source)
        if tag in ("gpx", "kml"):
            return tag
        cure = "Give the route as GPX, KML, GeoJSON or a table"
        raise InputError([trouble("is neither GPX nor KML", cure, Place(source.file, 1, 1), "", f"<{tag}>")])
    kind = re.search(r'"type"\s*:\s*"(\w+)"', begins[:2000]) if begins.startswith("{") else None
    return "geojson" if kind and kind[1] in GEO_TYPES else "table"


def read_track(file: Path, columns: RouteColumns, *, decimal_comma: bool = False) -> Track:
    """Return the route points of a file.

    Parameters: the file; the columns of a table, and what heights are counted from, which overrides what the
    kind of file means; whether decimals have a comma.
    Raises InputError for what is no route, with file, line, value and cure.
    """
    source = read_text(file)
    kind = kind_of(source)
    if kind == "table":
        track = _from_table(source, columns, decimal_comma)
    elif kind == "geojson":
        track = _from_geojson(source)
    else:
        track = _from_gpx(source) if kind == "gpx" else _from_kml(source)
    if not track.points:
        raise InputError([Problem("holds no route points", "Give the file with the route", str(file))])
    if len(track.points) > MOST_POINTS:
        reason = f"holds more than {MOST_POINTS} points"
        raise InputError([Problem(reason, "Give the route, not a recording", str(file))])
    _hold_places(track)
    reference = columns.height_from or track.height_from
    return track._replace(height_from=reference, notes=(*source.notes, *track.notes))


def _hold_places(track: Track) -> None:
    """Refuse places that are none, or far beyond any route."""
    problems = []
    for k, point in enumerate(track.points, 1):
        numbers = (point.latitude_deg, point.longitude_deg, point.ahead_m, point.right_m, point.height_m)
        place = Place(track.file, point.line, 0)
        name = point.name or f"point {k}"
        if any(number is not None and not math.isfinite(number) for number in numbers):
            problems.append(trouble("is not at a finite place", "Read the route back again", place, name))
        elif any(abs(number or 0.0) > FARTHEST_M for number in numbers):
            cure = "Check the units, or read the route back again"
            problems.append(trouble("is farther away than any route", cure, place, name))
        elif point.latitude_deg is not None and abs(point.latitude_deg) > 90.0:
            cure = "Latitude lies within -90 and 90; is it swapped with the longitude?"
            shown = f"{point.latitude_deg:g}"
            problems.append(trouble("has an impossible latitude", cure, place, name, shown))
        elif point.longitude_deg is not None and abs(point.longitude_deg) > 180.0:
            cure = "Longitude lies within -180 and 180, in degrees"
            shown = f"{point.longitude_deg:g}"
            problems.append(trouble("has an impossible longitude", cure, place, name, shown))
    if problems:
        raise InputError(problems[:MOST_TOLD])


def _root_tag(source: FileText) -> str:
    """Return the name of the outermost element.

    Raises InputError for XML that is broken, or has a document type or entities, which could grow without
    end.
    """
    from xml.etree.ElementTree import ParseError

    from defusedxml import DefusedXmlException  # type: ignore[import-untyped]
    from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped]

    try:
        root = fromstring(_bare(source).encode("utf-8", "replace"), forbid_dtd=True)
        return str(root.tag).rpartition("}")[2].lower()
    except DefusedXmlException:
        reason = "declares a document type or entities, which no route needs"
        cure = "Take the <!DOCTYPE ...> out"
        raise InputError([trouble(reason, cure, Place(source.file, 1, 1))]) from None
    except ParseError as error:
        line, column = error.position
        place = Place(source.file, line, column + 1)
        reason = f"is not XML: {str(error).partition(':')[0]}"
        raise InputError([trouble(reason, "Give the file as it was written", place)]) from None
    except (ValueError, LookupError, RecursionError) as error:
        reason = f"is not XML: {type(error).__name__}"
        raise InputError(
            [trouble(reason, "Give the file as it was written", Place(source.file, 1, 1))]
        ) from None


def _bare(source: FileText) -> str:
    """Return the text without its declaration, whose encoding no longer holds; lines stay where they are."""
    return _DECLARATION.sub(lambda found: "\n" * found[0].count("\n"), source.text, count=1)


def _broken(source: FileText, kind: str, error: Exception) -> InputError:
    reason = f"is no {kind} that can be read: {one_line(str(error).strip() or type(error).__name__, 120)}"
    return InputError([Problem(reason, "Give the file as it was written", source.file)])


def _from_gpx(source: FileText) -> Track:
    import gpxpy

    try:
        book = gpxpy.parse(_bare(source).strip())
    except Exception as error:
        # The reader is not ours; whatever it trips over is not a route.
        raise _broken(source, "GPX", error) from None
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


def _from_kml(source: FileText) -> Track:
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Package `lxml` missing")  # it only prints less prettily
        from fastkml import KML, Placemark
        from fastkml.utils import find_all

    marks: list[tuple[str, str, list[tuple[float, ...]], str]] = []
    try:
        for mark in find_all(KML.from_string(_bare(source).strip()), of_type=Placemark):
            shape = getattr(mark, "geometry", None)
            kind = str(getattr(shape, "geom_type", ""))
            if kind in ("Point", "LineString"):
                mode = getattr(getattr(mark, "kml_geometry", None), "altitude_mode", None)
                at = [tuple(float(part) for part in place) for place in getattr(shape, "coords", ())]
                marks.append(
                    (kind, str(getattr(mark, "name", "") or ""), at, getattr(mode, "value", "") or "")
                )
    except Exception as error:
        raise _broken(source, "KML", error) from None
    single = [mark for mark in marks if mark[0] == "Point"]
    chosen = single or [mark for mark in marks if mark[0] == "LineString"][:1]
    modes = {mode for _, _, _, mode in chosen}
    reference: Reference = "sea" if modes == {"absolute"} else "ground"
    notes = [] if len(modes) <= 1 else ["its heights are counted from different grounds"]
    clamped = not modes & {"absolute", "relativeToGround"}
    points = [
        TrackPoint(name, place[1], place[0], None, None, place[2] if len(place) > 2 and not clamped else None)
        for _, name, at, _ in chosen
        for place in at
        if len(place) >= 2
    ]
    if clamped and points:
        notes.append("its heights lie on the ground (no altitudeMode), so they are not compared")
    return Track(source.file, tuple(points), reference, tuple(notes))


def _from_geojson(source: FileText) -> Track:
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
        raise _broken(source, "GeoJSON", error) from None
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


def _from_table(source: FileText, columns: RouteColumns, decimal_comma: bool) -> Track:
    lines = [
        (number, line)
        for number, line in enumerate(source.text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    head = lines[0][1] if lines else ""
    mark = max((";", "\t", ","), key=head.count)
    rows = []
    try:
        for number, line in lines:
            rows.append(
                (number, [cell.strip() for cell in next(csv.reader(StringIO(line), delimiter=mark), [])])
            )
    except csv.Error as error:
        raise _broken(source, "table", error) from None
    wanted = columns.columns or OURS
    top = [cell.casefold() for cell in rows[0][1]] if rows else []
    at = {ours: top.index(theirs.casefold()) for ours, theirs in wanted.items() if theirs.casefold() in top}
    _hold_columns(source, columns, at, rows[0] if rows else (1, []))
    reader = _Cells(source, columns, at, decimal_comma)
    points = tuple(reader.point(number, cells) for number, cells in rows[1 : MOST_POINTS + 2])
    if reader.problems:
        raise InputError(reader.problems[:MOST_TOLD])
    return Track(source.file, points, columns.height_from or "launch")


def _hold_columns(
    source: FileText, columns: RouteColumns, at: dict[str, int], head: tuple[int, list[str]]
) -> None:
    """Refuse a table without the columns that the mapping names, or without a place for a point."""
    lacking = [theirs for ours, theirs in columns.columns.items() if ours not in at]
    place = Place(source.file, head[0], 1)
    there = one_line(", ".join(head[1]), 120)
    if lacking:
        cure = f"Its columns are {there}; correct route: in the mapping"
        raise InputError([trouble("has no such column", cure, place, lacking[0])])
    if not ({"latitude", "longitude"} <= at.keys() or {"ahead", "right"} <= at.keys()):
        cure = "Name its columns under route: in the mapping, such as latitude: and longitude:"
        raise InputError([trouble("is no table of route points", cure, place, "", there)])


class _Cells:
    """Reads the rows of a table of route points and keeps what is wrong with them."""

    def __init__(
        self, source: FileText, columns: RouteColumns, at: dict[str, int], decimal_comma: bool
    ) -> None:
        self.source, self.columns, self.at, self.decimal_comma = source, columns, at, decimal_comma
        self.problems: list[Problem] = []

    def number(self, line: int, cells: list[str], name: str, factor: float = 1.0) -> float | None:
        """Return one number; None for a column that the table has not, or a height that is empty."""
        k = self.at.get(name)
        if k is None:
            return None
        text = cells[k] if k < len(cells) else ""
        if name == "height" and not text:
            return None
        try:
            value, _, unit = number_of(text, self.decimal_comma)
            if unit:
                raise ValueFault("has text behind its number; put the unit into the mapping")
            return value * factor
        except ValueFault as error:
            reason, _, cure = str(error).partition("; ")
            place = Place(self.source.file, line, 0)
            self.problems.append(trouble(reason, f"{cure[:1].upper()}{cure[1:]}", place, name, text))
            return None

    def point(self, line: int, cells: list[str]) -> TrackPoint:
        """Return the point of a row."""
        k = self.at.get("name")
        name = cells[k] if k is not None and k < len(cells) else ""
        metres, high = self.columns.metres, self.columns.height_metres
        latitude, longitude = (self.number(line, cells, part) for part in ("latitude", "longitude"))
        ahead, right = (self.number(line, cells, part, metres) for part in ("ahead", "right"))
        height = self.number(line, cells, "height", high)
        return TrackPoint(name, latitude, longitude, ahead, right, height, line)

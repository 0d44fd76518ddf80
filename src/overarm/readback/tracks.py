"""Route points of a file: GPX, KML, GeoJSON, or a table whose columns the mapping names."""

from __future__ import annotations

import math
import re
from pathlib import Path

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.readback.geojson import from_geojson
from overarm.readback.gpx import from_gpx
from overarm.readback.kml import from_kml
from overarm.readback.mapping import RouteColumns
from overarm.readback.route_table import from_table
from overarm.readback.text import FileText, read_text
from overarm.readback.track import MOST_POINTS, MOST_TOLD, Track, bare

FARTHEST_M = 1e6
GEO_TYPES = ("FeatureCollection", "Feature", "Point", "MultiPoint", "LineString")


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
        track = from_table(source, columns, decimal_comma)
    elif kind == "geojson":
        track = from_geojson(source)
    else:
        track = from_gpx(source) if kind == "gpx" else from_kml(source)
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
        root = fromstring(bare(source).encode("utf-8", "replace"), forbid_dtd=True)
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

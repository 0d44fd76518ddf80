"""A track of a GPX file (GPX 1.0 and 1.1, Topografix 2004): place, height above the sea, speed, course."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any, NamedTuple

import numpy as np

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.limits import MOST_POINTS, MOST_TOLD, MOST_TRACK_BYTES
from overarm.recordings.reading_bytes import AGAIN, Source, text_of
from overarm.recordings.recording import Recording
from overarm.recordings.track import Fix, recording_of_fixes

_DECLARED = re.compile(rb"\A<\?xml[^>]*\?>")


class _Track(NamedTuple):
    points: tuple[Any, ...]
    breaks: tuple[int, ...]  # the first point of each further segment


def from_gpx(source: Source) -> Recording:
    """Return the tracks of a GPX file as one recording, with a break between segments.

    Raises InputError for what is no GPX, holds no track, or has points without times or at impossible places.
    """
    track = _track(_book(source))
    if not track.points:
        cure = "Give a track as it was recorded; a route has no times"
        raise InputError([Problem("holds no track", cure, source.file)])
    if len(track.points) > MOST_POINTS:
        reason = f"holds more than {MOST_POINTS:,} points"
        raise InputError([Problem(reason, "Cut it to the launches", source.file)])
    lacking = [k for k, point in enumerate(track.points, 1) if point.time is None]
    if lacking:
        cure = "Give a track as it was recorded, with <time> in each point"
        shown = ", ".join(map(str, lacking[:5])) + (" ..." if len(lacking) > 5 else "")
        reason = f"has {len(lacking):,} of {len(track.points):,} points without a time"
        raise InputError([trouble(reason, cure, Place(source.file, 0, 0), "point", shown)])
    first = _moment(source, 1, track.points[0].time)
    fixes = [_fix(source, k, point, first) for k, point in enumerate(track.points, 1)]
    wrong = [problem for item in fixes if isinstance(item, list) for problem in item]
    if wrong:
        raise InputError(wrong[:MOST_TOLD])
    good = [item for item in fixes if isinstance(item, Fix)]
    breaks = tuple(0.5 * (good[k - 1].t_s + good[k].t_s) for k in track.breaks)
    start = first.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return recording_of_fixes(source, "GPX", good, start_utc=start, breaks_s=breaks)


def _book(source: Source) -> Any:
    from xml.etree.ElementTree import ParseError

    import gpxpy
    from defusedxml import DefusedXmlException  # type: ignore[import-untyped]
    from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped]

    if len(source.raw) > MOST_TRACK_BYTES:
        reason = f"is larger than {MOST_TRACK_BYTES:,} bytes"
        raise InputError([Problem(reason, "Cut it to the launches", source.file)])
    # The text is in UTF-8 by now, whatever its first line says.
    raw = _DECLARED.sub(b"", text_of(source, MOST_TRACK_BYTES).raw.strip())
    try:
        root = fromstring(raw, forbid_dtd=True)
    except DefusedXmlException:
        reason = "declares a document type or entities, which no track needs"
        raise InputError([trouble(reason, "Take the <!DOCTYPE ...> out", Place(source.file, 1, 1))]) from None
    except ParseError as error:
        line, column = error.position
        reason = f"is not XML: {str(error).partition(':')[0]}"
        raise InputError([trouble(reason, AGAIN, Place(source.file, line, column + 1))]) from None
    except (ValueError, LookupError, RecursionError) as error:
        reason = f"is not XML: {type(error).__name__}"
        raise InputError([trouble(reason, AGAIN, Place(source.file, 1, 1))]) from None
    tag = str(root.tag).rpartition("}")[2]
    if tag != "gpx":
        cure = "Give a track as GPX, IGC or NMEA"
        raise InputError([trouble("is XML and no GPX", cure, Place(source.file, 1, 1), "", f"<{tag}>")])
    try:
        return gpxpy.parse(raw.decode("utf-8"))
    except Exception as error:
        # The reader is not ours; whatever it trips over is not a track.
        said = one_line(str(error).splitlines()[0] if str(error) else type(error).__name__, 120)
        raise InputError([trouble(f"is no GPX: {said}", AGAIN, Place(source.file, 0, 0))]) from None


def _track(book: Any) -> _Track:
    points: list[Any] = []
    breaks: list[int] = []
    for track in book.tracks:
        for segment in track.segments:
            if points and segment.points:
                breaks.append(len(points))
            points += segment.points
    return _Track(tuple(points), tuple(breaks))


def _moment(source: Source, number: int, time: datetime) -> datetime:
    try:
        return (time if time.tzinfo is not None else time.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):  # an offset of days, or a year that no calendar here has
        cure = "Write ISO 8601, such as 2026-05-01T09:30:00Z"
        raise InputError(
            [trouble(f"has no time of day in point {number:,}", cure, Place(source.file, 0, 0), "time")]
        ) from None


def _fix(source: Source, number: int, point: Any, first: datetime) -> Fix | list[Problem]:
    place = Place(source.file, 0, 0)
    numbers = (point.latitude, point.longitude, point.elevation or 0.0)
    if not np.isfinite(numbers).all() or abs(point.latitude) > 90.0 or abs(point.longitude) > 180.0:
        cure = "Latitude lies within -90 and 90, longitude within -180 and 180, in degrees"
        shown = f"{point.latitude:g}, {point.longitude:g}"
        return [trouble("is at an impossible place", cure, place, f"point {number}", shown)]
    return Fix(
        t_s=(_moment(source, number, point.time) - first).total_seconds(),
        latitude_deg=float(point.latitude),
        longitude_deg=float(point.longitude),
        satellite_height_m=None if point.elevation is None else float(point.elevation),
        ground_speed_mps=_said(point, "speed"),
        course_deg=_said(point, "course"),
    )


def _said(point: Any, name: str) -> float | None:
    """Return a number of GPX 1.0, or of an extension of this plain name: speed in m/s, course in degrees."""
    value = getattr(point, name, None)
    if value is None:
        found = (item for item in point.extensions for item in item.iter())
        value = next((item.text for item in found if str(item.tag).rpartition("}")[2] == name), None)
    try:
        number = float(value) if value is not None else None
    except (TypeError, ValueError):
        return None
    return number if number is not None and np.isfinite(number) else None

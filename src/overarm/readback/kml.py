"""Route points of a KML file."""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from overarm.readback.mapping import Reference
from overarm.readback.text import FileText
from overarm.readback.track import Track, TrackPoint, bare, broken


def from_kml(source: FileText) -> Track:
    """Return the single points of a file, else its first line. Raises InputError."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Package `lxml` missing")  # it only prints less prettily
        from fastkml import KML, Placemark
        from fastkml.utils import find_all

    marks: list[tuple[str, str, list[tuple[float, ...]], str]] = []
    try:
        with _heard():
            places = find_all(KML.from_string(bare(source).strip()), of_type=Placemark)
        for mark in places:
            shape = getattr(mark, "geometry", None)
            kind = str(getattr(shape, "geom_type", ""))
            if kind in ("Point", "LineString"):
                mode = getattr(getattr(mark, "kml_geometry", None), "altitude_mode", None)
                at = [tuple(float(part) for part in place) for place in getattr(shape, "coords", ())]
                marks.append(
                    (kind, str(getattr(mark, "name", "") or ""), at, getattr(mode, "value", "") or "")
                )
    except Exception as error:
        raise broken(source, "KML", error) from None
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


class _Heard(logging.Handler):
    """Raises what the reader would only say: it goes on without what it cannot read."""

    def emit(self, record: logging.LogRecord) -> None:
        """Raise ValueError with what is said."""
        raise ValueError(record.getMessage())


@contextmanager
def _heard() -> Iterator[None]:
    """Let nothing that the reader cannot read be passed over, or be said past us on the screen."""
    log, handler = logging.getLogger("fastkml"), _Heard(logging.ERROR)
    spread, log.propagate = log.propagate, False
    log.addHandler(handler)
    try:
        yield
    finally:
        log.removeHandler(handler)
        log.propagate = spread

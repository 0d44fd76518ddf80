"""A track of an IGC file (FAI, Technical Specification for IGC-approved Flight Recorders, Appendix A)."""

from __future__ import annotations

from collections.abc import Mapping
from io import StringIO
from typing import Any

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.limits import (
    LONGEST_NOTE,
    LONGEST_SETTING,
    MOST_BROKEN_SHARE,
    MOST_NOTES,
    MOST_POINTS,
    MOST_TOLD,
    MOST_TRACK_BYTES,
)
from overarm.recordings.reading_bytes import AGAIN, Source, text_of
from overarm.recordings.recording import Note, Recording
from overarm.recordings.track import Fix, recording_of_fixes
from overarm.recordings.track_clock import DayClock

_KMH = 1.0 / 3.6


class _Lines:
    """The records of a file that are of use here."""

    def __init__(self, source: Source) -> None:
        self.clock = DayClock()
        self.fixes: list[Fix] = []
        self.notes: list[Note] = []
        self.broken: list[Problem] = []
        self.flat = 0  # fixes without a height by satellite
        self.day: Any = None
        self.settings: dict[str, str] = {}
        self._widths: dict[str, int] = {}
        self._extensions: list[dict[str, Any]] = []
        self._file = source.file

    def read(self, text: str) -> int:
        """Keep what a file holds; return how many fixes it has, broken ones too."""
        from aerofiles.igc.reader import LowLevelReader

        seen = 0
        reader = LowLevelReader(StringIO(text))
        for kind, record, error in reader:
            if kind not in "BIHE":
                continue
            fault = error
            if error is None:
                try:
                    self.take(reader.line_number, kind, record)
                except (ValueError, KeyError, TypeError, IndexError) as wrong:
                    fault = wrong
            seen += kind == "B"
            if kind == "B" and fault is not None:
                said = str(fault).splitlines()[0] if str(fault) else type(fault).__name__
                place = Place(self._file, reader.line_number, 0)
                self.broken.append(trouble(f"is no whole fix: {said}", AGAIN, place))
        return seen

    def take(self, number: int, kind: str, record: Any) -> None:
        """Keep one record. Raises ValueError, KeyError or TypeError for one that is broken."""
        if kind == "B":
            self._fix(number, record)
        elif kind == "I":
            self._extensions = list(record)
            self._widths = {
                item["extension_type"]: item["bytes"][1] - item["bytes"][0] + 1 for item in record
            }
        elif kind == "H":
            self.day = record.get("utc_date", self.day)
            for key in ("logger_type", "glider_model", "gps_receiver", "pressure_sensor"):
                if record.get(key):
                    self.settings[key.replace("_", " ")] = one_line(str(record[key]), LONGEST_SETTING)
        elif kind == "E" and len(self.notes) < MOST_NOTES:
            text = f"{record.get('tlc', '')} {record.get('extension_string') or ''}".strip()
            self.notes.append(Note(self.clock.at(record["time"]), one_line(text, LONGEST_NOTE)))

    def _fix(self, number: int, record: Any) -> None:
        from aerofiles.igc.reader import LowLevelReader

        found = LowLevelReader.process_B_record(dict(record), self._extensions)
        validity = found["validity"]
        if validity not in ("A", "V"):
            raise ValueError(f"its validity is {validity!r}, neither A nor V")
        if len(self.fixes) == MOST_POINTS:
            reason = f"has more than {MOST_POINTS:,} fixes"
            raise InputError([trouble(reason, "Cut it to the launches", Place(self._file, number, 0))])
        self.flat += validity == "V"
        parts = self._more(found, "TDS", figures=0)
        speed, course, air = (self._more(found, code) for code in ("GSP", "TRT", "IAS"))
        self.fixes.append(
            Fix(
                t_s=self.clock.at(found["time"], parts or 0.0),
                latitude_deg=float(found["lat"]),
                longitude_deg=float(found["lon"]),
                satellite_height_m=float(found["gps_alt"]) if validity == "A" else None,
                baro_height_m=float(found["pressure_alt"]),
                ground_speed_mps=None if speed is None else speed * _KMH,
                course_deg=course,
                airspeed_mps=None if air is None else air * _KMH,
            )
        )

    def _more(self, found: Mapping[str, Any], code: str, figures: int = 3) -> float | None:
        """Return an extension of a fix: three figures and then decimals, TDS decimals alone (from memory)."""
        if code not in self._widths or not isinstance(found.get(code), int):
            return None
        return float(found[code]) / 10.0 ** max(0, self._widths[code] - figures)


def from_igc(source: Source) -> Recording:
    """Return the fixes of an IGC file: place, both heights, and speed where the file has it.

    Broken lines are left out and counted. Raises InputError for a file with more than a fifth of them, or
    without a fix.
    """
    if len(source.raw) > MOST_TRACK_BYTES:
        reason = f"is larger than {MOST_TRACK_BYTES:,} bytes"
        raise InputError([Problem(reason, "Cut it to the launches", source.file)])
    text = text_of(source).raw.decode("utf-8")
    lines = _Lines(source)
    seen = lines.read(text)
    if not lines.fixes:
        cure = "Give a flight as its recorder wrote it"
        raise InputError([*lines.broken[:MOST_TOLD], Problem("holds no fix (B record)", cure, source.file)])
    if len(lines.broken) > MOST_BROKEN_SHARE * seen:
        raise InputError(lines.broken[:MOST_TOLD])
    if lines.broken:
        first = lines.broken[0].line
        lines.settings["broken lines"] = f"{len(lines.broken):,} of {seen:,} fixes, the first on line {first}"
    if lines.flat:
        lines.settings["fixes without a height by satellite"] = f"{lines.flat:,} of {len(lines.fixes):,}"
    return recording_of_fixes(
        source,
        "IGC",
        lines.fixes,
        start_utc=lines.clock.start_utc(lines.day),
        notes=tuple(lines.notes),
        settings=lines.settings,
    )

"""A track of NMEA 0183 sentences: GGA, RMC, VTG, GLL and ZDA; all others are passed over."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.recordings.limits import MOST_BROKEN_SHARE, MOST_POINTS, MOST_TOLD, MOST_TRACK_BYTES
from overarm.recordings.reading_bytes import AGAIN, Source, text_of
from overarm.recordings.recording import Recording
from overarm.recordings.track import Fix, recording_of_fixes
from overarm.recordings.track_clock import DayClock

_KNOT_MPS = 1852.0 / 3600.0  # ISO 80000-3
_KMH_MPS = 1.0 / 3.6
WRONG_SUM = "has a wrong checksum"
_KINDS = ("GGA", "RMC", "VTG", "GLL", "ZDA")


class _Sentences:
    """The fixes that sentences of the same time make together."""

    def __init__(self) -> None:
        self.clock = DayClock()
        self.fixes: list[Fix] = []
        self.day: date | None = None
        self.invalid = 0

    def take(self, kind: str, sentence: Any) -> None:
        """Keep one sentence. Raises ValueError, TypeError or AttributeError for one that is broken."""
        if kind == "VTG":
            if self.fixes:
                self._motion(sentence.spd_over_grnd_kmph, _KMH_MPS, sentence.true_track)
            return
        moment = sentence.timestamp
        if moment is None or isinstance(moment, str):
            self.invalid += 1
        elif kind == "ZDA":
            self.day = self.day or date(sentence.year, sentence.month, sentence.day)
        elif not _valid(kind, sentence):
            self.invalid += 1
        else:
            self._fix(kind, sentence)

    def _fix(self, kind: str, sentence: Any) -> None:
        place = _place(sentence)
        height = None
        if kind == "GGA":
            height = _number(sentence.altitude)
            if height is not None and sentence.altitude_units not in ("M", "m"):
                raise ValueError(f"its height is in {sentence.altitude_units!r}, not M")
        elif kind == "RMC" and isinstance(sentence.datestamp, date):
            self.day = self.day or sentence.datestamp
        t_s = self.clock.at(sentence.timestamp)
        if not self.fixes or self.fixes[-1].t_s != t_s:
            self.fixes.append(Fix(t_s))
        self._add(satellite_height_m=height, **place)
        if kind == "RMC":
            self._motion(sentence.spd_over_grnd, _KNOT_MPS, sentence.true_course)

    def _motion(self, speed: Any, factor: float, course: Any) -> None:
        number = _number(speed)
        self._add(ground_speed_mps=None if number is None else number * factor, course_deg=_number(course))

    def _add(self, **found: float | None) -> None:
        """Put numbers into the last fix where it has none yet."""
        fix = self.fixes[-1]
        new = {key: value for key, value in found.items() if getattr(fix, key) is None}
        self.fixes[-1] = Fix(**{**fix._asdict(), **new})


def _valid(kind: str, sentence: Any) -> bool:
    if kind == "GGA":
        return bool(sentence.gps_qual)
    return str(sentence.status) == "A"


def _number(value: Any) -> float | None:
    number = None if value is None or value == "" else float(value)
    if number is not None and not math.isfinite(number):
        raise ValueError("it has a number that is none")
    return number


def _place(sentence: Any) -> dict[str, float | None]:
    if not (sentence.lat and sentence.lon):
        return {}
    latitude, longitude = float(sentence.latitude), float(sentence.longitude)
    if sentence.lat_dir not in ("N", "S") or sentence.lon_dir not in ("E", "W"):
        raise ValueError("it does not say north or south, east or west")
    if not (abs(latitude) <= 90.0 and abs(longitude) <= 180.0):
        raise ValueError(f"its place is {latitude:g}, {longitude:g}")
    return {"latitude_deg": latitude, "longitude_deg": longitude}


def from_nmea(source: Source) -> Recording:
    """Return the fixes of NMEA 0183 sentences, those of one time as one fix.

    Sentences with a wrong checksum or that cannot be read are left out and counted. Raises InputError for a
    file with more than a fifth of them, or without a valid fix.
    """
    if len(source.raw) > MOST_TRACK_BYTES:
        reason = f"is larger than {MOST_TRACK_BYTES:,} bytes"
        raise InputError([Problem(reason, "Cut it to the launches", source.file)])
    sentences = _Sentences()
    lines = text_of(source).raw.decode("utf-8").split("\n")
    found = [(k, line) for k, line in enumerate(lines, 1) if line.startswith("$") and line[3:6] in _KINDS]
    broken: list[Problem] = []
    wrong_sums = 0
    for number, line in found:
        reason = _taken(sentences, line)
        if reason:
            wrong_sums += reason == WRONG_SUM
            broken.append(_told(source, number, reason, line))
        if len(sentences.fixes) > MOST_POINTS:
            reason = f"has more than {MOST_POINTS:,} fixes"
            raise InputError([_told(source, number, reason, "", "Cut it to the launches")])
    seen = len(found)
    if len(broken) > MOST_BROKEN_SHARE * seen:
        raise InputError(broken[:MOST_TOLD])
    if not sentences.fixes:
        cure = "Give a log with GGA or RMC sentences, recorded with a fix"
        raise InputError([Problem(f"holds no valid fix in {seen:,} sentences", cure, source.file)])
    settings = {}
    if broken:
        settings["checksum errors"] = f"{wrong_sums:,} of {seen:,} sentences"
        settings["broken lines"] = f"{len(broken):,} of {seen:,}, the first on line {broken[0].line}"
    if sentences.invalid:
        settings["sentences without a fix"] = f"{sentences.invalid:,} of {seen:,}"
    start = sentences.clock.start_utc(sentences.day)
    return recording_of_fixes(source, "NMEA", sentences.fixes, start_utc=start, settings=settings)


def _taken(sentences: _Sentences, line: str) -> str:
    """Keep a sentence; return what is wrong with it, or nothing."""
    import pynmea2

    try:
        sentences.take(line[3:6], pynmea2.parse(line))
    except pynmea2.ChecksumError:
        return WRONG_SUM
    except (ValueError, TypeError, AttributeError, ArithmeticError) as error:
        return f"cannot be read: {error.args[0] if error.args else type(error).__name__}"
    return ""


def _told(source: Source, number: int, reason: str, line: str, cure: str = AGAIN) -> Problem:
    return trouble(one_line(reason, 160), cure, Place(source.file, number, 0), "", line.strip())

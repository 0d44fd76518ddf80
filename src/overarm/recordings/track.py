"""Fixes of a track as a recording; ground speed and course from the positions where a file has none."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from overarm.recordings.reading_bytes import Source
from overarm.recordings.recording import Channel, Note, Numbers, Recording

# A speed from two fixes is taken over no more than this; beyond it the track has a hole.
_LONGEST_S = 5.0


class Fix(NamedTuple):
    """One fix: its time from the first [s], and what it holds; None for what it has not."""

    t_s: float
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    satellite_height_m: float | None = None
    baro_height_m: float | None = None
    ground_speed_mps: float | None = None
    course_deg: float | None = None
    airspeed_mps: float | None = None
    climb_mps: float | None = None


# Channel, field of a fix, factor to SI.
_FIELDS: tuple[tuple[str, Callable[[Fix], float | None], float, str], ...] = (
    ("latitude_rad", lambda fix: fix.latitude_deg, math.radians(1.0), "latitude in deg"),
    ("longitude_rad", lambda fix: fix.longitude_deg, math.radians(1.0), "longitude in deg"),
    ("satellite_height_m", lambda fix: fix.satellite_height_m, 1.0, "height by satellite in m"),
    ("baro_height_m", lambda fix: fix.baro_height_m, 1.0, "height by air pressure in m"),
    ("ground_speed_mps", lambda fix: fix.ground_speed_mps, 1.0, "speed over ground"),
    ("course_rad", lambda fix: fix.course_deg, math.radians(1.0), "course over ground in deg"),
    ("airspeed_mps", lambda fix: fix.airspeed_mps, 1.0, "airspeed"),
    ("climb_mps", lambda fix: fix.climb_mps, 1.0, "vertical speed"),
)


def recording_of_fixes(
    source: Source,
    form: str,
    fixes: Sequence[Fix],
    *,
    start_utc: str = "",
    breaks_s: tuple[float, ...] = (),
    notes: tuple[Note, ...] = (),
    settings: Mapping[str, str] | None = None,
) -> Recording:
    """Return fixes as a recording; speed and course are worked out where no fix has them."""
    channels = {}
    for name, value, factor, what in _FIELDS:
        pairs = [(fix.t_s, found) for fix in fixes if (found := value(fix)) is not None]
        if pairs:
            t_s, values = np.array(pairs, dtype=np.float64).T
            with np.errstate(under="ignore"):  # next to nothing is nothing
                channels[name] = Channel(t_s.copy(), values * factor, f"{form}, {what}")
    if "ground_speed_mps" not in channels and "latitude_rad" in channels:
        channels |= _moved(channels["latitude_rad"], channels["longitude_rad"], breaks_s)
    return Recording(
        name=source.name,
        sha256=source.sha256,
        form=form,
        channels=channels,
        start_utc=start_utc,
        notes=notes,
        breaks_s=breaks_s,
        settings=dict(settings or {}),
    )


def _moved(latitude: Channel, longitude: Channel, breaks_s: Sequence[float]) -> dict[str, Channel]:
    """Return ground speed and course between fixes that follow each other, at the middle of their times."""
    from geographiclib.geodesic import Geodesic

    t_s, speeds, courses = [], [], []
    part = np.searchsorted(np.sort(np.array(breaks_s, dtype=np.float64)), latitude.t_s)
    steps = np.diff(latitude.t_s)
    for k in np.flatnonzero((steps > 0.0) & (steps <= _LONGEST_S) & (np.diff(part) == 0)):
        start_s, end_s = float(latitude.t_s[k]), float(latitude.t_s[k + 1])
        ends = np.degrees([latitude.values[k : k + 2], longitude.values[k : k + 2]])
        found = Geodesic.WGS84.Inverse(*map(float, ends.T.ravel()))
        t_s.append(0.5 * (start_s + end_s))
        speeds.append(float(found["s12"]) / (end_s - start_s))
        courses.append(math.radians(float(found["azi1"])) % (2.0 * math.pi))
    if not t_s:
        return {}
    times: Numbers = np.array(t_s)
    return {
        "ground_speed_mps": Channel(times, np.array(speeds), "from the positions of two fixes"),
        "course_rad": Channel(times, np.array(courses), "from the positions of two fixes"),
    }

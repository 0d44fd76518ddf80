"""A track as GPX."""

from __future__ import annotations

from fuzz.door import given, hold_recording
from overarm.recordings.reading import read_recording

LONGEST = 2_048
HEAD = b'<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'
WORDS = (
    b"<trk>", b"</trk>", b"<trkseg>", b"</trkseg>", b'<trkpt lat="47" lon="8">', b"</trkpt>",
    b"<ele>500</ele>", b"<time>2026-05-01T10:00:00Z</time>", b"<speed>3</speed>", b"<course>",
    b"<extensions>", b"<!DOCTYPE x>", b"&amp;", b"&#0;", b"<![CDATA[", b"]]>", b"<!--",
    b'encoding="utf-16"', b"1.0", b"<wpt", b"<rte>", b"nan", b"1e999",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return tracks of a few points."""
    point = b'<trkpt lat="47.%04d" lon="8"><ele>50%d</ele><time>2026-05-01T10:00:0%dZ</time></trkpt>'
    track = b"".join(point % (k, k, k) for k in range(4))
    return [
        HEAD + b"<trk><trkseg>" + track + b"</trkseg></trk></gpx>",
        HEAD
        + b"<trk><name>a</name><trkseg>"
        + track
        + b"</trkseg><trkseg>"
        + track
        + b"</trkseg></trk></gpx>",
        HEAD.replace(b"1.1", b"1.0", 1) + b'<trk><trkseg><trkpt lat="1" lon="2"><speed>3</speed>'
        b"<time>2026-05-01T10:00:00.5+02:00</time></trkpt></trkseg></trk></gpx>",
    ]


def run(data: bytes) -> None:
    """Read it."""
    hold_recording(given(read_recording, data, "track.gpx"))

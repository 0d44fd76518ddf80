"""A route as GPX, KML, GeoJSON or a table."""

from __future__ import annotations

from pathlib import Path

from fuzz.door import given
from overarm.readback.mapping import RouteColumns
from overarm.readback.tracks import read_track

LONGEST = 2_048
WORDS = (
    b"<gpx", b"<kml", b"<rte>", b'<rtept lat="47" lon="8">', b"<ele>30</ele>", b"<wpt",
    b"<coordinates>8,47,500", b"<LineString>", b"<altitudeMode>absolute</altitudeMode>", b"<gx:",
    b"<!DOCTYPE x>", b"&#0;", b"<![CDATA[", b"\xff\xfe", b'"type": "FeatureCollection"',
    b'"coordinates": [8, 47, 3]', b'"LineString"', b'"MultiPoint"', b"null", b"1e999", b"latitude",
    b"longitude", b"height", b"ahead", b"right", b"name", b"NaN", b"-181", b'encoding="utf-16"',
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return a route of each kind."""
    kml = b'<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>a</name>'
    return [
        b'<gpx version="1.1"><rte><rtept lat="47" lon="8"><ele>30</ele><name>a</name></rtept></rte></gpx>',
        (
            b'<gpx xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="1" lon="2"/><trk><trkseg>'
            b'<trkpt lat="47" lon="8"><ele>3</ele></trkpt></trkseg></trk></gpx>'
        ),
        kml + b"<Point><coordinates>8.0,47.0,500</coordinates></Point></Placemark></Document></kml>",
        kml + b"<LineString><altitudeMode>relativeToGround</altitudeMode>"
        b"<coordinates>8,47,5 8.1,47,6</coordinates>"
        b"</LineString></Placemark></Document></kml>",
        (
            b'{"type": "FeatureCollection", "features": [{"type": "Feature",'
            b' "properties": {"name": "a", "height": 3},'
            b' "geometry": {"type": "Point", "coordinates": [8.0, 47.0, 5]}}]}'
        ),
        b'{"type": "LineString", "coordinates": [[8.0, 47.0, 3], [8.1, 47.0]]}',
        b"name,latitude,longitude,height\na,47.0,8.0,30\nb,47.001,8.0,40\n",
        b"name;ahead;right;height\nout;180;0,5;40\nhome;0;0;40\n",
    ]


def run(data: bytes) -> None:
    """Read it."""

    def read(file: Path) -> object:
        return read_track(file, RouteColumns())

    track = given(read, data, "route.txt")
    assert track is None or track.points

"""A plan as KML 2.2 (OGC 07-147r2).

Heights: if the card says how high the field lies above the sea, they are absolute (that height plus the
height above the launch ground). If not, they are ``relativeToGround``, which is the same where the ground
is level and off by the slope where it is not; the document says which.
"""

from __future__ import annotations

import html
import warnings
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from overarm.plan.exports.route import Placed, Point, Position, Shape, about, about_words

if TYPE_CHECKING:
    from fastkml.enums import AltitudeMode
    from fastkml.features import Placemark
    from fastkml.geometry import LineString, Polygon
    from fastkml.geometry import Point as KmlPoint

    Shaped = LineString | Polygon | KmlPoint

NAMESPACE = "http://www.opengis.net/kml/2.2"
PRECISION = 7
# Name: line colour, its opacity, width [px], area opacity. The colours are those of the sheet.
LOOKS = {
    "route": ("#8c3512", "ff", 3.0, "00"),
    "fan": ("#cf9777", "ff", 1.5, "66"),
    "middle": ("#8c3512", "cc", 1.5, "00"),
    "obstacle": ("#221e1a", "ff", 1.5, "80"),
    "circle": ("#1d4f7c", "ff", 2.0, "26"),
}
ABSOLUTE_WORDS = "Heights are drawn from the height of the field above the sea on the site card, {} m."
RELATIVE_WORDS = (
    "The height of the field above the sea is not on the site card: heights are drawn above the ground at "
    "each place, which is right where the ground is level."
)


def kml_colour(web: str, opacity: str) -> str:
    """Return a colour as KML writes it: opacity, blue, green, red."""
    return f"{opacity}{web[5:7]}{web[3:5]}{web[1:3]}"


def shown(words: str) -> str:
    """Return words that look the same in a viewer, which reads a description as HTML."""
    return html.escape(words, quote=False)


class _Writer:
    """Makes placemarks at the heights of one plan."""

    def __init__(self, plan: Placed) -> None:
        from fastkml.enums import AltitudeMode

        self.base_m = 0.0 if plan.elevation_m is None else plan.elevation_m
        self.mode: AltitudeMode = (
            AltitudeMode.relative_to_ground if plan.elevation_m is None else AltitudeMode.absolute
        )

    def lifted(self, at: Sequence[Position], heights_m: Sequence[float]) -> list[tuple[float, float, float]]:
        """Return longitude, latitude, altitude, in this order."""
        return [(x, y, round(self.base_m + h, 2)) for (x, y), h in zip(at, heights_m, strict=True)]

    def mark(self, name: str, words: str, look: str, geometry: Shaped) -> Placemark:
        from fastkml import StyleUrl
        from fastkml.features import Placemark

        return Placemark(
            name=name, description=shown(words), style_url=StyleUrl(url=f"#{look}"), kml_geometry=geometry
        )

    def point(self, item: Point) -> Placemark:
        from fastkml.geometry import Point as KmlPoint
        from pygeoif import Point as Place

        place = Place(*self.lifted([item.at], [item.height_m])[0])
        shape = KmlPoint(geometry=place, extrude=True, altitude_mode=self.mode)
        words = f"{item.kind}, {item.height_m:.1f} m above the ground at the launch"
        return self.mark(item.name, words, "route", shape)

    def line(self, at: Sequence[Position], heights_m: Sequence[float], *, wall: bool = False) -> LineString:
        from fastkml.geometry import LineString
        from pygeoif import LineString as Line

        return LineString(geometry=Line(self.lifted(at, heights_m)), extrude=wall, altitude_mode=self.mode)

    def area(self, ring: Sequence[Position], height_m: float, *, walls: bool = False) -> Polygon:
        from fastkml.geometry import Polygon
        from pygeoif import Polygon as Area

        shell = self.lifted(ring, [height_m] * len(ring))
        return Polygon(geometry=Area(shell), extrude=walls, altitude_mode=self.mode)

    def flat(self, ring: Sequence[Position]) -> Polygon:
        """Return an area that lies on the ground, whatever its shape."""
        from fastkml.enums import AltitudeMode
        from fastkml.geometry import Polygon
        from pygeoif import Polygon as Area

        return Polygon(geometry=Area(ring), tessellate=True, altitude_mode=AltitudeMode.clamp_to_ground)

    def obstacle(self, item: Shape) -> Placemark:
        heights = [item.height_m] * len(item.positions)
        shape: Shaped = (
            self.area(item.positions, item.height_m, walls=True)
            if item.closed
            else self.line(item.positions, heights, wall=True)
        )
        words = f"obstacle, top {item.height_m:.1f} m above the ground at the launch{item.more}"
        return self.mark(item.name, words, "obstacle", shape)


def _styles() -> list[Any]:
    from fastkml.styles import LabelStyle, LineStyle, PolyStyle, Style

    made = []
    for name, (web, opacity, width, area) in LOOKS.items():
        parts: list[Any] = [
            LabelStyle(color=kml_colour(web, "ff"), scale=0.8),
            LineStyle(color=kml_colour(web, opacity), width=width),
            PolyStyle(color=kml_colour(web, area), fill=True, outline=True),
        ]
        made.append(Style(id=name, styles=parts))
    return made


def _placemarks(plan: Placed) -> list[Placemark]:
    pen = _Writer(plan)
    marks = [pen.point(item) for item in plan.points]
    if len(plan.points) > 1:
        way = pen.line([p.at for p in plan.points], [p.height_m for p in plan.points])
        marks.append(pen.mark("route", "the route, from point to point", "route", way))
    if plan.fan:
        words = "nine launches of ten pass within this area; it is drawn on the ground"
        marks.append(pen.mark("launch fan", words, "fan", pen.flat(plan.fan)))
        middle = pen.line(plan.middle, plan.middle_height_m)
        marks.append(pen.mark("middle launch", "half are higher, half are lower", "middle", middle))
    marks += [pen.obstacle(item) for item in plan.obstacles]
    ring = pen.area(plan.circle, plan.circle_height_m)
    words = (
        f"home circle, radius {plan.circle_radius_m:.0f} m, {plan.circle_height_m:.0f} m above the ground at "
        "the launch"
    )
    marks.append(pen.mark("home circle", words, "circle", ring))
    return marks


def _tidy(text: str) -> str:
    """Return the document with one default namespace and indents, whichever XML library wrote it."""
    from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped]

    root = fromstring(text)
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    root.set("xmlns", NAMESPACE)
    ET.indent(root, " ")
    body = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def kml_text(plan: Placed) -> str:
    """Return the plan as KML: longitude, latitude, altitude; metres; colours of the sheet."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it asks for an XML library that is not needed
        from fastkml import KML, Data, Document, ExtendedData

    said = RELATIVE_WORDS if plan.elevation_m is None else ABSOLUTE_WORDS.format(f"{plan.elevation_m:g}")
    rows = [Data(name=key, value=str(value)) for key, value in about(plan.trail).items()]
    document = Document(
        name=f"{plan.trail.setup}: launch plan",
        description=shown(f"{about_words(plan.trail)} {said}"),
        styles=_styles(),
        extended_data=ExtendedData(elements=rows),
        features=_placemarks(plan),
    )
    return _tidy(KML(features=[document]).to_string(prettyprint=False, precision=PRECISION))

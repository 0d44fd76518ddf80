"""Exports of a plan against the published schemas, and against positions of GeographicLib.

Schemas: KML 2.2, OGC 07-147r2 (as shipped with fastkml); GPX 1.1, Topografix (see data/gpx/README.md);
GeoJSON, RFC 7946, by geojson-pydantic and by shapely. Nothing here asks a network.
"""

from __future__ import annotations

import json
import math
import warnings
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import gpxpy
import numpy as np
import pytest
from geojson_pydantic import FeatureCollection
from lxml import etree
from shapely.geometry import Point, Polygon, shape

from overarm.describe.outlines import Outline
from overarm.earth import Ground, Spot, to_launch
from overarm.errors import InputError
from overarm.plan.exports.files import write_all
from overarm.plan.exports.geojson import geojson_text
from overarm.plan.exports.gpx import gpx_text
from overarm.plan.exports.kml import LOOKS, NAMESPACE, kml_colour, kml_text
from overarm.plan.exports.route import CAUTION, about, placed, plain
from overarm.plan.result import PlanResult
from tests.plans import GROUND, outlines_of, plan_of, route_of

DATA = Path(__file__).parent / "data"
KML = f"{{{NAMESPACE}}}"
HOSTILE = {
    "markup": '<b>"R&D" \'<![CDATA[x]]> &amp; -->',
    "controls": "a\x00b\x07c\x1b[31m\ufffe\ud800 d\r\ne",
    "right to left": "\u202eطائر צפור\u200f",  # noqa: RUF001
    "long": "w" * 500,
    "longer": "long word " * 80,
    "nothing": "",
    "formula": "=1+1",
}
GROUNDS = {
    "north east": GROUND,
    "south west": Ground(Spot(-33.9, -70.6), math.radians(10.0)),
    "at nought": Ground(Spot(0.0, 0.0), math.radians(90.0)),
    "far north": Ground(Spot(78.2, 15.6), math.radians(359.0)),
}


@cache
def kml_schema() -> etree.XMLSchema:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return etree.XMLSchema(etree.parse(str(files("fastkml") / "schema" / "ogckml22.xsd")))


@cache
def gpx_schema() -> etree.XMLSchema:
    return etree.XMLSchema(etree.parse(str(DATA / "gpx" / "gpx-1.1.xsd")))


def texts_of(plan: PlanResult, elevation_m: float | None = None) -> tuple[str, str, str]:
    laid = placed(plan, elevation_m=elevation_m)
    return geojson_text(laid), kml_text(laid), gpx_text(laid)


def hold(schema: etree.XMLSchema, text: str) -> Any:
    document = etree.fromstring(text.encode("utf-8"))
    schema.assertValid(document)
    return document


def valid(plan: PlanResult, elevation_m: float | None = None) -> tuple[dict[str, Any], Any, Any]:
    geojson, kml, gpx = texts_of(plan, elevation_m)
    collection = json.loads(geojson)
    FeatureCollection.model_validate(collection)
    for feature in collection["features"]:
        assert shape(feature["geometry"]).is_valid, feature["properties"]["name"]
    return collection, hold(kml_schema(), kml), hold(gpx_schema(), gpx)


def features(collection: dict[str, Any], what: str) -> list[dict[str, Any]]:
    return [f for f in collection["features"] if f["properties"]["what"].startswith(what)]


@pytest.mark.parametrize("where", list(GROUNDS))
@pytest.mark.parametrize("elevation_m", [None, 430.0, -12.5])
def test_files_keep_to_the_published_schemas(where: str, elevation_m: float | None) -> None:
    valid(plan_of(GROUNDS[where]), elevation_m)


def test_the_schemas_can_say_no() -> None:
    _, kml, gpx = texts_of(plan_of())
    for schema, text, wrong in (
        (kml_schema(), kml, ("<color>ff", "<color>rust")),
        (kml_schema(), kml, ("<altitudeMode>", "<altitudeMode>aboveAll")),
        (gpx_schema(), gpx, ('lat="47.0"', 'lat="97.0"')),
        (gpx_schema(), gpx, ("<desc>", "<height>1</height><desc>")),
    ):
        assert wrong[0] in text
        with pytest.raises(etree.DocumentInvalid):
            hold(schema, text.replace(*wrong))


@pytest.mark.parametrize("which", list(HOSTILE))
def test_hostile_names_come_out_well_formed(which: str) -> None:
    name = HOSTILE[which]
    route = tuple(replace(point, name=name) for point in route_of())
    collection, kml, gpx = valid(plan_of(name=name, route=route, outlines=outlines_of(name)))
    said = plain(name)
    assert len(said) <= 500
    assert not any(letter in said for letter in "\x00\x07\x1b\u202e\ufffe\ud800")
    assert collection["about"]["setup"] == said
    assert features(collection, "obstacle")[0]["properties"]["name"] == said
    marks = [m.findtext(f"{KML}name", "") for m in kml.iter(f"{KML}Placemark")]
    assert said in marks or not said
    names = [p.findtext("{*}name", "") for p in gpx.iter("{*}rtept")]
    assert names == [said] * len(route)


def test_a_description_is_text_to_a_viewer_that_reads_html() -> None:
    _, kml, _ = valid(plan_of(name="<img src=x onerror=alert(1)>"))
    words = kml.find(f"{KML}Document").findtext(f"{KML}description")
    assert "<img" not in words
    assert "&lt;img" in words


def test_positions_are_those_of_geographiclib() -> None:
    # GeographicLib 2.x, direct problem on WGS 84: (47, 8), azimuth 30 degrees, 150 m.
    point = replace(route_of()[1], ahead_m=150.0, right_m=0.0)
    plan = plan_of(Ground(Spot(47.0, 8.0), math.radians(30.0)), route=(route_of()[0], point))
    collection, kml, gpx = valid(plan, 430.0)
    want = (8.000986137, 47.001168502)
    got = features(collection, "route point, handover")[0]["geometry"]["coordinates"]
    assert got == pytest.approx(want, abs=1e-7)
    mark = next(m for m in kml.iter(f"{KML}Placemark") if m.findtext(f"{KML}name") == "handover")
    position = [float(x) for x in mark.find(f".//{KML}coordinates").text.split(",")]
    assert position == pytest.approx([*want, 465.0], abs=1e-7)  # longitude, latitude, altitude
    last = list(gpx.iter("{*}rtept"))[-1]
    assert (float(last.get("lon")), float(last.get("lat"))) == pytest.approx(want, abs=1e-7)
    assert float(last.findtext("{*}ele")) == pytest.approx(465.0)


@pytest.mark.parametrize("where", list(GROUNDS))
def test_files_read_back_give_the_same_points(where: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import fastkml
    from fastkml.utils import find_all

    plan = plan_of(GROUNDS[where])
    laid = placed(plan, elevation_m=100.0)
    want = [(*p.at, 100.0 + p.height_m) for p in laid.points]
    book = gpxpy.parse(gpx_text(laid))
    route = [(p.longitude, p.latitude, p.elevation) for p in book.routes[0].points]
    assert np.max(np.abs(np.array(route) - want)) < 1e-7
    read = fastkml.KML.from_string(kml_text(laid).partition("\n")[2])
    marks = list(find_all(read, of_type=fastkml.Placemark))
    places = [m.geometry.coords[0] for m in marks if m.geometry.geom_type == "Point"]
    assert np.max(np.abs(np.array(places) - want)) < 1e-7
    ahead, right = to_launch(GROUNDS[where], [p.at[1] for p in laid.points], [p.at[0] for p in laid.points])
    assert np.max(np.abs(ahead - [p.ahead_m for p in plan.route])) < 0.01
    assert np.max(np.abs(right - [p.right_m for p in plan.route])) < 0.01


@pytest.mark.parametrize("where", list(GROUNDS))
def test_areas_and_rings(where: str) -> None:
    ground = GROUNDS[where]
    plan = plan_of(ground)
    collection, _, _ = valid(plan)

    def flat(feature: dict[str, Any]) -> Polygon:
        ring = np.array(feature["geometry"]["coordinates"][0])
        x, y = to_launch(ground, ring[:, 1], ring[:, 0])
        return Polygon(np.stack([y, x], axis=1))  # right, ahead: a plane in which anticlockwise is kept

    for feature in collection["features"]:
        if feature["geometry"]["type"] == "Polygon":
            ring = feature["geometry"]["coordinates"][0]
            assert ring[0] == ring[-1]
            assert shape(feature["geometry"]).exterior.is_ccw  # RFC 7946, section 3.1.6
    circle = flat(features(collection, "home circle")[0])
    corners = 72  # area of a regular polygon: n/2 r^2 sin(2 pi / n)
    area = 0.5 * corners * plan.circle.radius_m**2 * math.sin(math.tau / corners)
    assert circle.area == pytest.approx(area, rel=1e-3)
    assert circle.centroid.distance(Point(0.0, 0.0)) < 0.02
    fan = flat(features(collection, "launch fan")[0])
    width = plan.fan.right_p95_m - plan.fan.right_p5_m
    assert fan.area == pytest.approx(float(np.trapezoid(width, plan.fan.ahead_m)), rel=0.01)
    barn = flat(features(collection, "obstacle")[1])
    assert barn.area == pytest.approx(15.0 * 15.0, rel=2e-3)


def test_heights_are_absolute_only_if_the_sea_level_is_known() -> None:
    for elevation_m, mode, first in ((None, "relativeToGround", 0.0), (430.0, "absolute", 430.0)):
        _, kml, gpx = valid(plan_of(), elevation_m)
        marks = [m for m in kml.iter(f"{KML}Placemark") if m.find(f"{KML}Point") is not None]
        assert {m.findtext(f".//{KML}altitudeMode") for m in marks} == {mode}
        assert float(marks[0].findtext(f".//{KML}coordinates").split(",")[2]) == first
        heights = [p.findtext("{*}ele") for p in gpx.iter("{*}rtept")]
        assert all(h is None for h in heights) == (elevation_m is None)
    collection, _, _ = valid(plan_of(), 430.0)
    assert all(len(f["geometry"]["coordinates"]) == 2 for f in features(collection, "route point"))


def test_a_wall_without_an_end_is_cut_and_says_so() -> None:
    wall = Outline("hedge", np.array([[80.0, -10_000.0], [80.0, 10_000.0]]), 6.0, False)
    collection, kml, _ = valid(plan_of(outlines=(wall,)))
    (hedge,) = features(collection, "obstacle")
    line = np.array(hedge["geometry"]["coordinates"])
    ahead, right = to_launch(GROUND, line[:, 1], line[:, 0])
    assert ahead == pytest.approx([80.0, 80.0], abs=0.02)
    assert sorted(right) == pytest.approx([-300.0, 300.0], abs=0.02)
    assert "no end is known" in hedge["properties"]["meaning"]
    assert "no end is known" in etree.tostring(kml, encoding="unicode")


def test_every_file_says_where_it_comes_from_and_what_it_is_not() -> None:
    plan = plan_of()
    for text in texts_of(plan):
        flat = " ".join(text.split())
        assert all(str(value) in flat for value in about(placed(plan).trail).values())
        assert CAUTION in flat
        assert "safe" not in flat.lower()


def test_same_plan_same_bytes_and_no_clock(tmp_path: Path) -> None:
    first = write_all(plan_of(), tmp_path / "a")
    again = write_all(plan_of(), tmp_path / "b")
    for one, other in zip(first, again, strict=True):
        assert one.read_bytes() == other.read_bytes()
        assert "May 2030" not in one.read_text("utf-8")
    dated = write_all(plan_of(), tmp_path / "c", date="1 May 2030")
    assert all("1 May 2030" in path.read_text("utf-8") for path in dated)


def test_names_of_the_files(tmp_path: Path) -> None:
    paths = write_all(plan_of(name="../../etc/Чайка 2"), tmp_path)
    assert [p.name for p in paths] == [f"etc-чайка-2-plan.{end}" for end in ("geojson", "kml", "gpx")]
    assert all(p.parent == tmp_path for p in paths)


def test_without_a_launch_point_it_says_which_two_keys_to_add(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"launch_point: \{latitude.*launch_direction") as told:
        write_all(plan_of(None), tmp_path / "none")
    assert told.value.problems[0].key == "site.launch_point"
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    ("spot", "words"), [(Spot(89.9, 0.0), "pole"), (Spot(10.0, 179.9999), "180 degrees longitude")]
)
def test_places_where_a_plan_cannot_be_drawn(spot: Spot, words: str) -> None:
    with pytest.raises(InputError, match=words):
        placed(plan_of(Ground(spot, 0.5)))


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    with pytest.raises(InputError, match=r"file.*cannot be written.*choose another"):
        write_all(plan_of(), tmp_path / "file")


def test_all_files_or_none(tmp_path: Path) -> None:
    """A folder stands where the last file should go: the first two come back as they were."""
    paths = write_all(plan_of(), tmp_path)
    before = paths.geojson.read_bytes(), paths.kml.read_bytes()
    paths.gpx.unlink()
    paths.gpx.mkdir()
    with pytest.raises(InputError, match="cannot be written"):
        write_all(plan_of(circle=replace(plan_of().circle, radius_m=90.0)), tmp_path)
    assert (paths.geojson.read_bytes(), paths.kml.read_bytes()) == before
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(p.name for p in paths)


def test_a_fan_of_nothing_is_left_out() -> None:
    fan = plan_of().fan
    none = {name: np.zeros(0) for name in ("ahead_m", "right_p5_m", "right_p50_m", "right_p95_m")}
    plan = plan_of(fan=replace(fan, **none, height_p50_m=np.zeros(0), paths=()))
    collection, _, _ = valid(plan)
    assert not features(collection, "launch fan")


def test_the_colours_are_those_of_the_sheet() -> None:
    from overarm.sheets.palette import LIGHT

    assert {web for web, *_ in LOOKS.values()} <= set(LIGHT.values())
    assert kml_colour("#8c3512", "ff") == "ff12358c"  # KML 2.2, kml:color: opacity, blue, green, red

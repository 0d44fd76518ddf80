"""Obstacles in the plane: from the card and from GeoJSON to outlines.

The truth is plane geometry done by hand; places on the earth go there and back by `overarm.earth`, which has
its own truth.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import overarm
from overarm.describe import obstacle_file
from overarm.describe.change import changed
from overarm.describe.obstacle_file import read_obstacles
from overarm.describe.outlines import ahead_m, ground_of, outlines, walls
from overarm.earth import Ground, Spot, to_spots
from overarm.errors import InputError
from tests.changed import BASE, problems_of, replaced, spot, written
from tests.examples import setup_of

GROUND = Ground(Spot(47.0, 8.0), math.radians(250.0))
PLACE = "  launch_point: {latitude: 47 deg, longitude: 8 deg}\n  launch_direction: 250 deg\n"
SQUARE = [(100, -20), (100, 20), (140, 20), (140, -20)]
KNOT = [(100, -20), (140, 20), (100, 20), (140, -20)]


def spots(points: Any, ground: Ground = GROUND) -> list[list[float]]:
    latitude, longitude = to_spots(ground, *np.array(points, float).T)
    return [[float(b), float(a)] for a, b in zip(latitude, longitude, strict=True)]


def area(points: Any, ground: Ground = GROUND) -> dict[str, Any]:
    ring = spots(points, ground)
    return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}


def feature(geometry: Any, **properties: Any) -> dict[str, Any]:
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def point(place: list[float], **properties: Any) -> dict[str, Any]:
    return feature({"type": "Point", "coordinates": place}, **properties)


def read(folder: Path, data: Any, ground: Ground = GROUND) -> tuple[Any, ...]:
    file = folder / "trees.geojson"
    file.write_text(data if isinstance(data, str) else json.dumps(data), "utf-8")
    return read_obstacles(file, ground)


# --- the card ---------------------------------------------------------------------------------------


def test_an_obstacle_of_the_card_stands_across_the_line_of_sight() -> None:
    setup = changed(setup_of("b"), {"site.obstacles.0.angle": "90 deg", "site.obstacles.0.width": "20 m"})
    (found,) = outlines(setup)
    assert found.points_m == pytest.approx(np.array([[10.0, 140.0], [-10.0, 140.0]]), abs=1e-9)
    assert not found.closed
    assert ahead_m(found) is None
    assert walls([found])[0] == pytest.approx([10.0, 140.0, -10.0, 140.0, 15.0], abs=1e-9)


def test_without_angle_and_width_it_is_a_line_without_end_across_the_launch() -> None:
    (found,) = outlines(setup_of("b"))
    assert (found.points_m[:, 0] == 140.0).all()
    assert np.ptp(found.points_m[:, 1]) >= 20_000.0
    assert ahead_m(found) == 140.0


@pytest.mark.parametrize(
    ("text", "at", "key", "words"),
    [
        (
            "  launch_point: {latitude: 91 deg, longitude: 8 deg}\n",
            "91 deg",
            "site.launch_point.latitude",
            "-90 deg to 90",
        ),
        (
            "  launch_point: {latitude: 47 deg, longitude: -181 deg}\n",
            "-181",
            "site.launch_point.longitude",
            "-180 deg to 180",
        ),
        (
            "  launch_point: {latitude: 47.1, longitude: 8 deg}\n",
            "47.1",
            "site.launch_point.latitude",
            "has no unit",
        ),
        ("  launch_point: {latitude: 47 deg}\n", "launch_point", "site.launch_point.longitude", "is missing"),
        ("  launch_direction: 361 deg\n", "361 deg", "site.launch_direction", "0 deg to 360 deg"),
        ("  launch_direction: -1 deg\n", "-1 deg", "site.launch_direction", "0 deg to 360 deg"),
        (
            PLACE + "  obstacle_file: none.geojson\n",
            "none.geojson",
            "site.obstacle_file",
            "not a file that is there",
        ),
        (PLACE + "  height_model: ../a.tif\n", "../a.tif", "site.height_model", "leads out of the folder"),
        (
            "  obstacle_file: wing.yaml\n",
            "obstacle_file",
            "site.obstacle_file",
            "without launch_point and launch_direction",
        ),
        (
            "  height_model: wing.yaml\n  launch_direction: 3 deg\n",
            "height_model",
            "site.height_model",
            "without launch_point",
        ),
    ],
)
def test_a_wrong_place_is_told(tmp_path: Path, text: str, at: str, key: str, words: str) -> None:
    whole = replaced(BASE, "site:\n", f"site:\n{text}")
    problem = next(item for item in problems_of(written(tmp_path, whole)) if item.key == key)
    assert words in problem.message
    assert problem.line == spot(whole, at)[0]


def test_the_corners_of_the_earth_are_taken(tmp_path: Path) -> None:
    text = "  launch_point: {latitude: 90 deg, longitude: -180 deg}\n  launch_direction: 360 deg\n"
    setup = overarm.load(written(tmp_path, replaced(BASE, "site:\n", f"site:\n{text}")))
    ground = ground_of(setup)
    assert ground is not None
    assert ground.launch == (90.0, -180.0)
    assert ground.direction_rad == pytest.approx(0.0, abs=1e-9)
    assert ground_of(setup_of("b")) is None


def test_the_obstacle_file_counts_and_is_hashed_by_its_content(tmp_path: Path) -> None:
    text = replaced(BASE, "site:\n", f"site:\n{PLACE}  obstacle_file: trees.geojson\n")
    read(tmp_path, feature(area(SQUARE), height=12, name="wood"))
    setup = overarm.load(written(tmp_path, text))
    first = setup.hash()
    assert [item.name for item in outlines(setup)] == ["hedge", "wood"]
    read(tmp_path, feature(area(SQUARE), height=13, name="wood"))
    assert setup.hash() != first
    assert outlines(setup)[1].height_m == 13.0


def test_a_setup_without_a_file_loads_no_reader_of_files() -> None:
    code = (
        "import sys, overarm; from overarm.describe.outlines import outlines;"
        "outlines(overarm.load('examples/b-kestrel.yaml'));"
        "print([m for m in ('shapely', 'geojson_pydantic', 'geographiclib', 'rasterio') if m in sys.modules])"
    )
    folder = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_setup_can_be_changed_in_its_new_keys(tmp_path: Path) -> None:
    read(tmp_path, feature(area(SQUARE), height=12, name="wood"))
    plain = overarm.load(written(tmp_path, BASE))
    place = {
        "site.launch_point.latitude": "47 deg",
        "site.launch_point.longitude": "8 deg",
        "site.launch_direction": "250 deg",
        "site.obstacle_file": "trees.geojson",
        "site.obstacles.0.width": "9 m",
    }
    setup = changed(plain, place)
    ground = ground_of(setup)
    assert ground is not None
    assert ground.launch == GROUND.launch
    assert ground.direction_rad == pytest.approx(GROUND.direction_rad)
    assert [item.name for item in outlines(setup)] == ["hedge", "wood"]
    back = changed(setup, {"site.obstacle_file": "none", "site.obstacles.0.width": "none"})
    assert len(outlines(back)) == 1
    assert back.site.obstacles[0].width_m is None
    with pytest.raises(InputError, match="is not a file that is there"):
        changed(setup, {"site.obstacle_file": "none.geojson"})
    with pytest.raises(InputError, match="leads out of the folder"):
        changed(setup, {"site.height_model": "../a.tif"})
    with pytest.raises(InputError, match="cannot be laid under the launch"):
        changed(setup, {"site.launch_point": "none"})


# --- the file ---------------------------------------------------------------------------------------


def test_an_area_lies_where_it_was_drawn(tmp_path: Path) -> None:
    (wood,) = read(tmp_path, feature(area(SQUARE), height="40 ft", name="wood"))
    assert wood.points_m == pytest.approx(np.array(SQUARE, float), abs=1e-6)
    assert (wood.name, wood.closed) == ("wood", True)
    assert wood.height_m == pytest.approx(12.192)


def test_an_area_across_the_antimeridian(tmp_path: Path) -> None:
    ground = Ground(Spot(-16.5, 179.999), math.radians(90.0))
    geometry = area(SQUARE, ground)
    assert {place[0] > 0 for place in geometry["coordinates"][0]} == {True, False}
    (found,) = read(tmp_path, feature(geometry, height=3), ground)
    assert found.points_m == pytest.approx(np.array(SQUARE, float), abs=1e-6)


def test_kinds_of_geometry(tmp_path: Path) -> None:
    line = spots([(50, -9), (50, 9), (60, 9)])
    lines = {"type": "MultiLineString", "coordinates": [line, line[:2]]}
    ring = area(SQUARE)["coordinates"]
    hole = area([(110, -5), (110, 5), (120, 5)])["coordinates"][0]
    data = {
        "type": "FeatureCollection",
        "features": [
            feature({"type": "LineString", "coordinates": line}, height=2),
            feature(lines, height=2),
            feature({"type": "MultiPolygon", "coordinates": [ring, [ring[0], hole]]}, height=2),
            point(spots([(30, 4)])[0], height=5, width="6 m", name="oak"),
            point(spots([(30, 4)])[0], height=5),
        ],
    }
    found = read(tmp_path, data)
    assert [item.closed for item in found] == [False, False, False, True, True, True, True]
    assert [len(item.points_m) for item in found] == [3, 3, 2, 4, 4, 8, 8]
    assert found[0].name == "obstacle 1"
    # The corners of a tree lie outside of its circle, the middles of its sides on it.
    for tree, width in ((found[5], 6.0), (found[6], obstacle_file.POINT_WIDTH_M)):
        middles = 0.5 * (tree.points_m + np.roll(tree.points_m, 1, axis=0)) - [30.0, 4.0]
        assert np.hypot(*middles.T) == pytest.approx(0.5 * width, abs=1e-6)


NEAR = [8.0, 47.001]
BAD: list[tuple[Any, str, str]] = [
    (feature(area(SQUARE)), "feature 1, height", "has no height"),
    (feature(area(SQUARE), height=-2), "feature 1, height", "is outside 0.1 m to 300 m"),
    (feature(area(SQUARE), height="tall"), "feature 1, height", "is not a number with a unit"),
    (feature(area(SQUARE), height="12"), "feature 1, height", "has no unit"),
    (feature(area(SQUARE), height=True), "feature 1, height", "is true, not a length"),
    (feature(area(SQUARE), height=10**400), "feature 1, height", "too large"),
    (point(NEAR, height=3, width="1 kg"), "feature 1, width", "is not a length"),
    (feature(area(KNOT), height=3), "feature 1, geometry", "crosses itself at latitude 46.99"),
    (
        feature({"type": "Polygon", "coordinates": [spots(SQUARE)]}, height=3),
        "feature 1, geometry",
        "not closed",
    ),
    (
        feature({"type": "LineString", "coordinates": [NEAR]}, height=3),
        "feature 1, geometry",
        "too few points",
    ),
    (
        feature({"type": "Polygon", "coordinates": [[NEAR] * 4]}, height=3),
        "feature 1, geometry",
        "is no area",
    ),
    (feature({"type": "MultiPolygon", "coordinates": []}, height=3), "feature 1, geometry", "has no points"),
    (
        feature({"type": "GeometryCollection", "geometries": []}, height=3),
        "feature 1, geometry",
        "no obstacle",
    ),
    (feature(None, height=3), "feature 1, geometry", "no obstacle"),
    (point(["a", 47], height=3), "feature 1, geometry", "has no point at entry 1"),
    (point([8.0], height=3), "feature 1, geometry", "has no point at entry 2"),
    ({**point(NEAR), "properties": [1]}, "feature 1, properties", "without names"),
    (point([47.001, 8.001], height=3), "", "latitude and longitude swapped"),
    (point([8.5, 47.0], height=3), "feature 1, geometry", "reaches 38 km away"),
    (point([8.0, 147.0], height=3), "feature 1, coordinates", "not on the earth"),
    ({"type": "FeatureCollection", "features": []}, "", "has no features"),
    ({"type": "FeatureCollection", "features": [3]}, "feature 1, geometry", "no obstacle"),
    ({"type": "Polygon", "coordinates": []}, "", "is not GeoJSON with features"),
    ([], "", "is not GeoJSON"),
    ('{"type": NaN}', "", "a word that is no number"),
    ("[" * 100_000, "", "is not GeoJSON that can be read"),
    (
        {**point(NEAR, height=3), "crs": {"properties": {"name": "EPSG:3857"}}},
        "crs",
        "another reference system",
    ),
    (
        {"type": "FeatureCollection", "features": [point(NEAR, height=3)] * 2001},
        "",
        "more than 2,000 features",
    ),
    (feature({"type": "LineString", "coordinates": [NEAR] * 20_001}, height=3), "", "has 20,001 points"),
]


@pytest.mark.parametrize(("data", "key", "words"), BAD, ids=[f"{k}-{w[:24]}" for _, k, w in BAD])
def test_a_file_that_cannot_be_used(tmp_path: Path, data: Any, key: str, words: str) -> None:
    with pytest.raises(InputError) as found:
        read(tmp_path, data)
    (problem,) = found.value.problems
    assert problem.file == str(tmp_path / "trees.geojson")
    assert problem.key == key
    assert words in problem.message
    assert problem.cure


def test_the_place_of_what_is_no_json(tmp_path: Path) -> None:
    with pytest.raises(InputError) as found:
        read(tmp_path, '{"type": "FeatureCollection",\n "features": [,]}')
    assert (found.value.problems[0].line, found.value.problems[0].column) == (2, 15)
    (tmp_path / "trees.geojson").write_bytes(b'{"a":\n "\xff"}')
    with pytest.raises(InputError, match="UTF-8"):
        read_obstacles(tmp_path / "trees.geojson", GROUND)
    (tmp_path / "trees.geojson").write_bytes(b" " * 5_000_001)
    with pytest.raises(InputError, match="is larger than"):
        read_obstacles(tmp_path / "trees.geojson", GROUND)
    with pytest.raises(InputError, match="cannot be read: No such file"):
        read_obstacles(tmp_path / "none.geojson", GROUND)


def test_every_wrong_feature_is_told_up_to_a_limit(tmp_path: Path) -> None:
    good, bad = point(NEAR, height=3), point(NEAR)
    with pytest.raises(InputError) as found:
        read(tmp_path, {"type": "FeatureCollection", "features": [good, bad, good, bad]})
    assert [item.key for item in found.value.problems] == ["feature 2, height", "feature 4, height"]
    with pytest.raises(InputError, match="and 80 more of the kind"):
        read(tmp_path, {"type": "FeatureCollection", "features": [bad] * 100})


def test_wgs_84_may_be_named(tmp_path: Path) -> None:
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
    assert len(read(tmp_path, {**point(NEAR, height=3), "crs": named})) == 1

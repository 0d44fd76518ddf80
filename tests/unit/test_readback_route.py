"""Routes compared in metres: places, heights, order, references, and what they pass over."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

import overarm
from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.outlines import Outline
from overarm.earth import Ground, Spot, to_spots
from overarm.errors import InputError
from overarm.odds.finding import Finding
from overarm.plan.exports.files import write_all
from overarm.plan.run import plan
from overarm.readback.mapping import RouteColumns
from overarm.readback.places import Located, frame_of, located
from overarm.readback.result import ReadbackResult
from overarm.readback.route import pair_routes
from overarm.readback.run import readback
from overarm.readback.tracks import read_track
from overarm.readback.way import low_legs
from tests.examples import FILES, setup_of

ELEVATION_M = 430.0
DIRECTION_DEG = 30.0


class Point(NamedTuple):
    name: str
    ahead_m: float
    right_m: float
    height_m: float


# Over the trees of example B (15 m high, 140 m ahead), out, and home at 40 m.
PLAN = (
    Point("out", 180.0, 0.0, 40.0),
    Point("turn", 200.0, 90.0, 42.0),
    Point("back", 120.0, 90.0, 45.0),
    Point("home", 0.0, 0.0, 40.0),
)


def on_earth(setup: Setup) -> Setup:
    """Return a setup whose launch is at 47 N 8 E on a line of 30 degrees, 430 m above the sea."""
    site = {"launch_point": {"latitude": "47 deg", "longitude": "8 deg"}}
    text = FILES["b"].read_text("utf-8")
    assert setup.name in text
    more = f"site:\n  launch_point: {json.dumps(site['launch_point'])}\n"
    more += f"  launch_direction: {DIRECTION_DEG} deg\n  elevation: {ELEVATION_M} m\n"
    return _loaded(text.replace("site:\n", more))


def _loaded(text: str) -> Setup:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "wing.yaml"
        file.write_text(text, "utf-8")
        return overarm.load(file)


@pytest.fixture(scope="module")
def setup() -> Setup:
    return on_earth(setup_of("b"))


def places(points: tuple[Point, ...]) -> list[tuple[float, float]]:
    ground = Ground(Spot(47.0, 8.0), math.radians(DIRECTION_DEG))
    latitude, longitude = to_spots(ground, [p.ahead_m for p in points], [p.right_m for p in points])
    return [(round(float(a), 7), round(float(o), 7)) for a, o in zip(latitude, longitude, strict=True)]


def gpx(points: tuple[Point, ...], lift_m: float = ELEVATION_M) -> str:
    rows = "".join(
        f'<rtept lat="{a}" lon="{o}"><ele>{p.height_m + lift_m}</ele><name>{p.name}</name></rtept>'
        for p, (a, o) in zip(points, places(points), strict=True)
    )
    return f'<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><rte>{rows}</rte></gpx>'


def kml(points: tuple[Point, ...]) -> str:
    rows = "".join(
        f"<Placemark><name>{p.name}</name><Point><altitudeMode>absolute</altitudeMode>"
        f"<coordinates>{o},{a},{p.height_m + ELEVATION_M}</coordinates></Point></Placemark>"
        for p, (a, o) in zip(points, places(points), strict=True)
    )
    return f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{rows}</Document></kml>'


def geojson(points: tuple[Point, ...]) -> str:
    features = [
        {
            "type": "Feature",
            "properties": {"name": p.name},
            "geometry": {"type": "Point", "coordinates": [o, a, p.height_m + ELEVATION_M]},
        }
        for p, (a, o) in zip(points, places(points), strict=True)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features})


def table(points: tuple[Point, ...]) -> str:
    rows = [f"{p.name},{p.ahead_m},{p.right_m},{p.height_m}" for p in points]
    return "\n".join(["name,ahead,right,height", *rows]) + "\n"


def compare(folder: Path, setup: Setup, text: str, suffix: str = ".gpx", more: str = "") -> ReadbackResult:
    planned, file = folder / "planned.csv", folder / f"reported{suffix}"
    planned.write_text(table(PLAN), "utf-8")
    file.write_text(text, "utf-8")
    told = None
    if more:
        told = folder / "map.yaml"
        told.write_text(f"overarm_map: 1\nroute: {more}\n", "utf-8")
    return readback(setup, file, told, planned=planned)


def stops(result: ReadbackResult) -> dict[str, Finding]:
    return {item.name: item for item in result.findings if item.word == "stop"}


@pytest.mark.parametrize(
    ("write", "suffix"), [(gpx, ".gpx"), (kml, ".kml"), (geojson, ".geojson"), (table, ".csv")]
)
def test_the_same_route_in_every_form(tmp_path: Path, setup: Setup, write: object, suffix: str) -> None:
    assert callable(write)
    result = compare(tmp_path, setup, write(PLAN), suffix)
    assert [item.word for item in result.findings] == ["good"]
    assert result.route is not None
    assert (
        max(pair.off_m for pair in result.route.paired.pairs) < 0.02
    )  # seven decimals of a degree are 11 mm


def test_a_distance_on_the_earth(tmp_path: Path, setup: Setup) -> None:
    """From 47 N 8 E, 150 m at 30 degrees: 47.001168502, 8.000986137 (GeographicLib; Karney, 2013)."""
    file = tmp_path / "one.csv"
    file.write_text("latitude,longitude,height\n47.001168502,8.000986137,30\n", "utf-8")
    track = read_track(file, RouteColumns())
    (point,) = located(track, frame_of(setup, None, track), ELEVATION_M)
    assert point.ahead_m == pytest.approx(150.0, abs=1e-3)
    assert point.right_m == pytest.approx(0.0, abs=1e-3)
    assert point.height_m == 30.0


def test_a_degree_of_longitude_at_the_equator(tmp_path: Path) -> None:
    """One degree along the equator is 111 319.491 m (WGS 84, by GeographicLib)."""
    text = (
        FILES["b"]
        .read_text("utf-8")
        .replace(
            "site:\n",
            "site:\n  launch_point: {latitude: 0 deg, longitude: 0 deg}\n  launch_direction: 90 deg\n",
        )
    )
    setup = _loaded(text)
    file = tmp_path / "one.csv"
    file.write_text("latitude,longitude\n0,1\n", "utf-8")
    track = read_track(file, RouteColumns())
    (point,) = located(track, frame_of(setup, None, track), 0.0)
    assert point.ahead_m == pytest.approx(111319.491, abs=1e-3)


def test_a_moved_point(tmp_path: Path, setup: Setup) -> None:
    moved = (PLAN[0], PLAN[1]._replace(ahead_m=212.0, right_m=85.0, height_m=38.0), *PLAN[2:])
    found = stops(compare(tmp_path, setup, gpx(moved)))
    assert list(found) == ["point 2"]
    assert found["point 2"].numbers["off_m"] == pytest.approx(13.0, abs=0.02)
    assert found["point 2"].sentence == (
        "point 2 (turn) is 13.0 m off (12 m further ahead, 5 m to the left) and 4.0 m lower"
    )


def test_missing_and_extra_points(tmp_path: Path, setup: Setup) -> None:
    found = stops(compare(tmp_path, setup, gpx((PLAN[0], *PLAN[2:]))))
    assert set(found) == {"missing points"}
    assert "point 2 (turn)" in found["missing points"].sentence
    more = (*PLAN[:2], Point("odd", 300.0, 60.0, 50.0), *PLAN[2:])
    found = stops(compare(tmp_path, setup, gpx(more)))
    assert set(found) == {"extra points"}
    assert "300 m ahead, 60 m to the right" in found["extra points"].sentence
    assert found["extra points"].numbers == {"planned": 4.0, "reported": 5.0}


def test_the_launch_itself_may_be_a_point(tmp_path: Path, setup: Setup) -> None:
    with_launch = (Point("launch", 0.0, 0.0, 1.9), *PLAN)
    assert stops(compare(tmp_path, setup, gpx(with_launch))) == {}


def test_reversed_order(tmp_path: Path, setup: Setup) -> None:
    longer = tuple(reversed(PLAN))
    found = stops(compare(tmp_path, setup, gpx(longer)))
    assert "order" in found
    assert not [name for name in found if name.startswith("point")]


@pytest.mark.parametrize(
    ("swap", "words"),
    [
        (lambda a, o: (o, a), "swapped"),
        (lambda a, o: (a, -o), "longitudes have the wrong sign"),
        (lambda a, o: (-a, o), "latitudes have the wrong sign"),
    ],
)
def test_mistaken_coordinates(tmp_path: Path, setup: Setup, swap: object, words: str) -> None:
    assert callable(swap)
    rows = ["{},{},{}".format(*swap(a, o), p.height_m) for p, (a, o) in zip(PLAN, places(PLAN), strict=True)]
    text = "\n".join(["latitude,longitude,height", *rows])
    found = stops(compare(tmp_path, setup, text, ".csv"))
    assert next(iter(found)) == "coordinates"
    assert words in found["coordinates"].sentence
    assert len(found) == 1


@pytest.mark.parametrize(
    ("lift_m", "more", "name", "words"),
    [
        (0.0, "", "height reference", "430.0 m lower than planned, which is the height of the field"),
        (2 * ELEVATION_M, "", "height reference", "430.0 m higher"),
        (
            ELEVATION_M + 12.0,
            "",
            "height reference",
            "12.0 m higher than planned: they are counted from another",
        ),
        (
            ELEVATION_M,
            "{height_from: launch}",
            "height reference",
            "counted from the sea where they are read",
        ),
    ],
)
def test_wrong_height_references(
    tmp_path: Path, setup: Setup, lift_m: float, more: str, name: str, words: str
) -> None:
    found = stops(compare(tmp_path, setup, gpx(PLAN, lift_m), more=more))
    assert name in found
    assert words in found[name].sentence
    assert not [key for key in found if key.startswith("point")]


def test_feet_for_metres(tmp_path: Path, setup: Setup) -> None:
    """40 m are 131.2 ft (international foot, 1959)."""
    feet = tuple(p._replace(height_m=round(p.height_m / 0.3048, 1)) for p in PLAN)
    found = stops(compare(tmp_path, setup, gpx(feet)))
    assert "feet taken for metres" in found["height unit"].sentence
    rows = table(feet).replace("name,ahead,right,height", "id,x,y,alt")
    columns = "{name: id, ahead: x, right: y, height: alt, height_unit: ft, unit: m}"
    planned, file = tmp_path / "planned.gpx", tmp_path / "reported.csv"
    planned.write_text(gpx(PLAN), "utf-8")
    file.write_text(rows, "utf-8")
    told = tmp_path / "map.yaml"
    told.write_text(f"overarm_map: 1\nroute: {columns}\n", "utf-8")
    assert stops(readback(setup, file, told, planned=planned)) == {}


def test_a_first_point_behind_the_launch(tmp_path: Path, setup: Setup) -> None:
    behind = (PLAN[0]._replace(ahead_m=-60.0, right_m=20.0), *PLAN[1:])
    found = stops(compare(tmp_path, setup, gpx(behind)))["first point"]
    assert math.degrees(found.numbers["bearing_rad"]) == pytest.approx(161.6, abs=0.1)  # atan2(20, -60)
    assert "turns back at the handover, 35 m up" in found.sentence
    aside = (PLAN[0]._replace(ahead_m=60.0, right_m=-70.0), *PLAN[1:])
    words = {item.name: item.word for item in compare(tmp_path, setup, gpx(aside)).findings}
    assert words["first point"] == "watch"


def test_a_leg_low_over_an_obstacle(tmp_path: Path, setup: Setup) -> None:
    """The trees are 15 m high, 140 m ahead: 15 m over them is 30 m, common practice, no source."""
    low = tuple(p._replace(height_m=28.0) for p in PLAN)
    found = stops(compare(tmp_path, setup, gpx(low)))
    assert found["leg 1"].numbers["gap_m"] == pytest.approx(13.0)
    assert found["leg 3"].numbers["gap_m"] == pytest.approx(13.0)
    assert "leg 2" not in found
    sloping = (
        PLAN[0]._replace(height_m=40.0),
        PLAN[1]._replace(height_m=10.0),
        PLAN[2]._replace(height_m=32.0),
    )
    leg = stops(compare(tmp_path, setup, gpx(sloping)))["leg 3"]
    # From 200 m ahead at 10 m to 120 m at 32 m; half the span of 1.35 m and 10 m before the trees at 140 m:
    # 10 + (200 - 150.675) / 80 * 22 = 23.56 m.
    assert leg.numbers["height_m"] == pytest.approx(23.56, abs=0.01)
    assert leg.numbers["gap_m"] == pytest.approx(8.56, abs=0.01)
    assert leg.numbers["aside_m"] == 0.0


def test_a_leg_that_sinks_over_a_wide_obstacle() -> None:
    """From 100 m ahead at 50 m to 200 m at 20 m, a wood from 120 to 160 m, 20 m high.

    Half a span of 1.4 m and 10 m behind its far edge it is 50 - 0.707 * 30 = 28.79 m up.
    """
    ring = np.array([[120.0, -30.0], [160.0, -30.0], [160.0, 30.0], [120.0, 30.0]])
    wood = Outline("wood", ring, 20.0, True)
    legs = low_legs((Located("a", 100.0, 0.0, 50.0), Located("b", 200.0, 0.0, 20.0)), (wood,), 1.4, 60.0)
    (leg,) = legs
    assert (leg.leg, leg.obstacle) == (2, "wood")
    assert leg.height_m == pytest.approx(28.79)
    assert leg.gap_m == pytest.approx(8.79)
    beside = (Located("a", 0.0, 41.0, 50.0), Located("b", 200.0, 41.0, 20.0))
    assert low_legs(beside, (wood,), 1.4, 60.0) == ()  # 11 m beside it; 0.7 m and 10 m count
    unknown = (Located("a", 100.0, 0.0, None), Located("b", 200.0, 0.0, None))
    assert low_legs(unknown, (wood,), 1.4, 60.0) == ()


def test_a_leg_beside_a_tree() -> None:
    """At 10 m height 2 m beside a tree of 15 m: half a span of 1.4 m and 10 m of place error meet it."""
    ring = np.array([[98.0, 2.0], [102.0, 2.0], [102.0, 6.0], [98.0, 6.0]])
    tree = Outline("tree", ring, 15.0, True)
    (leg,) = low_legs((Located("a", 200.0, 0.0, 10.0),), (tree,), 1.4, 35.0)
    assert (leg.gap_m, leg.height_m, leg.aside_m) == pytest.approx((-5.0, 10.0, 2.0))


def test_the_first_leg_is_no_higher_than_the_hand_over() -> None:
    """35 m are not yet the 80 m of its point; 15 m over a wood of 25 m are 40 m."""
    wood = Outline("wood", np.array([[90.0, -50.0], [90.0, 50.0]]), 25.0, False)
    (leg,) = low_legs((Located("a", 200.0, 0.0, 80.0),), (wood,), 1.4, 35.0)
    assert (leg.height_m, leg.gap_m) == pytest.approx((35.0, 10.0))
    (low,) = low_legs((Located("a", 200.0, 0.0, 30.0),), (wood,), 1.4, 35.0)
    assert low.height_m == pytest.approx(30.0)
    high = (Located("a", 50.0, 0.0, 80.0), Located("b", 200.0, 0.0, 80.0))
    assert low_legs(high, (wood,), 1.4, 35.0) == ()


def test_kml_and_gpx_are_read_without_lxml(tmp_path: Path) -> None:
    """The package does not bring lxml; its readers then use the standard library."""
    files = [tmp_path / "a.kml", tmp_path / "a.gpx"]
    files[0].write_text(kml(PLAN), "utf-8")
    files[1].write_text(gpx(PLAN), "utf-8")
    code = (
        "import sys; sys.modules['lxml'] = sys.modules['lxml.etree'] = None\n"
        "from pathlib import Path\n"
        "from overarm.readback.mapping import RouteColumns\n"
        "from overarm.readback.tracks import read_track\n"
        "for file in sys.argv[1:]: print(len(read_track(Path(file), RouteColumns()).points))\n"
    )
    command = [sys.executable, "-W", "error", "-c", code, *map(str, files)]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert (ended.stdout.split(), ended.stderr) == (["4", "4"], "")


def test_a_launch_that_is_nowhere(tmp_path: Path) -> None:
    setup = setup_of("b")
    with pytest.raises(InputError, match=r"site.launch_point and site.launch_direction"):
        compare(tmp_path, setup, gpx(PLAN))
    planned, file = tmp_path / "planned.gpx", tmp_path / "reported.kml"
    planned.write_text(gpx(PLAN), "utf-8")
    file.write_text(kml(PLAN), "utf-8")
    words = {item.name: item.word for item in readback(setup, file, planned=planned).findings}
    assert words == {"first point": "not known", "obstacles": "not known", "route": "good"}


def test_pairing_is_at_the_least_cost() -> None:
    """A point moved by 10 m stays itself; one 3 km away too, rather than one more and one less."""
    wanted = tuple(Located(name, x, 0.0, 40.0) for name, x in (("a", 50.0), ("b", 100.0), ("c", 150.0)))
    moved = (wanted[0], wanted[1]._replace(ahead_m=110.0), wanted[2]._replace(right_m=3000.0))
    kinds = [pair.kind for pair in pair_routes(wanted, moved, 0.0).pairs]
    assert kinds == ["same", "different", "different"]
    fewer = pair_routes(wanted, wanted[1:], 0.0)
    assert [pair.kind for pair in fewer.pairs] == ["missing", "same", "same"]
    assert (fewer.planned_length_m, fewer.reported_length_m) == (100.0, 50.0)


def test_our_own_exports_read_back(tmp_path: Path, setup: Setup) -> None:
    """What was exported and loaded up compares as equal, in every form and against the plan itself."""
    made = plan(setup, 200, 1)
    paths = write_all(made, tmp_path, elevation_m=ELEVATION_M)
    for planned in paths:
        for file in paths:
            result = readback(setup, file, planned=planned)
            assert "good" in [item.word for item in result.findings], (planned, file, result.findings)


def test_a_setup_that_leaves_the_height_of_the_field_out(tmp_path: Path, setup: Setup) -> None:
    level = changed(setup, {"site.elevation": "none"})
    result = compare(tmp_path, level, gpx(PLAN))
    assert "height reference" in stops(result)
    assert any("site.elevation is not given" in note for note in result.notes)

"""Spots and the launch frame against rows of GeographicLib, and there and back again.

The rows: the first is the example of GeographicLib's own documentation (geographiclib 2.0, "Geodesic
dictionary": 5551759.400319 m, azimuth 51.198883 deg); the others were computed with the library by hand and
noted down, 1 mm and 1e-8 deg. One degree along the equator is also a pi/180, with a = 6 378 137 m of WGS 84.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.earth import Ground, Spot, distance_bearing, to_launch, to_spots
from tests.agreement import Agrees

GEODESIC = "GeographicLib 2.0"
WGS84 = "WGS 84"

ROWS = [
    (Spot(40.6, -73.8), Spot(51.6, -0.5), 5551759.400),
    (Spot(0.0, 0.0), Spot(1.0, 0.0), 110574.389),
    (Spot(45.0, 8.0), Spot(46.0, 8.0), 111141.548),
    (Spot(0.0, 8.0), Spot(0.0, 9.0), 111319.491),
    (Spot(0.0, 0.0), Spot(0.0, 1.0), 6_378_137.0 * math.pi / 180.0),
]


@pytest.mark.parametrize(("a", "b", "metres"), ROWS)
def test_lengths(agrees: Agrees, a: Spot, b: Spot, metres: float) -> None:
    agrees(
        f"way from {a.latitude_deg:g}, {a.longitude_deg:g} to {b.latitude_deg:g}, {b.longitude_deg:g} [m]",
        GEODESIC,
        distance_bearing(a, b)[0],
        metres,
        abs=1e-3,
    )
    assert distance_bearing(b, a)[0] == pytest.approx(metres, abs=1e-3)


def test_bearing(agrees: Agrees) -> None:
    _, bearing = distance_bearing(Spot(40.6, -73.8), Spot(51.6, -0.5))
    agrees(
        "bearing of the example of its documentation [deg]",
        GEODESIC,
        math.degrees(bearing),
        51.198883,
        abs=1e-6,
    )
    assert math.degrees(distance_bearing(Spot(0.0, 0.0), Spot(0.0, -1.0))[1]) == pytest.approx(270.0)


def test_a_spot_150_m_away_at_30_degrees(agrees: Agrees) -> None:
    latitude, longitude = to_spots(Ground(Spot(47.0, 8.0), math.radians(30.0)), 150.0, 0.0)
    agrees("latitude of a spot 150 m away [deg]", GEODESIC, float(latitude), 47.001168502, abs=1e-8)
    agrees("longitude of a spot 150 m away [deg]", GEODESIC, float(longitude), 8.000986137, abs=1e-8)


def test_right_is_clockwise() -> None:
    north = Ground(Spot(47.0, 8.0), 0.0)
    latitude, longitude = to_spots(north, [100.0, 0.0], [0.0, 100.0])
    assert latitude[0] > 47.0
    assert longitude[0] == pytest.approx(8.0, abs=1e-12)
    assert longitude[1] > 8.0
    ahead, right = to_launch(north, 47.0, 8.001)
    assert float(ahead) == pytest.approx(0.0, abs=0.001)
    assert float(right) > 75.0


@pytest.mark.parametrize("launch", [Spot(47.0, 180.0), Spot(-16.5, 179.9999), Spot(-16.5, -179.9999)])
def test_across_the_antimeridian(launch: Spot) -> None:
    ground = Ground(launch, math.radians(90.0))
    latitude, longitude = to_spots(ground, [500.0, -500.0], [0.0, 0.0])
    assert np.abs(longitude).max() <= 180.0
    assert longitude[0] < 0.0 < longitude[1]
    ahead, right = to_launch(ground, latitude, longitude + np.array([360.0, -360.0]))
    assert ahead == pytest.approx([500.0, -500.0], abs=1e-6)
    assert right == pytest.approx([0.0, 0.0], abs=1e-6)


@pytest.mark.parametrize("launch", [Spot(90.0, 0.0), Spot(-90.0, 30.0), Spot(89.999, 8.0)])
def test_at_the_poles(launch: Spot) -> None:
    ground = Ground(launch, 1.0)
    latitude, longitude = to_spots(ground, [300.0, 0.0], [40.0, -700.0])
    assert np.abs(latitude).max() <= 90.0
    ahead, right = to_launch(ground, latitude, longitude)
    assert ahead == pytest.approx([300.0, 0.0], abs=1e-5)
    assert right == pytest.approx([40.0, -700.0], abs=1e-5)


def test_the_launch_itself() -> None:
    ground = Ground(Spot(47.0, 8.0), 4.0)
    assert [float(part) for part in to_launch(ground, 47.0, 8.0)] == pytest.approx([0.0, 0.0])
    assert [float(part) for part in to_spots(ground, 0.0, 0.0)] == pytest.approx([47.0, 8.0])


def test_shapes_are_kept() -> None:
    latitude, _ = to_spots(Ground(Spot(47.0, 8.0), 0.0), np.zeros((2, 1)), np.zeros(3))
    assert latitude.shape == (2, 3)
    assert to_spots(Ground(Spot(47.0, 8.0), 0.0), [], [])[0].shape == (0,)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-90.0, 90.0),
    st.floats(-180.0, 180.0),
    st.floats(0.0, 2.0 * math.pi),
    st.floats(-20_000.0, 20_000.0),
    st.floats(-20_000.0, 20_000.0),
)
@pytest.mark.plain_floats("the strategies draw numbers too small for a product")
def test_there_and_back(latitude: float, longitude: float, turn: float, ahead: float, right: float) -> None:
    ground = Ground(Spot(latitude, longitude), turn)
    found = to_launch(ground, *to_spots(ground, ahead, right))
    assert float(found[0]) == pytest.approx(ahead, abs=1e-4)
    assert float(found[1]) == pytest.approx(right, abs=1e-4)
    distance, _ = distance_bearing(ground.launch, Spot(*(float(x) for x in to_spots(ground, ahead, right))))
    assert distance == pytest.approx(math.hypot(ahead, right), abs=1e-5)

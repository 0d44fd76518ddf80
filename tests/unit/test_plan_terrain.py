"""Height models made here with known heights, in degrees and in metres of UTM.

The truth is the plane or wave that was written into the cells; the places come from GeographicLib.
"""

from __future__ import annotations

import builtins
import math
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine
from rasterio.warp import transform

import overarm
from overarm.earth import Ground, Spot, to_launch, to_spots
from overarm.errors import InputError
from overarm.plan import terrain
from overarm.plan.terrain import read_height_model, surface_of
from tests.changed import BASE, replaced, written

GROUND = Ground(Spot(47.0, 8.0), math.radians(250.0))
UTM = "EPSG:32632"
SIZE = 400


def from_origin(west: float, north: float, wide: float, tall: float) -> Affine:
    return Affine(wide, 0.0, west, 0.0, -tall, north)


DEGREES = from_origin(7.98, 47.02, 1e-4, 1e-4)


def cells(slope: float = 0.05, base_m: float = 500.0) -> np.ndarray[Any, Any]:
    """Return a plane that rises by a number of metres a cell to the right and falls downwards."""
    row, column = np.mgrid[0:SIZE, 0:SIZE]
    return (base_m + slope * column - 0.5 * slope * row).astype(np.float32)


def made(file: Path, heights: Any, where: Any = DEGREES, crs: Any = "EPSG:4326", **more: Any) -> Path:
    heights = np.atleast_3d(heights.T).T if heights.ndim == 2 else heights
    count, rows, columns = heights.shape
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
        with rasterio.open(
            file, "w", driver="GTiff", height=rows, width=columns, count=count,
            dtype=heights.dtype, crs=crs, transform=where, **more,
        ) as out:  # fmt: skip
            out.write(heights)
    return file


def utm_origin() -> Affine:
    (x,), (y,) = transform("EPSG:4326", UTM, [8.0], [47.0])
    return from_origin(x - 2000.0, y + 2000.0, 10.0, 10.0)


def test_a_plane_in_degrees_is_read_as_it_was_written(tmp_path: Path) -> None:
    model = read_height_model(made(tmp_path / "a.tif", cells()), GROUND)
    latitude, longitude = 47.0 + np.linspace(-0.015, 0.015, 7), 8.0 + np.linspace(-0.015, 0.01, 7)
    column, row = (longitude - 7.98) / 1e-4 - 0.5, (47.02 - latitude) / 1e-4 - 0.5
    wanted = 500.0 + 0.05 * column - 0.025 * row
    found = model.height_m(latitude, longitude)
    assert not np.ma.is_masked(found)
    assert np.asarray(found) == pytest.approx(wanted, abs=2e-4)


def test_a_plane_in_utm_is_read_as_it_was_written(tmp_path: Path) -> None:
    where = utm_origin()
    model = read_height_model(made(tmp_path / "a.tif", cells(), where, UTM), GROUND)
    latitude, longitude = 47.0 + np.linspace(-0.01, 0.012, 7), 8.0 + np.linspace(-0.015, 0.01, 7)
    x, y = (np.asarray(part) for part in transform("EPSG:4326", UTM, longitude, latitude))
    wanted = 500.0 + 0.05 * ((x - where.c) / 10.0 - 0.5) - 0.025 * ((where.f - y) / 10.0 - 0.5)
    assert np.asarray(model.height_m(latitude, longitude)) == pytest.approx(wanted, abs=2e-4)


def test_a_turned_model_is_read_as_it_was_written(tmp_path: Path) -> None:
    north = utm_origin()
    sine, cosine = 10.0 * math.sin(0.5), 10.0 * math.cos(0.5)
    middle = north.c + 2000.0, north.f - 2000.0
    first = middle[0] - 200 * (cosine + sine), middle[1] - 200 * (sine - cosine)
    where = Affine(cosine, sine, first[0], sine, -cosine, first[1])
    model = read_height_model(made(tmp_path / "a.tif", cells(), where, UTM), GROUND)
    x, y = transform("EPSG:4326", UTM, [8.001], [47.002])
    a, b, c, d, e, f = tuple(~where)[:6]
    column, row = a * x[0] + b * y[0] + c, d * x[0] + e * y[0] + f
    wanted = 500.0 + 0.05 * (column - 0.5) - 0.025 * (row - 0.5)
    assert float(model.height_m(47.002, 8.001)) == pytest.approx(wanted, abs=2e-4)


def test_heights_count_from_the_launch(tmp_path: Path) -> None:
    """A slope that rises to the north, looked at along a launch line: up by its gradient times the way."""
    (x,), (y,) = transform("EPSG:4326", UTM, [8.0], [47.0])
    row, _ = np.mgrid[0:SIZE, 0:SIZE]
    where = from_origin(x - 2000.0, y + 2000.0, 10.0, 10.0)
    heights = (1000.0 + 0.1 * 10.0 * (200.0 - row)).astype(np.float32)
    model = read_height_model(made(tmp_path / "a.tif", heights, where, UTM), GROUND)
    found = terrain._over_launch(model, GROUND, np.array([0.0, 200.0, 0.0]), np.array([0.0, 0.0, 200.0]))
    assert float(found[0]) == pytest.approx(0.0, abs=1e-9)
    # 200 m ahead at 250 deg is 200 cos(250 deg) to the north. UTM grid north is 0.73 deg off here.
    assert float(found[1]) == pytest.approx(0.1 * 200.0 * math.cos(math.radians(250.0)), abs=0.3)
    assert float(found[2]) == pytest.approx(0.1 * 200.0 * math.cos(math.radians(340.0)), abs=0.3)


def test_many_points_are_placed_by_a_net_to_millimetres() -> None:
    ahead, right = np.meshgrid(np.linspace(-2990, 2990, 29), np.linspace(-2990, 2990, 29))
    for ground in (GROUND, Ground(Spot(70.0, 179.99), 1.0)):
        latitude, longitude = terrain._spots(ground, ahead, right)
        x, y = to_launch(ground, latitude, longitude)
        assert np.hypot(x - ahead, y - right).max() < 0.02
        assert np.abs(longitude).max() <= 180.0


def test_gaps_and_what_lies_outside_have_no_height(tmp_path: Path) -> None:
    heights = cells()
    heights[100:120] = -9999.0
    model = read_height_model(made(tmp_path / "a.tif", heights, nodata=-9999.0), GROUND)
    found = model.height_m([47.0, 47.009, 47.5, -10.0], [8.0, 8.0, 8.0, 8.0])
    assert np.ma.getmaskarray(found).tolist() == [False, True, True, True]


def test_not_a_number_is_a_gap(tmp_path: Path) -> None:
    heights = cells()
    heights[0:150] = np.nan
    model = read_height_model(made(tmp_path / "a.tif", heights), GROUND)
    assert np.ma.getmaskarray(model.height_m([47.0, 47.012], [8.0, 8.0])).tolist() == [False, True]


def test_only_what_is_near_is_read(tmp_path: Path) -> None:
    wide = from_origin(7.8, 47.2, 1e-3, 1e-3)
    model = read_height_model(made(tmp_path / "a.tif", cells(), wide), GROUND)
    assert model.cells_m.shape[0] < 90
    assert model.cells_m.shape[1] < 130
    assert np.ma.is_masked(model.height_m(47.1, 8.0))


def refused(file: Path) -> str:
    with pytest.raises(InputError) as found:
        read_height_model(file, GROUND)
    (problem,) = found.value.problems
    assert problem.file == str(file)
    assert problem.cure
    return problem.message


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"crs": None}, "says nothing about where on the earth"),
        ({"where": Affine.identity()}, "says nothing about where on the earth"),
        ({"crs": None, "where": Affine.identity()}, "says nothing about where on the earth"),
        ({"heights": np.stack([cells(), cells()])}, "has 2 bands"),
        ({"heights": cells(base_m=20_000.0)}, "not on the earth, 19990"),
        ({"heights": cells(base_m=-32_768.0)}, "not on the earth"),
        ({"where": from_origin(9.0, 47.02, 1e-4, 1e-4)}, "does not reach the launch point"),
        ({"where": from_origin(8.001, 47.02, 1e-4, 1e-4)}, "has no height at the launch point"),
        ({"heights": cells().astype(np.complex64)}, "complex64 numbers"),
        ({"crs": 'LOCAL_CS["a yard",UNIT["metre",1]]'}, "reference system that cannot be turned"),
    ],
)  # fmt: skip
def test_models_that_cannot_be_used(tmp_path: Path, more: dict[str, Any], words: str) -> None:
    made(tmp_path / "a.tif", more.pop("heights", cells()), **more)
    assert words in refused(tmp_path / "a.tif")


def test_feet_are_refused(tmp_path: Path) -> None:
    file = made(tmp_path / "a.tif", cells())
    with rasterio.open(file, "r+") as data:
        data.units = ("ft",)
    assert refused(file) == "gives heights in ft"


@pytest.mark.parametrize("content", [b"", b"not a picture", b"II*\x00\x08\x00\x00\x00"])
def test_what_is_no_tiff(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "a.tif"
    file.write_bytes(content)
    assert "is no GeoTIFF" in refused(file)


@pytest.mark.parametrize("share", [0.02, 0.4, 0.7])
def test_a_file_cut_short(tmp_path: Path, share: float) -> None:
    file = made(tmp_path / "a.tif", cells())
    file.write_bytes(file.read_bytes()[: int(share * file.stat().st_size)])
    assert "is no GeoTIFF that can be read to its end" in refused(file)


def test_limits_and_missing_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "cannot be read: No such file" in refused(tmp_path / "none.tif")
    file = made(tmp_path / "a.tif", cells())
    monkeypatch.setattr(terrain, "MOST_CELLS", 1000)
    assert "cells within 3 km of the launch" in refused(file)
    monkeypatch.setattr(terrain, "MOST_BYTES", 1000)
    assert "is larger than" in refused(file)


def test_without_the_library_the_extra_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plain = builtins.__import__

    def without(name: str, *rest: Any) -> Any:
        if name.startswith("rasterio"):
            raise ImportError(name)
        return plain(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError, match=r"pip install overarm\[terrain\]"):
        read_height_model(tmp_path / "a.tif", GROUND)


def test_the_surface_of_a_setup(tmp_path: Path) -> None:
    made(tmp_path / "ground.tif", cells())
    text = replaced(
        BASE,
        "site:\n",
        "site:\n  launch_point: {latitude: 47 deg, longitude: 8 deg}\n  launch_direction: 250 deg\n"
        "  height_model: ground.tif\n",
    )
    surface = surface_of(overarm.load(written(tmp_path, text)))
    ahead, right = np.linspace(-1000.0, 4000.0, 501), np.zeros(501)
    found = surface(ahead, right)
    assert np.isnan(found[ahead > 3000.0]).all()
    few = surface(ahead[:5], right[:5])
    latitude, longitude = to_spots(GROUND, ahead[:5], right[:5])
    column, row = (longitude - 8.0) / 1e-4, (47.0 - latitude) / 1e-4
    assert few == pytest.approx(0.05 * column - 0.025 * row, abs=1e-3)
    assert found[:5] == pytest.approx(few, abs=1e-3)
    with pytest.raises(InputError, match="has no height model"):
        surface_of(overarm.load(written(tmp_path, BASE)))

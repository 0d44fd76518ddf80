"""Heights of the ground, or of what stands on it, from a GeoTIFF height model.

Read by rasterio, the optional extra "terrain". Only what lies near the launch is read. Heights count
from the model's own height at the launch point, so that the datum of the model does not matter.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from overarm.describe.outlines import ground_of
from overarm.earth import Ground, to_spots
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

Floats = NDArray[np.float64]
Heights = np.ma.MaskedArray[Any, np.dtype[np.float64]]

MOST_BYTES = 2_000_000_000
MOST_CELLS = 40_000_000
REACH_M = 3_000.0
# Between the shore of the Dead Sea and the top of the highest mountain, with room for any datum.
LOWEST_M, HIGHEST_M = -600.0, 9_000.0
METRES = ("", "m", "metre", "metres", "meter", "meters")
# Spots are worked out at the knots of a net and are linear between: under 2 cm off, see the test.
NET_KNOTS = 21
# Nearer to a pole longitudes turn too fast for that.
NET_LATITUDE_DEG = 80.0
WGS_84 = "EPSG:4326"


@dataclass(frozen=True, slots=True)
class HeightModel:
    """The part of a height model around the launch."""

    file: str
    system: Any  # reference system of the columns and rows
    to_cell: tuple[float, ...]  # affine: from coordinates of the system to column and row of `cells_m`
    cells_m: NDArray[np.float32]  # (rows, columns); NaN where it holds no height

    def height_m(self, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> Heights:
        """Return the heights at spots, bilinear between the middles of cells [m, the model's own datum].

        Masked outside the part that was read, and beside a cell without a height.
        """
        from rasterio.warp import transform

        latitude, longitude = np.broadcast_arrays(
            np.asarray(latitude_deg, float), np.asarray(longitude_deg, float)
        )
        x, y = transform(WGS_84, self.system, longitude.reshape(-1), latitude.reshape(-1))
        found = self._at(np.asarray(x), np.asarray(y))
        return found.reshape(latitude.shape)

    def _at(self, x: Floats, y: Floats) -> Heights:
        a, b, c, d, e, f = self.to_cell
        rows, columns = self.cells_m.shape
        known = np.isfinite(x) & np.isfinite(y)
        x, y = np.where(known, x, 0.0), np.where(known, y, 0.0)
        across, down = a * x + b * y + c, d * x + e * y + f
        known &= (across >= 0.0) & (across <= columns) & (down >= 0.0) & (down <= rows)
        across = np.clip(np.where(known, across, 0.0) - 0.5, 0.0, columns - 1.0)
        down = np.clip(np.where(known, down, 0.0) - 0.5, 0.0, rows - 1.0)
        left, top = np.floor(across).astype(np.intp), np.floor(down).astype(np.intp)
        right, below = np.minimum(left + 1, columns - 1), np.minimum(top + 1, rows - 1)
        u, v = across - left, down - top
        cells = self.cells_m
        corners = [cells[i, j].astype(float) for i in (top, below) for j in (left, right)]
        weights = [(1.0 - v) * (1.0 - u), (1.0 - v) * u, v * (1.0 - u), v * u]
        # A cell that takes no part may be without a height.
        parts = [np.where(w > 0.0, w * h, 0.0) for w, h in zip(weights, corners, strict=True)]
        height = np.sum(parts, axis=0)
        known &= np.isfinite(height)
        return np.ma.MaskedArray(np.where(known, height, 0.0), mask=~known)


def read_height_model(file: Path, ground: Ground) -> HeightModel:
    """Return the part of a GeoTIFF within 3 km of the launch.

    Raises
    ------
    InputError
        Without the library; for what is no GeoTIFF, is damaged or too large, has several bands, no
        reference system, heights that are not metres or cannot be, or does not reach the launch.
    """
    try:
        import rasterio
    except ImportError:
        message = "a height model cannot be read without the library rasterio"
        cure = "Install it: pip install overarm[terrain]"
        raise InputError([Problem(message, cure, str(file), key="site.height_model")]) from None
    _check_size(file)
    with rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR"), _told(file):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
            opened = rasterio.open(file, driver="GTiff")
        with opened as data:
            _check_form(file, data)
            model = _around(file, data, ground)
    heights = model.cells_m[np.isfinite(model.cells_m)]
    if heights.size and not (float(heights.min()) >= LOWEST_M and float(heights.max()) <= HIGHEST_M):
        which = f"{float(heights.min()):g} to {float(heights.max()):g} m"
        cure = "Say in the file which value marks cells without a height, and give heights in metres"
        raise _wrong(file, f"holds heights that are not on the earth, {which}", cure)
    if np.ma.is_masked(model.height_m(*ground.launch)):
        cure = "Take a model that holds heights there, or correct site.launch_point"
        raise _wrong(file, "has no height at the launch point", cure)
    return model


def _wrong(file: Path, message: str, cure: str) -> InputError:
    return InputError([Problem(message, cure, str(file))])


@contextmanager
def _told(file: Path) -> Iterator[None]:
    """Turn what the library finds wrong into an error with file and cure."""
    from rasterio.errors import RasterioError

    try:
        yield
    except (RasterioError, ValueError, MemoryError, OverflowError):
        cure = "Save it again as a GeoTIFF"
        raise _wrong(file, "is no GeoTIFF that can be read to its end", cure) from None


def _check_size(file: Path) -> None:
    try:
        size = file.stat().st_size
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "that is no name of a file"
        raise _wrong(file, f"cannot be read: {reason}", "Give a GeoTIFF file") from None
    if size > MOST_BYTES:
        message = f"is larger than {MOST_BYTES / 1e9:.0f} GB"
        raise _wrong(file, message, "Cut out a few kilometres around the launch")


def _check_form(file: Path, data: Any) -> None:
    """Refuse what is not one band of metres at a place on the earth."""
    if data.count != 1:
        raise _wrong(file, f"has {data.count} bands", "Give a file with one band: the heights")
    if data.crs is None or data.transform.is_identity or data.transform.is_degenerate:
        message = "says nothing about where on the earth it lies"
        raise _wrong(file, message, "Save it with its reference system and its corner")
    if not (data.crs.is_geographic or data.crs.is_projected):
        message = "has a reference system that cannot be turned into latitude and longitude"
        raise _wrong(file, message, "Save it in a known system, such as UTM or WGS 84")
    unit = str(data.units[0] or "").strip().lower()
    if unit not in METRES:
        raise _wrong(file, f"gives heights in {unit}", "Save it with heights in metres")
    if np.dtype(data.dtypes[0]).kind not in "iuf":
        raise _wrong(file, f"holds {data.dtypes[0]} numbers", "Save it with plain numbers")


def _around(file: Path, data: Any, ground: Ground) -> HeightModel:
    """Return the cells within reach of the launch."""
    from rasterio.warp import transform
    from rasterio.windows import Window

    ends = np.array([-REACH_M, 0.0, REACH_M])
    latitude, longitude = to_spots(ground, *(part.reshape(-1) for part in np.meshgrid(ends, ends)))
    x, y = (np.asarray(part) for part in transform(WGS_84, data.crs, longitude, latitude))
    missing = "does not reach the launch point"
    cure = "Take a model of the place, or correct site.launch_point"
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise _wrong(file, missing, cure)
    a, b, c, d, e, f = tuple(~data.transform)[:6]
    across, down = a * x + b * y + c, d * x + e * y + f
    left, right = max(0, int(across.min()) - 1), min(data.width, int(across.max()) + 2)
    top, below = max(0, int(down.min()) - 1), min(data.height, int(down.max()) + 2)
    if left >= right or top >= below:
        raise _wrong(file, missing, cure)
    if (right - left) * (below - top) > MOST_CELLS:
        count = f"{(right - left) * (below - top):,} cells within {REACH_M / 1000:.0f} km of the launch"
        raise _wrong(file, f"has {count}", "Make it coarser: cells of 1 m are enough")
    window = Window(left, top, right - left, below - top)
    read = data.read(1, window=window, masked=True)
    cells = np.ma.filled(read.astype(np.float32), np.float32("nan"))
    return HeightModel(str(file), data.crs, (a, b, c - left, d, e, f - top), cells)


def _over_launch(model: HeightModel, ground: Ground, ahead_m: Floats, right_m: Floats) -> Heights:
    """Return heights over the ground at the launch [m] at points of the launch frame."""
    start_m = float(model.height_m(*ground.launch))
    found = model.height_m(*_spots(ground, ahead_m, right_m))
    beyond = (np.abs(ahead_m) > REACH_M) | (np.abs(right_m) > REACH_M)
    return np.ma.MaskedArray(found.filled(start_m) - start_m, mask=np.ma.getmaskarray(found) | beyond)


def _spots(ground: Ground, ahead_m: Floats, right_m: Floats) -> tuple[Floats, Floats]:
    """Return the spots of many points within reach, by a net."""
    if abs(ground.launch.latitude_deg) > NET_LATITUDE_DEG or ahead_m.size <= NET_KNOTS**2:
        return to_spots(ground, ahead_m, right_m)
    from scipy.ndimage import map_coordinates

    knots = np.linspace(-REACH_M, REACH_M, NET_KNOTS)
    latitude, longitude = to_spots(ground, *np.meshgrid(knots, knots, indexing="ij"))
    turned = (longitude - ground.launch.longitude_deg + 180.0) % 360.0 - 180.0
    places = [(part + REACH_M) * ((NET_KNOTS - 1) / (2.0 * REACH_M)) for part in (ahead_m, right_m)]
    at = [map_coordinates(part, places, order=1, mode="nearest") for part in (latitude, turned)]
    return at[0], (at[1] + ground.launch.longitude_deg + 180.0) % 360.0 - 180.0


def surface_of(setup: Setup) -> Callable[[Floats, Floats], Floats]:
    """Return the heights of a setup's height model as a function of ahead and right [m].

    Returns
    -------
    function
        Heights over the ground at the launch [m]; NaN where the model holds none.

    Raises
    ------
    InputError
        For a setup without a height model or a place, and for a file that cannot be used.
    """
    file, ground = setup.site.height_model, ground_of(setup)
    if file is None or ground is None:
        cure = "Give site.height_model, site.launch_point and site.launch_direction"
        raise InputError([Problem("the site has no height model", cure)])
    model = read_height_model(file, ground)

    def heights_m(ahead_m: Floats, right_m: Floats) -> Floats:
        found = _over_launch(model, ground, np.asarray(ahead_m, float), np.asarray(right_m, float))
        return np.asarray(found.filled(np.nan))

    return heights_m

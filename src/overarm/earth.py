"""The earth: spots by latitude and longitude, and the launch frame on the ground.

Everything here is on the ellipsoid WGS 84, heights left out. The launch frame is laid on it by the
azimuthal equidistant projection about the point of launch: distance and bearing from the launch are
true, so that a spot 1 km away is placed to better than a millimetre.

Source: C. F. F. Karney, *Algorithms for geodesics*, J. Geodesy 87 (2013) 43-55,
doi:10.1007/s00190-012-0578-z, by the library GeographicLib.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class Spot(NamedTuple):
    """A place on the earth, WGS 84; north and east are positive."""

    latitude_deg: float
    longitude_deg: float


class Ground(NamedTuple):
    """Where the launch frame lies: its origin, and the true bearing of the launch line."""

    launch: Spot
    direction_rad: float  # clockwise from true north


def to_spots(ground: Ground, ahead_m: ArrayLike, right_m: ArrayLike) -> tuple[Floats, Floats]:
    """Return where points of the launch frame lie on the earth.

    Parameters
    ----------
    ground : Ground
    ahead_m, right_m : array_like
        Along the launch line and to its right [m]; broadcast against each other.

    Returns
    -------
    latitude_deg, longitude_deg : arrays
        Longitudes within -180 to 180.

    Equation: geodesic of length ``hypot(ahead, right)`` at the bearing ``direction + atan2(right,
    ahead)``. Source: Karney (2013), direct problem.
    """
    from geographiclib.geodesic import Geodesic

    ahead, right = np.broadcast_arrays(np.asarray(ahead_m, float), np.asarray(right_m, float))
    latitude, longitude = np.empty(ahead.shape), np.empty(ahead.shape)
    asked = Geodesic.LATITUDE | Geodesic.LONGITUDE
    start, turned = ground.launch, ground.direction_rad
    for k in np.ndindex(ahead.shape):
        x, y = float(ahead[k]), float(right[k])
        bearing = math.degrees(turned + math.atan2(y, x))
        found = Geodesic.WGS84.Direct(*start, bearing, math.hypot(x, y), asked)
        latitude[k], longitude[k] = found["lat2"], found["lon2"]
    return latitude, longitude


def to_launch(ground: Ground, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> tuple[Floats, Floats]:
    """Return where spots lie in the launch frame.

    Parameters
    ----------
    ground : Ground
    latitude_deg, longitude_deg : array_like
        Broadcast against each other; longitudes may go round the earth either way.

    Returns
    -------
    ahead_m, right_m : arrays
        Along the launch line and to its right [m].

    Equation: ``s cos(azimuth - direction)``, ``s sin(azimuth - direction)`` with length s and azimuth
    of the geodesic from the launch. Source: Karney (2013), inverse problem.
    """
    latitude, longitude = np.broadcast_arrays(
        np.asarray(latitude_deg, float), np.asarray(longitude_deg, float)
    )
    ahead, right = np.empty(latitude.shape), np.empty(latitude.shape)
    for k in np.ndindex(latitude.shape):
        spot = Spot(float(latitude[k]), float(longitude[k]))
        length, azimuth = distance_bearing(ground.launch, spot)
        ahead[k] = length * math.cos(azimuth - ground.direction_rad)
        right[k] = length * math.sin(azimuth - ground.direction_rad)
    return ahead, right


def distance_bearing(a: Spot, b: Spot) -> tuple[float, float]:
    """Return length [m] and bearing at the first spot [rad, clockwise from true north, 0 to 2 pi].

    Source: Karney (2013), inverse problem.
    """
    from geographiclib.geodesic import Geodesic

    found = Geodesic.WGS84.Inverse(*a, *b, Geodesic.DISTANCE | Geodesic.AZIMUTH)
    return found["s12"], math.radians(found["azi1"]) % (2.0 * math.pi)

"""Obstacles as GeoJSON."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from fuzz.door import given
from overarm.describe.obstacle_file import read_obstacles
from overarm.earth import Ground, Spot

LONGEST = 2_048
GROUND = Ground(Spot(47.0, 8.0), math.radians(20.0))
WORDS = (
    b'"type": ', b'"FeatureCollection"', b'"Feature"', b'"Polygon"', b'"MultiPolygon"', b'"LineString"',
    b'"Point"', b'"MultiPoint"', b'"GeometryCollection"', b'"geometries"', b'"coordinates": ',
    b"[8.0, 47.001]", b'"height": ', b'"40 ft"', b'"width": ', b'"name": ', b'"crs"', b'"bbox"', b"null",
    b"NaN", b"1e999", b"[[[[", b"\\ud800",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return files with each kind of geometry."""
    ring = b"[[8.0,47.001],[8.001,47.001],[8.001,47.0014],[8.0,47.0014],[8.0,47.001]]"
    one = (
        b'{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"wood","height":%s},'
    )
    made = []
    for kind, places in (
        (b"Polygon", b"[" + ring + b"]"),
        (b"MultiPolygon", b"[[" + ring + b"]]"),
        (b"LineString", b"[[8.0,47.001],[8.001,47.001]]"),
        (b"Point", b"[8.0,47.001]"),
    ):
        made.append(one % b"12" + b'"geometry":{"type":"%s","coordinates":%s}}]}' % (kind, places))
    return [*made, made[3].replace(b'"height":12', b'"height":"40 ft","width":"3 m"')]


def run(data: bytes) -> None:
    """Read them as seen from a launch."""

    def read(file: Path) -> tuple[object, ...]:
        return read_obstacles(file, GROUND)

    for shape in given(read, data, "trees.geojson") or ():
        for part in shape:
            assert not isinstance(part, float | np.ndarray) or np.isfinite(part).all()

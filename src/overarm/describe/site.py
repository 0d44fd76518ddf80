"""The site card: ground, obstacles, ceiling."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, model_validator

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.units import ANGLE, LENGTH

# Roughness lengths of the neutral log law, domain practice and European Wind Atlas classes.
ROUGHNESS = {
    "short grass": "0.01 m",
    "meadow": "0.03 m",
    "crops": "0.1 m",
    "hedges": "0.2 m",
    "trees": "0.5 m",
}


class Obstacle(Card):
    """Something to climb over."""

    name: str = Field(max_length=200, description="What it is.")
    distance_m: Quantity = amount(
        "distance",
        LENGTH,
        (1.0, 5000.0),
        "From the point of release; along the launch line unless an angle is given.",
    )
    height_m: Quantity = amount("height", LENGTH, (0.1, 300.0), "Top above the ground at the launch.")
    angle_rad: Quantity = amount(
        "angle",
        ANGLE,
        (-math.pi, math.pi),
        "Where it is: 0 ahead, 90 deg to the right, 180 deg behind.",
        default="0 deg",
        source="on the launch line",
    )
    width_m: Quantity | None = optional_amount(
        "width",
        LENGTH,
        (0.1, 5000.0),
        "Across the line of sight to it; left out: without an end, as a hedge line.",
    )


# A full turn typed in degrees may be rounded up by a last bit.
_LAST_BIT = 1e-9


class LaunchPoint(Card):
    """Where on the earth the launch is, WGS 84."""

    latitude_rad: Quantity = amount(
        "latitude",
        ANGLE,
        (-0.5 * math.pi - _LAST_BIT, 0.5 * math.pi + _LAST_BIT),
        "North is positive, south negative.",
    )
    longitude_rad: Quantity = amount(
        "longitude",
        ANGLE,
        (-math.pi - _LAST_BIT, math.pi + _LAST_BIT),
        "East is positive, west negative.",
    )


class Site(Card):
    """Where the launch happens."""

    place: str = Field(default="", max_length=500, description="The place in your own words.")
    ground: Literal["short grass", "meadow", "crops", "hedges", "trees"] = Field(
        default="meadow", description="What the wind blows over."
    )
    roughness_m: Quantity = amount(
        "roughness",
        LENGTH,
        (1e-4, 2.0),
        "Roughness length; from ground if left out.",
        default="0.03 m",
        source="meadow",
    )
    elevation_m: Quantity = amount(
        "elevation",
        LENGTH,
        (-400.0, 6000.0),
        "Height of the field above the sea.",
        default="0 m",
        source="sea level",
    )
    legal_ceiling_m: Quantity = amount(
        "legal_ceiling",
        LENGTH,
        (10.0, 1000.0),
        "Height above the ground that your rules allow.",
        default="120 m",
        source="(EU) 2019/947 article 4; ask what your rules say",
    )
    obstacles: tuple[Obstacle, ...] = Field(
        default=(), max_length=50, description="Things to climb over.", strict=False
    )
    launch_point: LaunchPoint | None = None
    launch_direction_rad: Quantity | None = optional_amount(
        "launch_direction",
        ANGLE,
        (0.0, 2.0 * math.pi + _LAST_BIT),
        "True bearing of the launch line: 0 north, 90 deg east.",
    )
    obstacle_file: Path | None = Field(
        default=None,
        description="GeoJSON file with more obstacles, beside the setup; needs launch_point and "
        "launch_direction.",
        strict=False,
    )
    height_model: Path | None = Field(
        default=None,
        description="GeoTIFF file with the heights of the ground, beside the setup; needs launch_point and "
        "launch_direction.",
        strict=False,
    )

    @model_validator(mode="before")
    @classmethod
    def _roughness_of_ground(cls, raw: Any) -> Any:
        ground = raw.get("ground", "meadow") if isinstance(raw, dict) else None
        if not isinstance(ground, str) or ground not in ROUGHNESS or "roughness" in raw:
            return raw
        return {**raw, "roughness": f"{ROUGHNESS[ground]} default"}

"""The site card: ground, obstacles, ceiling."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, model_validator

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount
from overarm.units import LENGTH

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
        "distance", LENGTH, (1.0, 5000.0), "Along the launch line from the point of release."
    )
    height_m: Quantity = amount("height", LENGTH, (0.1, 300.0), "Top above the ground at the launch.")


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

    @model_validator(mode="before")
    @classmethod
    def _roughness_of_ground(cls, raw: Any) -> Any:
        ground = raw.get("ground", "meadow") if isinstance(raw, dict) else None
        if not isinstance(ground, str) or ground not in ROUGHNESS or "roughness" in raw:
            return raw
        return {**raw, "roughness": f"{ROUGHNESS[ground]} default"}

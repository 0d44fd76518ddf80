"""The day card: wind, air, and the state of the pack."""

from __future__ import annotations

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.units import ANGLE, LENGTH, NOTHING, PRESSURE, SPEED, TEMPERATURE, VOLTAGE


class Day(Card):
    """The air and the pack at the time of the launch."""

    wind_mps: Quantity = amount(
        "wind", SPEED, (-15.0, 25.0), "Mean wind at wind_height.", spreads=("0.5 m/s", "1.5 m/s")
    )
    wind_height_m: Quantity = amount(
        "wind_height", LENGTH, (0.5, 100.0), "Height at which it was measured; a forecast is for 10 m."
    )
    wind_angle_rad: Quantity = amount(
        "wind_angle",
        ANGLE,
        (-3.2, 3.2),
        "Where it comes from: 0 ahead, 90 deg from the right, 180 deg from behind.",
        spreads=("10 deg", "25 deg"),
        default="0 deg",
        source="into the wind",
    )
    gust_scale: Quantity = amount(
        "gust_scale",
        NOTHING,
        (0.0, 3.0),
        "Gusts over those of MIL-F-8785C.",
        spreads=("20 %", "30 %"),
        default="1.0",
        source="MIL-F-8785C",
    )
    temperature_k: Quantity = amount(
        "temperature", TEMPERATURE, (230.0, 325.0), "Air temperature.", default="15 C", source="ISO 2533"
    )
    pressure_pa: Quantity | None = optional_amount(
        "pressure",
        PRESSURE,
        (45000.0, 110000.0),
        "Air pressure at the field; from the elevation if left out.",
    )
    pack_volts_v: Quantity | None = optional_amount(
        "pack_volts",
        VOLTAGE,
        (2.5, 70.0),
        "Whole pack at rest; a full pack if left out.",
        spreads=("0.5 %", "2 %"),
    )
    pack_temperature_k: Quantity = amount(
        "pack_temperature",
        TEMPERATURE,
        (250.0, 335.0),
        "Pack temperature.",
        default="25 C",
        source="warm pack",
    )

"""The power card: motor, controller, propeller, pack."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from overarm.describe.card import Card
from overarm.describe.quantity import Quantity, amount, optional_amount
from overarm.units import (
    ANGLE,
    CHARGE,
    CURRENT,
    FORCE,
    KV,
    LENGTH,
    LONGEST_TEXT,
    MASS,
    NUMBER,
    PER_TIME,
    RESISTANCE,
    ROTATION,
    SHARE,
    TIME,
    VOLTAGE,
    UnitError,
    to_si,
)

ESTIMATE = "own estimate"
DIAMETER_M, PITCH_M = (0.05, 1.0), (0.01, 1.0)
STEEPEST_PITCH = 1.3  # of the diameter; common practice, no source
_SIZE = re.compile(rf"^\s*({NUMBER})\s*[xX]\s*({NUMBER})\s*([A-Za-z]+)\s*$")


@dataclass(frozen=True, slots=True)
class PropellerSize:
    """Diameter and nominal pitch."""

    diameter_m: Quantity
    pitch_m: Quantity

    @classmethod
    def read(cls, text: object) -> PropellerSize:
        """Return the size that was written, such as "9x6 in"; raises UnitError with the cure."""
        if isinstance(text, PropellerSize):
            return text
        match = _SIZE.match(text) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
        if match is None:
            raise UnitError('is not a propeller size; write for example "9x6 in"')
        parts = []
        for number, name, limits in ((match[1], "diameter", DIAMETER_M), (match[2], "pitch", PITCH_M)):
            written = f"{number} {match[3]}"
            value = to_si(written, LENGTH)
            if not limits[0] <= value <= limits[1]:
                asked = "write diameter x pitch, for example 9x6 in"
                raise UnitError(f"has a {name} outside {limits[0]:g} to {limits[1]:g} m; {asked}")
            parts.append(Quantity(value, 0.0, "lognormal", "measured", written))
        if parts[1].value > STEEPEST_PITCH * parts[0].value:
            turned = f"{match[2]}x{match[1]} {match[3]}"
            raise UnitError(
                f"has a pitch above {STEEPEST_PITCH:g} of the diameter (did you swap them?); "
                f"write diameter x pitch, perhaps {turned}"
            )
        return cls(*parts)


# How well static thrust and torque are known: computed, and behind a bench test. Own estimates.
UNTESTED_THRUST_SD = 0.20
UNTESTED_TORQUE_SD = 0.15
TESTED_TORQUE_SD = 0.05


class Reading(Card):
    """One line of a bench test."""

    throttle_share: Quantity = amount("throttle", SHARE, (0.02, 1.0), "Throttle.")
    pull_n: Quantity = amount("pull", FORCE, (0.01, 500.0), "Pull on the scale.", spreads=("4 %", "8 %"))
    current_a: Quantity | None = optional_amount(
        "current", CURRENT, (0.01, 300.0), "Current from the pack.", spreads=("3 %", "5 %")
    )
    volts_v: Quantity | None = optional_amount(
        "volts", VOLTAGE, (1.0, 100.0), "Volts of the pack under load.", spreads=("1 %", "2 %")
    )
    rpm: Quantity | None = optional_amount(
        "rpm", ROTATION, (100.0, 100000.0), "Speed of rotation.", spreads=("1 %", "2 %")
    )


class Power(Card):
    """The drive, from pack to propeller."""

    position: Literal["pusher", "tractor"] = Field(
        description="Propeller behind the hand (pusher) or ahead of it (tractor)."
    )
    turning: Literal["clockwise", "anticlockwise"] = Field(
        default="clockwise", description="As seen from behind."
    )
    propeller: PropellerSize = Field(description='Diameter x pitch, such as "9x6 in".')
    blades: int = Field(default=2, ge=2, le=6, description="Number of blades.")
    propeller_mass_kg: Quantity = amount(
        "propeller_mass", MASS, (0.0005, 0.5), "Mass of the propeller.", spreads=("5 %", "20 %")
    )
    coefficient_table: Path | None = Field(
        default=None,
        description="CSV file of your own with columns J, CT, CP, beside the setup.",
        strict=False,
    )
    kv_radps_per_v: Quantity = amount(
        "kv", KV, (5.0, 2000.0), "Speed per volt of the motor.", spreads=("2 %", "4 %")
    )
    motor_resistance_ohm: Quantity = amount(
        "motor_resistance", RESISTANCE, (0.001, 2.0), "Winding resistance.", spreads=("10 %", "25 %")
    )
    no_load_current_a: Quantity = amount(
        "no_load_current", CURRENT, (0.02, 20.0), "Current without a propeller.", spreads=("10 %", "25 %")
    )
    motor_mass_kg: Quantity = amount(
        "motor_mass", MASS, (0.003, 2.0), "Mass of the motor.", spreads=("2 %", "10 %")
    )
    rotor_radius_m: Quantity = amount(
        "rotor_radius", LENGTH, (0.003, 0.1), "Radius of the turning part.", spreads=("3 %", "10 %")
    )
    controller_resistance_ohm: Quantity = amount(
        "controller_resistance",
        RESISTANCE,
        (0.0, 0.2),
        "Resistance of the controller and its leads.",
        default="0 mohm",
        source="counted with the motor",
    )
    dead_band_share: Quantity = amount(
        "dead_band", SHARE, (0.0, 0.3), "Throttle below which nothing turns.", default="6 %", source=ESTIMATE
    )
    start_delay_s: Quantity = amount(
        "start_delay",
        TIME,
        (0.01, 2.0),
        "From the first throttle to the first turn, median.",
        spreads=("0.03 s", "0.05 s"),
        default="0.15 s",
        source=ESTIMATE,
    )
    start_delay_scatter: Quantity = amount(
        "start_delay_scatter",
        SHARE,
        (0.0, 1.5),
        "How the start delay scatters from start to start, as a share.",
        default="35 %",
        source=ESTIMATE,
    )
    soft_rise_per_s: Quantity = amount(
        "soft_rise",
        PER_TIME,
        (0.2, 100.0),
        "Fastest rise that the controller itself allows.",
        default="500 %/s",
        source=ESTIMATE,
    )
    cells: int = Field(ge=1, le=14, description="Cells in series.")
    capacity_ah: Quantity = amount(
        "capacity", CHARGE, (0.05, 60.0), "Capacity of the pack.", spreads=("3 %", "5 %")
    )
    pack_resistance_ohm: Quantity = amount(
        "pack_resistance",
        RESISTANCE,
        (0.0005, 1.0),
        "Resistance of the whole pack, warm.",
        spreads=("15 %", "50 %"),
    )
    regulator_floor_v: Quantity = amount(
        "regulator_floor",
        VOLTAGE,
        (1.0, 60.0),
        "Pack voltage below which the autopilot may reset.",
        default="6 V",
        source=ESTIMATE,
    )
    thrust_line_height_m: Quantity = amount(
        "thrust_line_height",
        LENGTH,
        (-0.3, 0.3),
        "Thrust line above the balance point.",
        spreads=("3 mm", "8 mm"),
        default="0 mm",
        source="through the balance point",
    )
    thrust_line_tilt_rad: Quantity = amount(
        "thrust_line_tilt", ANGLE, (-0.3, 0.3), "Thrust line tilted up.", default="0 deg", source="straight"
    )
    bench: tuple[Reading, ...] = Field(default=(), description="Readings of a bench test.", strict=False)

    @field_validator("propeller", mode="before")
    @classmethod
    def _size(cls, raw: Any) -> Any:
        try:
            return PropellerSize.read(raw)
        except UnitError as error:
            raise PydanticCustomError("amount", "{reason}", {"reason": str(error)}) from error

    def thrust_scale(self) -> Quantity:
        """How well the pull is known: as the bench reading at the highest throttle, 20 % without one."""
        if not self.bench:
            return Quantity(1.0, UNTESTED_THRUST_SD, "lognormal", "default", "estimate")
        pull = max(self.bench, key=lambda reading: reading.throttle_share.value).pull_n
        return Quantity(1.0, pull.spread / pull.value, "lognormal", pull.known, pull.text)

    def torque_scale(self) -> Quantity:
        """How well the shaft torque is known: 5 % with a bench test, 15 % without."""
        if not self.bench:
            return Quantity(1.0, UNTESTED_TORQUE_SD, "lognormal", "default", "estimate")
        return Quantity(1.0, TESTED_TORQUE_SD, "lognormal", "measured", "bench")

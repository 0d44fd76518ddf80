"""Units at the door: read what a person types, give back SI numbers, and print them again.

Parsing is done by the library pint; this file adds what a builder writes that pint does not read
("%", "m/s2", "C" for degrees Celsius, "kt", "gf") and errors that say what would be right.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_AMOUNT = re.compile(rf"^\s*({NUMBER})\s*(.*?)\s*$")
# What builders write, and what pint reads.
_SPELLINGS = (
    (re.compile(r"%"), " percent "),
    (re.compile(r"°C|\bdegC\b|\bC\b"), "degC"),
    (re.compile(r"°F|\bdegF\b"), "degF"),
    (re.compile(r"°"), "deg"),
    (re.compile(r"\bkts?\b|\bkn\b"), "knot"),
    (re.compile(r"\bgf\b"), "gram_force"),
    (re.compile(r"\bkgf\b"), "kilogram_force"),
    (re.compile(r"(?<=[A-Za-z])([234])\b"), r"**\1"),
    (re.compile(r"²"), "**2"),
    (re.compile(r"Ω"), "ohm"),
    (re.compile(r"\bmohm\b"), "milliohm"),
)


class UnitError(ValueError):
    """Text that is not an amount of the right kind; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its name, SI unit, and an example as a builder would write it."""

    name: str
    si: str
    example: str


NOTHING = Dimension("plain number", "", "0.95")
MASS = Dimension("mass", "kg", "640 g")
LENGTH = Dimension("length", "m", "280 mm")
AREA = Dimension("area", "m**2", "21 dm2")
ANGLE = Dimension("angle", "rad", "12 deg")
TIME = Dimension("time", "s", "0.6 s")
SPEED = Dimension("speed", "m/s", "18 km/h")
ACCELERATION = Dimension("acceleration", "m/s**2", "8 m/s2")
TURN_RATE = Dimension("rate of turn", "rad/s", "400 deg/s")
FREQUENCY = Dimension("frequency", "1/s", "100 Hz")
PER_TIME = Dimension("rate", "1/s", "25 %/s")
SHARE = Dimension("share", "", "95 %")
RESISTANCE = Dimension("resistance", "ohm", "40 mohm")
CURRENT = Dimension("current", "A", "1.3 A")
VOLTAGE = Dimension("voltage", "V", "16.2 V")
CHARGE = Dimension("charge", "A*hour", "4000 mAh")
KV = Dimension("speed per volt", "rad/s/V", "900 rpm/V")
ROTATION = Dimension("speed of rotation", "rpm", "12550 rpm")
FORCE = Dimension("force", "N", "15.4 N")
STIFFNESS = Dimension("stiffness", "N/m", "9.5 N/m")
INERTIA = Dimension("moment of inertia", "kg*m**2", "0.10 kg m2")
TEMPERATURE = Dimension("temperature", "kelvin", "15 C")
PRESSURE = Dimension("pressure", "Pa", "1013 hPa")


@cache
def registry() -> pint.UnitRegistry:
    """Return pint's registry; made on first use because that takes a tenth of a second."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def _spelled(unit: str) -> str:
    for pattern, better in _SPELLINGS:
        unit = pattern.sub(better, unit)
    return unit.strip()


def to_si(text: str | float, dimension: Dimension, *, difference: bool = False) -> float:
    """Return an amount in the dimension's SI unit.

    ``text`` is a number with a unit ("640 g"); a plain number is taken only for a plain number or a
    share. ``difference`` reads a temperature as a difference. Raises UnitError.
    """
    import pint

    if isinstance(text, bool):
        raise UnitError(f"is {text}, not a {dimension.name}; write for example {dimension.example}")
    match = _AMOUNT.match(text) if isinstance(text, str) else None
    if isinstance(text, str) and match is None:
        raise UnitError(f"is not a number with a unit; write for example {dimension.example}")
    number = float(match[1]) if match else float(text)
    unit = _spelled(match[2]) if match else ""
    if not math.isfinite(number):
        raise UnitError(f"is not a finite number; write for example {dimension.example}")
    if not unit:
        if dimension.si:
            raise UnitError(f"has no unit; a {dimension.name} needs one, for example {dimension.example}")
        return number
    try:
        parsed = registry().parse_units(unit)
        if difference and dimension is TEMPERATURE:
            parsed = registry().parse_units({"degC": "kelvin", "degF": "delta_degF"}.get(unit, unit))
        value = float(registry().Quantity(number, parsed).to(dimension.si or "dimensionless").magnitude)
    except pint.UndefinedUnitError as error:
        raise UnitError(f"has an unknown unit; write for example {dimension.example}") from error
    except (pint.DimensionalityError, pint.errors.PintError, AttributeError, TypeError, ValueError) as error:
        raise UnitError(f"is not a {dimension.name}; write for example {dimension.example}") from error
    if not math.isfinite(value):
        raise UnitError(f"is not a finite number; write for example {dimension.example}")
    return value


def from_si(value: float, unit: str, digits: int = 3) -> str:
    """Return an SI number of the unit's own kind in a person's unit: ``from_si(0.64, "g")`` is "640 g".

    ``digits`` are significant digits. The unit decides the dimension; the caller gives SI.
    """
    factor = registry().Quantity(1.0, _spelled(unit)).to_base_units().magnitude
    return f"{value / factor:.{digits}g} {unit}"

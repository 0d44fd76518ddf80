"""Units at the door: read what a person types, give back SI numbers, and print them again.

The library pint converts; the units below are its whole world. They are fewer than pint's own, so that
an angle is a dimension of its own (12 % is no angle, 100 Hz is no rate of turn by accident), and so
that the registry is made in a millisecond.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

LONGEST_TEXT = 80
NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_AMOUNT = re.compile(rf"({NUMBER})\s*(.*)")
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]")
# A unit is a few names with small exponents, multiplied and divided: nothing that could grow.
_FACTOR = r"(?:[A-Za-z]+|%)(?:(?:\*\*|\^)?-?[1-4])?"
_UNIT = re.compile(rf"(?:1\s*(?=/))?/?\s*{_FACTOR}(?:\s*[*/·]\s*{_FACTOR}|\s+{_FACTOR}){{0,5}}")
_SPELLINGS = (
    (re.compile(r"²"), "2"),
    (re.compile(r"³"), "3"),
    (re.compile(r"°\s*C\b|\bC\b"), "degC"),
    (re.compile(r"°\s*F\b|\bF\b"), "degF"),
    (re.compile(r"°"), "deg"),
    (re.compile("[\u00b5\u03bc]"), "u"),
    (re.compile("[\u2126\u03a9]"), "ohm"),
)
_FOR_PINT = (
    (re.compile(r"%"), "percent"),
    (re.compile(r"·"), "*"),
    (re.compile(r"(?<=[A-Za-z])(?:\*\*|\^)?(-?[1-4])\b"), r"**\1"),
)
# The unit of a difference of temperatures, by the unit of a temperature.
_STEPS = {"degree_Celsius": "kelvin", "degree_Fahrenheit": "delta_degree_Fahrenheit"}

# Sources: SI brochure (BIPM, 2019); international yard and pound (1959); ISO 80000-3 for the knot.
_DEFINITIONS = """\
micro- = 1e-6 = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
metre = [length] = m = meter
second = [time] = s = sec
gram = [mass] = g
ampere = [current] = A
kelvin = [temperature] = K
radian = [angle] = rad
percent = 0.01
minute = 60 * second = min
hour = 3600 * second = h
inch = 0.0254 * metre = in
foot = 0.3048 * metre = ft
yard = 0.9144 * metre = yd
mile = 1609.344 * metre = mi
nautical_mile = 1852 * metre = nmi
knot = nautical_mile / hour = kt = kn = kts = knots
mph = mile / hour
kph = 1000 * metre / hour = kmh
pound = 453.59237 * gram = lb = lbs
ounce = 28.349523125 * gram = oz
degree = 0.017453292519943295 * radian = deg = degrees
turn = 6.283185307179586 * radian = rev
hertz = turn / second = Hz
rpm = turn / minute
newton = 1000 * gram * metre / second ** 2 = N
gravity_acceleration = 9.80665 * metre / second ** 2 = gee
gram_force = gram * gravity_acceleration = gf
ounce_force = ounce * gravity_acceleration = ozf
pound_force = pound * gravity_acceleration = lbf
pascal = newton / metre ** 2 = Pa
bar = 1e5 * pascal
inch_of_mercury = 3386.389 * pascal = inHg
watt = newton * metre / second = W
volt = watt / ampere = V = volts
ohm = volt / ampere
ampere_hour = ampere * hour = Ah
degree_Celsius = kelvin; offset: 273.15 = degC = celsius
degree_Fahrenheit = 0.5555555555555556 * kelvin; offset: 255.3722222222222 = degF
"""


class UnitError(ValueError):
    """Text that is not an amount of the right kind; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its name, SI unit, an example as a builder would write it, and its units."""

    name: str
    si: str
    example: str
    units: str = ""

    @property
    def with_article(self) -> str:
        """Return "a mass" or "an angle"."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


NOTHING = Dimension("plain number", "", "0.95", "no unit")
MASS = Dimension("mass", "kg", "640 g", "g, kg, oz or lb")
LENGTH = Dimension("length", "m", "280 mm", "mm, cm, m, in or ft")
AREA = Dimension("area", "m**2", "21 dm2", "cm2, dm2, m2, in2 or ft2")
ANGLE = Dimension("angle", "rad", "12 deg", "deg or rad")
TIME = Dimension("time", "s", "0.6 s", "ms, s or min")
SPEED = Dimension("speed", "m/s", "18 km/h", "m/s, km/h, kt, mph or ft/s")
ACCELERATION = Dimension("acceleration", "m/s**2", "8 m/s2", "m/s2 or gee")
TURN_RATE = Dimension("rate of turn", "rad/s", "400 deg/s", "deg/s or rad/s")
FREQUENCY = Dimension("frequency", "Hz", "100 Hz", "Hz")
PER_TIME = Dimension("rate", "1/s", "25 %/s", "%/s or 1/s")
SHARE = Dimension("share", "", "95 %", "%")
RESISTANCE = Dimension("resistance", "ohm", "40 mohm", "mohm or ohm")
CURRENT = Dimension("current", "A", "1.3 A", "A or mA")
VOLTAGE = Dimension("voltage", "V", "16.2 V", "V")
CHARGE = Dimension("charge", "Ah", "4000 mAh", "mAh or Ah")
KV = Dimension("speed per volt", "rad/s/V", "900 rpm/V", "rpm/V")
ROTATION = Dimension("speed of rotation", "rpm", "12550 rpm", "rpm or Hz")
FORCE = Dimension("force", "N", "15.4 N", "N, gf, kgf, ozf or lbf")
STIFFNESS = Dimension("stiffness", "N/m", "9.5 N/m", "N/m, gf/m or lbf/ft")
INERTIA = Dimension("moment of inertia", "kg*m**2", "0.10 kg m2", "kg m2 or g cm2")
TEMPERATURE = Dimension("temperature", "kelvin", "15 C", "C, K or F")
PRESSURE = Dimension("pressure", "Pa", "1013 hPa", "hPa, Pa, bar or inHg")


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the registry of the units above."""
    import pint

    made: pint.UnitRegistry[Any] = pint.UnitRegistry(None, autoconvert_offset_to_baseunit=True)
    made.load_definitions(_DEFINITIONS.splitlines())
    return made


@cache
def _parsed(unit: str) -> pint.Unit:
    """Return the unit that was written. Raises UnitError for text that is none."""
    import pint

    text = unit
    for pattern, better in _SPELLINGS:
        text = pattern.sub(better, text)
    text = text.strip()
    if not _UNIT.fullmatch(text):
        raise UnitError(f"has an unknown unit {unit!r}")
    for pattern, better in _FOR_PINT:
        text = pattern.sub(better, text)
    try:
        return registry().parse_units(f"1{text}" if text.startswith("/") else text)
    except (pint.errors.PintError, AttributeError, TypeError, ValueError, ArithmeticError) as error:
        raise UnitError(f"has an unknown unit {unit!r}") from error


def _number(text: object, dimension: Dimension, usual: str) -> tuple[float, str]:
    """Return the number and the unit that were written; ``usual`` shows how one writes it."""
    example = f"write for example {usual}"
    if isinstance(text, bool):
        raise UnitError(f"is {str(text).lower()}, not {dimension.with_article}; {example}")
    if isinstance(text, str):
        if _COMMA.match(text.strip()):
            raise UnitError("has a comma; write a decimal point, as in 1.25, and nothing between thousands")
        match = _AMOUNT.fullmatch(text.strip()) if len(text) <= LONGEST_TEXT else None
        if match is None:
            raise UnitError(f"is not a number with a unit; {example}")
        number, unit = float(match[1]), match[2]
    elif isinstance(text, int | float):
        try:
            number, unit = float(text), ""
        except OverflowError:
            number, unit = math.inf, ""
    else:
        raise UnitError(f"is not a number with a unit; {example}")
    if not math.isfinite(number):
        raise UnitError(f"is not a finite number; {example}")
    return number, unit


def _word_too_many(unit: str) -> str | None:
    """Return the last word if what stands before it is a unit and it is none."""
    before, _, word = unit.rstrip().rpartition(" ")
    if not (before and word.isalpha()):
        return None
    try:
        _parsed(before)
    except UnitError:
        return None
    return word


def unit_of(text: object) -> str:
    """Return the unit that stands behind a number in a text; nothing if there is none."""
    match = _AMOUNT.fullmatch(text.strip()) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
    return match[2] if match else ""


def to_si(text: object, dimension: Dimension, *, difference: bool = False, example: str = "") -> float:
    """Return an amount in the dimension's SI unit.

    ``text`` is a number with a unit ("640 g"); a plain number is taken only for a plain number or a
    share. ``difference`` reads a temperature as a difference; ``example`` stands in an error.
    Raises UnitError.
    """
    import pint

    usual = example or dimension.example
    number, unit = _number(text, dimension, usual)
    units = f"; use {dimension.units}, for example {usual}"
    if not unit:
        if dimension.si:
            raise UnitError(f"has no unit{units}")
        return number
    try:
        parsed = _parsed(unit)
        if difference and dimension is TEMPERATURE:
            parsed = registry().parse_units(_STEPS.get(str(parsed), str(parsed)))
        value = float(registry().Quantity(number, parsed).to(dimension.si or "dimensionless").magnitude)
    except pint.DimensionalityError as error:
        if dimension is FORCE and parsed.is_compatible_with("g"):
            units = f"; a scale that shows g reads gf: write {number:g} {unit}f"
        raise UnitError(f"is not {dimension.with_article}{units}") from error
    except UnitError as error:
        word = _word_too_many(unit)
        if word is not None:
            raise UnitError(f"has {word!r} behind its unit; only measured or guessed may follow") from error
        raise UnitError(f"{error}{units}") from error
    except (pint.errors.PintError, ArithmeticError) as error:
        raise UnitError(f"is not {dimension.with_article}{units}") from error
    if not math.isfinite(value):
        raise UnitError(f"is not a finite number; write for example {usual}")
    return float(f"{value:.15g}")  # 640 g and 0.64 kg are one number, to the last bit


def from_si(value: float, dimension: Dimension, unit: str, digits: int = 4) -> str:
    """Return an SI number in a person's unit: ``from_si(0.64, MASS, "g")`` is "640 g".

    ``digits`` are significant digits; an empty unit prints the bare number. Raises UnitError if the
    unit is not of that dimension.
    """
    if not unit:
        return f"{value:.{digits}g}"
    import pint

    try:
        quantity = registry().Quantity(value, dimension.si or "dimensionless").to(_parsed(unit))
    except pint.errors.PintError as error:
        raise UnitError(f"{unit} is not a unit of {dimension.with_article}") from error
    number = float(f"{quantity.magnitude:.{digits}g}")
    return f"{number:.0f} {unit}" if number == round(number) and abs(number) < 1e7 else f"{number:g} {unit}"

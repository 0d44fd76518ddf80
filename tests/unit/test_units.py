"""Units at the door, against published conversion factors and pint's own registry."""

from __future__ import annotations

import math

import pint
import pytest

from overarm import units
from overarm.units import Dimension, UnitError, from_si, to_si

DIMENSIONS = [item for item in vars(units).values() if isinstance(item, Dimension)]

# NIST Special Publication 811 (2008), appendix B.8; SI brochure (BIPM, 2019) for prefixes and degrees.
PUBLISHED = [
    ("640 g", units.MASS, 0.640),
    ("1 lb", units.MASS, 0.453_592_37),
    ("1 oz", units.MASS, 0.028_349_523_125),
    ("9 in", units.LENGTH, 0.2286),
    ("1 ft", units.LENGTH, 0.3048),
    ("1 mi", units.LENGTH, 1609.344),
    ("1 ft2", units.AREA, 0.092_903_04),
    ("21 dm2", units.AREA, 0.21),
    ("420 cm2", units.AREA, 0.042),
    ("18 km/h", units.SPEED, 5.0),
    ("1 kt", units.SPEED, 1852.0 / 3600.0),
    ("1 mph", units.SPEED, 0.447_04),
    ("1 ft/s", units.SPEED, 0.3048),
    ("180 deg", units.ANGLE, math.pi),
    ("8 m/s2", units.ACCELERATION, 8.0),
    ("1 gee", units.ACCELERATION, 9.806_65),
    ("25 %/s", units.PER_TIME, 0.25),
    ("5 1/s", units.PER_TIME, 5.0),
    ("400 deg/s", units.TURN_RATE, 400.0 * math.pi / 180.0),
    ("60 rpm", units.FREQUENCY, 1.0),
    ("100 Hz", units.ROTATION, 6000.0),
    ("900 rpm/V", units.KV, 30.0 * math.pi),
    ("30 mohm", units.RESISTANCE, 0.030),
    ("1500 mAh", units.CHARGE, 1.5),
    ("4.0 A h", units.CHARGE, 4.0),
    ("1 kgf", units.FORCE, 9.806_65),
    ("550 gf", units.FORCE, 5.393_657_5),
    ("1 lbf", units.FORCE, 4.448_221_615_260_5),
    ("1 lbf/ft", units.STIFFNESS, 14.593_902_937_206_4),
    ("1000 g cm2", units.INERTIA, 1e-4),
    ("20 C", units.TEMPERATURE, 293.15),
    ("-40 F", units.TEMPERATURE, 233.15),
    ("300 K", units.TEMPERATURE, 300.0),
    ("1013.25 hPa", units.PRESSURE, 101_325.0),
    ("29.92 inHg", units.PRESSURE, 29.92 * 3386.389),
    ("95 %", units.SHARE, 0.95),
    ("80 ms", units.TIME, 0.080),
    ("2 min", units.TIME, 120.0),
]

BOTH_KNOW = (
    "oz", "lb", "inch", "ft", "yard", "mile", "nmi", "knot", "mph", "gram_force", "ounce_force",
    "pound_force", "degree", "bar", "ampere_hour", "ohm", "hour",
)  # fmt: skip
NO_AMOUNTS = (
    "nan kg", "inf kg", "1e999 kg", "", "kg", "three kg", "1,5 kg", "0x10 kg", "9" * 200, float("nan"),
    float("inf"), 10**400, True, None, [],
)  # fmt: skip


@pytest.mark.parametrize(("text", "dimension", "value"), PUBLISHED, ids=lambda item: str(item)[:12])
def test_published_factors(text: str, dimension: Dimension, value: float) -> None:
    assert to_si(text, dimension) == pytest.approx(value, rel=1e-14)


@pytest.mark.plain_floats("pint's own registry is made by code of others")
@pytest.mark.parametrize("unit", BOTH_KNOW)
def test_agrees_with_the_registry_of_pint(unit: str) -> None:
    theirs = pint.UnitRegistry().Quantity(1.0, unit).to_base_units()
    ours = units.registry().Quantity(1.0, unit).to(f"{theirs.units:~}".replace("rad", "radian"))
    assert ours.magnitude == pytest.approx(theirs.magnitude, rel=1e-12)


@pytest.mark.parametrize(
    ("one", "other", "dimension"),
    [
        ("640 g", "0.64 kg", units.MASS), ("12 deg", "12°", units.ANGLE), ("12 deg", " 12deg ", units.ANGLE),
        ("8 m/s2", "8 m/s²", units.ACCELERATION), ("8 m/s2", "8 m/s^2", units.ACCELERATION),
        ("8 m/s2", "8 m/s**2", units.ACCELERATION), ("30 mohm", "30 mΩ", units.RESISTANCE),
        ("15 C", "15 °C", units.TEMPERATURE), ("15 C", "15 degC", units.TEMPERATURE),
        ("10 kt", "10 kn", units.SPEED), ("0.1 kg m2", "0.1 kg*m2", units.INERTIA),
        ("0.1 kg m2", "0.1 kg·m²", units.INERTIA), ("95 %", "0.95", units.SHARE),
        ("95 %", "95%", units.SHARE),
        ("1.5 N", "+1.5e0 N", units.FORCE), ("0.5 s", ".5 s", units.TIME),
    ],
)  # fmt: skip
def test_spellings_of_the_same(one: str, other: str, dimension: Dimension) -> None:
    assert to_si(one, dimension) == to_si(other, dimension)


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda item: item.name)
def test_every_example_is_read(dimension: Dimension) -> None:
    assert math.isfinite(to_si(dimension.example, dimension))


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda item: item.name)
def test_every_unit_that_is_named_is_read(dimension: Dimension) -> None:
    named = dimension.units.replace(" or ", ", ").split(", ")
    for unit in named:
        assert math.isfinite(to_si("1" if unit == "no unit" else f"1 {unit}", dimension)), unit


@pytest.mark.parametrize("dimension", [item for item in DIMENSIONS if item.si], ids=lambda item: item.name)
@pytest.mark.parametrize("raw", [3, 0.5, "3", "0.5"])
def test_a_number_without_unit_is_refused_with_the_unit_to_add(dimension: Dimension, raw: object) -> None:
    with pytest.raises(UnitError, match="has no unit") as told:
        to_si(raw, dimension)
    assert dimension.example in str(told.value)


# An angle is a dimension of its own here: these would slip through where radians count as plain numbers.
@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("12 %", units.ANGLE), ("12 deg", units.SHARE), ("12 deg", units.NOTHING), ("25 Hz", units.PER_TIME),
        ("25 deg/s", units.PER_TIME), ("25 %/s", units.TURN_RATE), ("25 1/s", units.FREQUENCY),
        ("3 s", units.LENGTH), ("3 m", units.MASS), ("950 kV", units.KV), ("10 m/s", units.ACCELERATION),
        ("1.6 kg", units.FORCE), ("15 C", units.CHARGE),
        ("5 N m", units.FORCE),
    ],
)  # fmt: skip
def test_the_wrong_kind_is_refused(text: str, dimension: Dimension) -> None:
    with pytest.raises(UnitError, match=f"is not an? {dimension.name}") as told:
        to_si(text, dimension)
    assert "; " in str(told.value)


def test_grams_for_a_pull_are_told_how_to_write_it() -> None:
    with pytest.raises(UnitError, match="write 550 gf"):
        to_si("550 g", units.FORCE)


@pytest.mark.parametrize(
    "unit", ["KG", "gramm", "parsec", "g**9", "kg*10**9", "g g g g g g g g", "__import__", "m/s/", "$"]
)
def test_an_unknown_unit_is_refused(unit: str) -> None:
    with pytest.raises(UnitError, match="unknown unit"):
        to_si(f"3 {unit}", units.MASS)


@pytest.mark.parametrize("raw", NO_AMOUNTS, ids=lambda raw: repr(raw)[:12])
def test_what_is_no_amount_is_refused(raw: object) -> None:
    with pytest.raises(UnitError):
        to_si(raw, units.MASS)


def test_a_unit_cannot_make_the_machine_count_for_ever() -> None:
    with pytest.raises(UnitError):
        to_si("3 kg*9**9**9**9", units.MASS)


@pytest.mark.parametrize(("text", "kelvin"), [("2 C", 2.0), ("9 F", 5.0), ("2 K", 2.0)])
def test_a_difference_of_temperatures_has_no_zero_point(text: str, kelvin: float) -> None:
    assert to_si(text, units.TEMPERATURE, difference=True) == pytest.approx(kelvin, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "dimension", "unit", "text"),
    [
        (0.64, units.MASS, "g", "640 g"), (5.0, units.SPEED, "km/h", "18 km/h"),
        (0.261_799_387_8, units.ANGLE, "deg", "15 deg"), (288.15, units.TEMPERATURE, "C", "15 C"),
        (0.25, units.PER_TIME, "%/s", "25 %/s"), (0.95, units.NOTHING, "", "0.95"),
        (1e-5, units.INERTIA, "kg m2", "1e-05 kg m2"),
    ],
)  # fmt: skip
def test_printing_back(value: float, dimension: Dimension, unit: str, text: str) -> None:
    assert from_si(value, dimension, unit) == text


def test_printing_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(UnitError, match="not a unit of a mass"):
        from_si(1.0, units.MASS, "mm")

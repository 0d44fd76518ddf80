"""Which unit was probably meant, when a reported value is off by the factor between two units."""

from __future__ import annotations

from typing import NamedTuple

from overarm.readback.scale import Scale, scale_of
from overarm.units import (
    ACCELERATION,
    ANGLE,
    LENGTH,
    PER_TIME,
    SHARE,
    SPEED,
    TIME,
    Dimension,
    UnitError,
)

# How near the ratio must be to the factor; 3.2808 and 3.6 are 9 % apart. Own estimate.
NEAR_SHARE = 0.012

# Factors between units that are mixed up: powers of ten, degrees in a radian, km/h, knots and feet a second
# in 1 m/s, gravity. Exact by definition (SI brochure, BIPM 2019), but for rounding here.
FACTORS = (10.0, 100.0, 1000.0, 57.2958, 3.6, 1.94384, 3.28084, 9.80665)
WORDS = {
    57.2958: "degrees and radians",
    3.6: "km/h and m/s",
    1.94384: "knots and m/s",
    3.28084: "feet and metres",
    9.80665: "multiples of gravity and m/s2",
}
UNITS: dict[str, tuple[str, ...]] = {
    TIME.name: ("s", "ms", "us", "min"),
    SPEED.name: ("m/s", "cm/s", "mm/s", "km/h", "kt", "mph", "ft/s"),
    ACCELERATION.name: ("m/s2", "gee", "cm/s2", "mm/s2", "ft/s2"),
    ANGLE.name: ("deg", "rad", "mrad"),
    LENGTH.name: ("m", "ft", "cm", "mm"),
    PER_TIME.name: ("%/s", "1/s", "%/min", "s to full", "ms to full"),
    SHARE.name: ("%", ""),
}


class Suspect(NamedTuple):
    """A factor that smells of a unit, and the unit with which the number would fit ("" if none is known)."""

    ratio: float  # reported over wanted
    unit: str
    sentence: str


def suspect_unit(
    reported: float, scale: Scale, reported_si: float, wanted_si: float, dimension: Dimension
) -> Suspect | None:
    """Return the suspicion that a difference is one of units; None if its factor is none of theirs.

    Parameters: the number as reported and its scale; the same in SI; what the sheet has in SI; its kind.
    """
    if wanted_si == 0.0 or reported_si == 0.0 or reported_si * wanted_si < 0.0:
        return None
    ratio = reported_si / wanted_si
    for unit in UNITS.get(dimension.name, ()):
        if unit == scale.unit:
            continue
        try:
            other = scale_of(unit, dimension, scale.scale, scale.offset) if unit else Scale("", 1.0)
            would_be = other.to_si(reported)
        except UnitError:
            continue
        if _near(would_be, wanted_si):
            named = unit or "a plain share of 1"
            told = f"{_times(ratio)} the sheet's; it would agree if the number were in {named}"
            wrong = f"not in {scale.unit or 'a plain share of 1'}; the mapping or the aircraft is wrong"
            return Suspect(ratio, named, f"{told}, {wrong}")
    for factor in FACTORS:
        for known in (factor, 1.0 / factor):
            if _near(ratio, known):
                mixed = WORDS.get(factor)
                why = f"{mixed} mixed up?" if mixed else "a slipped point, or the wrong prefix of a unit?"
                return Suspect(ratio, "", f"{_times(ratio)} the sheet's ({why})")
    return None


def _near(value: float, wanted: float) -> bool:
    return abs(value / wanted - 1.0) <= NEAR_SHARE


def _times(ratio: float) -> str:
    large = max(ratio, 1.0 / ratio)
    shown = f"{large:,.0f}" if large >= 100.0 else f"{large:.3g}"
    return f"{shown} times" if ratio >= 1.0 else f"one {shown}th of"

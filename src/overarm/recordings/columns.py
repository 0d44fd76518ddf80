"""The head of a column: which channel it is, and in which unit, read from its unit suffix."""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

import numpy as np

from overarm.recordings.channels import CHANNELS
from overarm.recordings.recording import Numbers
from overarm.units import ACCELERATION, FORCE, MASS, PRESSURE, TIME, Dimension, UnitError, to_si

TIMES = ("time", "timestamp", "t")
UTC = "time_utc"
NOTES = ("note", "notes")
# How units are spelled where a head cannot have a sign or a capital letter.
_SPELLED = {
    "a": "A",
    "cmps": "cm/s",
    "cmps2": "cm/s2",
    "dps": "deg/s",
    "degps": "deg/s",
    "fps": "ft/s",
    "hz": "Hz",
    "ma": "mA",
    "mps": "m/s",
    "mps2": "m/s2",
    "mv": "mV",
    "pct": "%",
    "percent": "%",
    "radps": "rad/s",
    "sec": "s",
    "v": "V",
}
# An accelerometer's g and mg are shares of the standard fall; everywhere else g is a gram.
_OF_GRAVITY = {"g": "gee", "mg": "milligee", "cg": "centigee"}
_KINDS = (*dict.fromkeys(kind.dimension for kind in CHANNELS.values()), TIME, MASS, FORCE, PRESSURE)
_BRACKETED = re.compile(r"(.*\S)\s*[\[(]([^\[\]()]+)[\])]")


class Tie(NamedTuple):
    """A column that is a channel: ``SI = (number * scale + offset) * factor * sign``."""

    column: int  # from 0
    head: str
    channel: str
    unit: str
    factor: float
    scale: float = 1.0
    offset: float = 0.0
    sign: int = 1

    def to_si(self, numbers: Numbers) -> Numbers:
        """Return the values of a channel in its SI unit, shape (n,); what overflows becomes infinite."""
        with np.errstate(all="ignore"):
            if self.scale == 1.0 and self.offset == 0.0:
                return numbers * (self.factor * self.sign)
            return (numbers * self.scale + self.offset) * (self.factor * self.sign)

    @property
    def source(self) -> str:
        """Return where the channel comes from, in words."""
        said = f"column {self.head}" + (f" in {self.unit}" if self.unit else "")
        if self.scale != 1.0:
            said += f", times {self.scale:g}"
        if self.offset:
            said += f", plus {self.offset:g}"
        return said + (", sign turned" if self.sign < 0 else "")


class HeadFault(ValueError):
    """A head that names a channel of ours with a unit that cannot be; the message is reason; cure."""


@cache
def stems() -> dict[str, str]:
    """Return the channels by their names without the unit: {"force_x": "force_x_mps2", ...}."""
    found = {}
    for name in CHANNELS:
        stem, _, unit = name.rpartition("_")
        found[stem if unit in ("mps2", "radps", "rad", "mps", "m", "v", "a") else name] = name
    return found


def channel_of(name: str) -> str | None:
    """Return the channel that a name means, with or without its SI unit; None if there is none."""
    folded = name.strip().casefold()
    return folded if folded in CHANNELS else stems().get(folded)


def unit_text(unit: str, dimension: Dimension) -> str:
    """Return a unit as `overarm.units` reads it: "deg_s" is "deg/s", "g" of an acceleration is "gee"."""
    text = unit.strip()
    if dimension is ACCELERATION and text.casefold() in _OF_GRAVITY:
        return _OF_GRAVITY[text.casefold()]
    if text in _SPELLED:
        return _SPELLED[text]
    parts = [part for part in text.split("_") if part and part != "per"]
    return "/".join(_SPELLED.get(part, part) for part in parts) if len(parts) == 2 else text


def factor_of(unit: str, dimension: Dimension) -> float:
    """Return what a number in a unit is multiplied by to be SI. Raises UnitError for a wrong unit."""
    if not unit and not dimension.si:
        return 1.0
    return to_si(f"1 {unit_text(unit, dimension)}", dimension)


def tie_of(column: int, head: str) -> Tie | None:
    """Return the channel that a head with a unit suffix is; None if it is none of ours.

    Raises HeadFault for a head of ours without a unit, or with a unit of another kind.
    """
    stem, unit = _parted(head, tuple(stems()))
    if stem is None:
        return None
    channel = stems()[stem]
    dimension = CHANNELS[channel].dimension
    if not unit:
        if not dimension.si:
            return Tie(column, head, channel, "", 1.0)
        raise HeadFault(f"has no unit; name it for example {channel}, or tie it in a mapping")
    try:
        return Tie(column, head, channel, _shown(unit, dimension), factor_of(unit, dimension))
    except UnitError:
        if not _is_unit(unit):
            return None
        said = f"has the unit {unit}, which is not {dimension.with_article}"
        raise HeadFault(f"{said}; use {dimension.units}, for example {channel}") from None


def time_factor(head: str) -> float | None:
    """Return the seconds in one of a column of times; None if the head is none with a unit of time."""
    stem, unit = _parted(head, TIMES)
    if stem is None or not unit:
        return None
    try:
        return to_si(f"1 {unit_text(unit, TIME)}", TIME)
    except UnitError:
        return None


def _parted(head: str, names: tuple[str, ...]) -> tuple[str | None, str]:
    """Return the longest of our names that a head begins with, and the unit behind it."""
    bracketed = _BRACKETED.fullmatch(head.strip())
    folded = (bracketed[1] if bracketed else head).strip().casefold().replace(" ", "_")
    if bracketed:
        return (folded, bracketed[2].strip()) if folded in names else (None, "")
    for name in sorted(names, key=len, reverse=True):
        if folded == name:
            return name, ""
        if folded.startswith(f"{name}_"):
            return name, folded[len(name) + 1 :]
    return None, ""


def _shown(unit: str, dimension: Dimension) -> str:
    """Return a unit as a person writes it."""
    return unit if unit.casefold() in _OF_GRAVITY else unit_text(unit, dimension)


def _is_unit(text: str) -> bool:
    """Return True for a unit of any of the kinds that a head may name by mistake."""
    for dimension in _KINDS:
        try:
            factor_of(text, dimension)
        except UnitError:
            continue
        return True
    return False

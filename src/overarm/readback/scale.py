"""From a number as the aircraft reports it to SI, and back, with how finely its digits can say it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from overarm.units import PER_TIME, TIME, Dimension, UnitError, to_si

_TO_FULL = re.compile(r"\s*(\S+)\s+(?:to|for) full\s*")


@dataclass(frozen=True, slots=True)
class Scale:
    """``SI = (reported * scale + offset) * factor``; with ``turned`` it is one over that.

    ``turned`` is for "s to full": a time from nothing to full throttle instead of a rate.
    """

    unit: str
    factor: float
    scale: float = 1.0
    offset: float = 0.0
    turned: bool = False

    def to_si(self, reported: float) -> float:
        """Return the SI value. Raises UnitError if there is none."""
        value = (reported * self.scale + self.offset) * self.factor
        if self.turned:
            if value <= 0.0:
                raise UnitError("is no time from nothing to full; it must be above zero")
            value = 1.0 / value
        if not math.isfinite(value):
            raise UnitError("is not a finite number")
        return value

    def from_si(self, value: float) -> float:
        """Return the number that the aircraft would report. Raises UnitError if there is none."""
        if self.turned:
            if value <= 0.0:
                raise UnitError("is no rate that has a time to full")
            value = 1.0 / value
        return (value / self.factor - self.offset) / self.scale

    def half_step(self, reported: float, half_digit: float) -> float:
        """Return half of what the last digit of a reported number is worth, in SI."""
        try:
            ends = [self.to_si(reported + half_digit), self.to_si(reported - half_digit)]
        except UnitError:
            return 0.0
        middle = self.to_si(reported)
        return max(abs(end - middle) for end in ends)


def scale_of(unit: str, dimension: Dimension, scale: float = 1.0, offset: float = 0.0) -> Scale:
    """Return the scale of a unit of a dimension, or of "s to full" where a rate is wanted.

    Raises UnitError for a unit of another dimension, or for a scale of zero.
    """
    if scale == 0.0 or not math.isfinite(scale) or not math.isfinite(offset):
        raise UnitError("has a scale of zero or one that is no number; leave it out if there is none")
    turned = _TO_FULL.fullmatch(unit) if dimension is PER_TIME else None
    if turned is not None:
        return Scale(unit, to_si(f"1 {turned[1]}", TIME), scale, offset, turned=True)
    if not unit:
        if dimension.si:
            raise UnitError(f"has no unit; use {dimension.units}")
        return Scale("", 1.0, scale, offset)
    try:
        return Scale(unit, to_si(f"1 {unit}", dimension), scale, offset)
    except UnitError as error:
        if dimension is PER_TIME:
            raise UnitError(f"{error}; for a time from nothing to full write s to full") from error
        raise

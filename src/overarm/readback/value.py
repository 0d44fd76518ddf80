"""One reported text as a value of its key: a number in SI with what its digits can say, or a word."""

from __future__ import annotations

import re
from typing import NamedTuple

from rapidfuzz import process

from overarm.readback.keys import LEAST_ALIKE
from overarm.readback.mapping import Tie
from overarm.readback.scale import Scale, scale_of
from overarm.units import LONGEST_TEXT, UnitError

_PARTS = re.compile(
    r"(?P<sign>[+-]?)(?P<whole>[0-9]*)(?:(?P<mark>[.,])(?P<rest>[0-9]*))?(?:[eE](?P<power>[+-]?[0-9]{1,3}))?"
)
_AMOUNT = re.compile(r"(?P<number>[+-]?[0-9.,]+(?:[eE][+-]?[0-9]{1,3})?)\s*(?P<unit>.*)")


class ValueFault(ValueError):
    """A reported text that is no value of its key; the message is reason; cure."""


class Value(NamedTuple):
    """What was reported, in SI, with half of its last digit; a word for a choice; None for "not used"."""

    si: float | str | None
    half_step: float = 0.0
    scale: Scale | None = None
    raw: float = 0.0


def value_of(tie: Tie, text: str, decimal_comma: bool) -> Value:
    """Return the value that a text says. Raises ValueFault with reason and cure."""
    text = text.strip()
    if tie.off is not None and _alike(text, tie.off, decimal_comma):
        return Value(None)
    if not text:
        raise ValueFault("has no value; read the aircraft back again")
    if tie.key.amount is None:
        return Value(_word(tie, text))
    number, half_digit, unit = number_of(text, decimal_comma)
    assert tie.scale is not None, f"{tie.name} is an amount without a scale"
    scale = tie.scale
    try:
        if unit and unit != scale.unit:
            scale = _own_unit(tie, unit)
        return Value(scale.to_si(number), scale.half_step(number, half_digit), scale, number)
    except UnitError as error:
        raise ValueFault(f"{error}; correct the mapping or the report") from error


def _own_unit(tie: Tie, unit: str) -> Scale:
    """Return the scale of a unit that stands behind the number itself."""
    assert tie.key.amount is not None, f"{tie.name} is no amount"
    if tie.scale is not None and (tie.scale.scale != 1.0 or tie.scale.offset):
        raise UnitError(f"has the unit {unit} behind it, where the mapping gives a scale")
    return scale_of(unit, tie.key.amount.dimension)


def number_of(text: str, decimal_comma: bool) -> tuple[float, float, str]:
    """Return a number, half of what its last digit is worth, and the unit behind it.

    Raises ValueFault for anything else; "nan" and "inf" are no numbers.
    """
    match = _AMOUNT.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    parts = _PARTS.fullmatch(match["number"]) if match else None
    if match is None or parts is None or not (parts["whole"] or parts["rest"]):
        raise ValueFault("is not a number; correct the mapping, or read the aircraft back again")
    mark = parts["mark"]
    if mark == "," and not decimal_comma:
        raise ValueFault("has a comma; write decimal: comma in the mapping if the aircraft writes so")
    if mark == "." and decimal_comma:
        raise ValueFault("has a point, where the mapping says decimal: comma; correct the mapping")
    power = int(parts["power"] or 0)
    try:
        number = float(match["number"].replace(",", "."))
        half_digit = 0.5 * 10.0 ** (power - len(parts["rest"] or ""))
    except OverflowError:
        number = float("inf")
    if abs(number) > 1e15:
        raise ValueFault("is larger than any setting; correct the mapping, or read the aircraft back again")
    return number, half_digit, match["unit"].strip()


def _alike(text: str, off: str, decimal_comma: bool) -> bool:
    if text.casefold() == off.casefold():
        return True
    try:
        return number_of(text, decimal_comma)[0] == float(off)
    except ValueError:
        return False


def _word(tie: Tie, text: str) -> str:
    word = tie.words.get(text.casefold())
    if word is None and re.fullmatch(r"[0-9]+[.,]0*", text):
        word = tie.words.get(re.split(r"[.,]", text)[0])  # a choice that is written 2.0
    if word is None:
        near = process.extractOne(text.casefold(), list(tie.words), score_cutoff=LEAST_ALIKE)
        more = f"did you mean {near[0]}?" if near else f"the mapping knows {', '.join(tie.words)}."
        raise ValueFault(
            f"is no word that the mapping knows for {tie.key.key}; {more} Add it under its words"
        )
    return word

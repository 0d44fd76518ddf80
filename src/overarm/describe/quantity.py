"""One input of a card: a value in SI units, how far it may be off, and how it is known."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field

from overarm.units import SHARE, Dimension, UnitError, to_si

Kind = Literal["normal", "lognormal"]
Known = Literal["measured", "guessed", "default"]

_TEXT = re.compile(r"^(?P<value>.*?)(?:\s*(?:\+-|\+/-|±)\s*(?P<spread>.*?))?(?:\s+(?P<known>measured|guessed|default))?\s*$")
_PER_CENT = re.compile(r"^\s*([0-9.eE+-]+)\s*%\s*$")
MAPPING_KEYS = ("value", "spread", "known")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in SI units.

    ``spread`` is one standard deviation in the same unit; ``known`` says whether it was measured,
    guessed, or left at the project's default; ``text`` is what the person wrote.
    """

    value: float
    spread: float
    kind: Kind
    known: Known
    text: str


@dataclass(frozen=True, slots=True)
class Amount:
    """What a field accepts, and how far off it is when measured and when guessed.

    ``low`` and ``high`` are SI and inclusive. ``measured`` and ``guessed`` are the default spreads:
    "8 %" of the value, or an amount such as "2 deg".
    """

    dimension: Dimension
    low: float
    high: float
    measured: str
    guessed: str
    kind: Kind
    help: str
    source: str

    def parse(self, raw: Any) -> Quantity:
        """Return the quantity that was written; raises UnitError with the cure."""
        if isinstance(raw, Quantity):
            return raw
        value_text, spread_text, known = _parts(raw, self.dimension)
        value = to_si(value_text, self.dimension)
        if not self.low <= value <= self.high:
            raise UnitError(f"is outside {self.low:g} to {self.high:g} {self.dimension.si or ''}".rstrip() + "; check the number and its unit")
        spread = self._spread(spread_text or (self.measured if known == "measured" else self.guessed), value)
        return Quantity(value, spread, self.kind, known, str(value_text).strip())

    def _spread(self, text: str | float, value: float) -> float:
        share = _PER_CENT.match(text) if isinstance(text, str) else None
        if share and self.dimension is not SHARE:
            spread = abs(value) * float(share[1]) / 100.0
        else:
            spread = to_si(text, self.dimension, difference=True)
        if spread < 0.0 or not math.isfinite(spread):
            raise UnitError("has a negative spread; the spread is one standard deviation and not below zero")
        return spread


def _parts(raw: Any, dimension: Dimension) -> tuple[str | float, str | float | None, Known]:
    if isinstance(raw, dict):
        unknown = [key for key in raw if key not in MAPPING_KEYS]
        if unknown or "value" not in raw:
            raise UnitError(f"needs value, and may have spread and known; not {', '.join(map(str, unknown)) or 'none'}")
        known = raw.get("known", "guessed")
        if known not in ("measured", "guessed"):
            raise UnitError(f"says known: {known}; write measured or guessed")
        return raw["value"], raw.get("spread"), known
    if isinstance(raw, str):
        match = _TEXT.match(raw)
        if match is None:
            raise UnitError(f"is not an amount; write for example {dimension.example}")
        return match["value"], match["spread"], match["known"] or "guessed"  # type: ignore[return-value]
    if isinstance(raw, int | float):
        return raw, None, "guessed"
    raise UnitError(f"is not an amount; write for example {dimension.example}")


def amount(
    key: str,
    dimension: Dimension,
    limits: tuple[float, float],
    help: str,  # noqa: A002  (the word that the reference uses)
    *,
    spreads: tuple[str, str] = ("0 %", "0 %"),
    default: str | None = None,
    optional: bool = False,
    source: str = "",
    kind: Kind | None = None,
) -> Any:
    """Return a pydantic field for a quantity.

    ``key`` is the YAML key; ``limits`` in SI; ``spreads`` when measured and when guessed; a field
    with neither default nor ``optional`` is required. Positive scales are lognormal, the rest normal.
    """
    shape: Kind = kind or ("lognormal" if limits[0] > 0.0 else "normal")
    spec = Amount(dimension, *limits, *spreads, shape, help, source)
    extra = {"amount": spec}
    if optional:
        return Field(default=None, alias=key, description=help, json_schema_extra=extra)  # type: ignore[arg-type]
    if default is not None:
        return Field(
            default=f"{default} default", alias=key, validate_default=True, description=help,
            json_schema_extra=extra,
        )  # type: ignore[arg-type]  # fmt: skip
    return Field(alias=key, description=help, json_schema_extra=extra)  # type: ignore[arg-type]

"""One input of a card: a value in SI units, how far it may be off, and how it is known."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field

from overarm.units import LONGEST_TEXT, NUMBER, SHARE, Dimension, UnitError, from_si, to_si

Kind = Literal["normal", "lognormal"]
Known = Literal["measured", "guessed", "default"]

_TEXT = re.compile(
    r"^(?P<value>.*?)(?:\s*(?:\+-|\+/-|±)\s*(?P<spread>.*?))?(?:\s+(?P<known>measured|guessed|default))?\s*$"
)
_PER_CENT = re.compile(rf"^\s*({NUMBER})\s*%\s*$")
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
            unit = self.dimension.example.partition(" ")[2]
            low, high = (from_si(limit, self.dimension, unit) for limit in (self.low, self.high))
            raise UnitError(f"is outside {low} to {high}; check the number and its unit")
        if spread_text is not None:
            spread = self._spread(spread_text, value)
        else:
            usual = self.measured if known == "measured" else self.guessed
            spread = self._share_or_amount(usual, value)
            spread = min(spread, value) if self.kind == "lognormal" else spread
        return Quantity(value, spread, self.kind, known, str(value_text).strip())

    def _share_or_amount(self, text: Any, value: float) -> float:
        """Return a spread as it is written; "%" is of the value, but of the whole for a share."""
        share = _PER_CENT.match(text) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
        if share and self.dimension is not SHARE:
            return abs(value) * float(share[1]) / 100.0
        return to_si(text, self.dimension, difference=True)

    def _spread(self, text: Any, value: float) -> float:
        """Return a spread that somebody has given; raises UnitError if it is none."""
        try:
            spread = self._share_or_amount(text, value)
        except UnitError as error:
            raise UnitError(f"has a spread that {error}") from error
        if spread < 0.0:
            raise UnitError("has a negative spread; a spread is one standard deviation and not below zero")
        most = value if self.kind == "lognormal" else self.high - self.low
        if not spread <= most:
            raise UnitError("has a spread that is too large; give one standard deviation, for example +- 5 %")
        return spread


def _parts(raw: Any, dimension: Dimension) -> tuple[Any, Any, Known]:
    """Return value, spread and flag as they were written; the value is not yet looked at."""
    example = f"write for example {dimension.example}"
    if isinstance(raw, dict):
        unknown = [str(key) for key in raw if key not in MAPPING_KEYS]
        if unknown:
            raise UnitError(f"has the unknown part {', '.join(unknown)}; parts are value, spread and known")
        if "value" not in raw:
            raise UnitError("has no value; give value, and if you like spread and known")
        known = raw.get("known", "guessed")
        if known not in ("measured", "guessed"):
            raise UnitError("says something else than measured or guessed under known; write one of the two")
        return raw["value"], raw.get("spread"), known
    if isinstance(raw, str):
        match = _TEXT.match(raw) if len(raw) <= LONGEST_TEXT else None
        if match is None:
            raise UnitError(f"is not a number with a unit; {example}")
        flag = match["known"]
        told: Known = "measured" if flag == "measured" else "default" if flag == "default" else "guessed"
        return match["value"], match["spread"], told
    return raw, None, "guessed"


def amount(
    key: str,
    dimension: Dimension,
    limits: tuple[float, float],
    help: str,
    *,
    spreads: tuple[str, str] = ("0 %", "0 %"),
    default: str | None = None,
    source: str = "",
    kind: Kind | None = None,
) -> Any:
    """Return a pydantic field for a quantity.

    ``key`` is the YAML key; ``limits`` in SI; ``spreads`` when measured and when guessed; a field
    without ``default`` is required. Positive scales are lognormal, the rest normal.
    """
    shape: Kind = kind or ("lognormal" if limits[0] > 0.0 else "normal")
    extra: dict[str, Any] = {"amount": Amount(dimension, *limits, *spreads, shape, help, source)}
    if default is None:
        return Field(alias=key, description=help, json_schema_extra=extra)
    return Field(
        default=f"{default} default",
        alias=key,
        validate_default=True,
        description=help,
        json_schema_extra=extra,
    )


def optional_amount(
    key: str,
    dimension: Dimension,
    limits: tuple[float, float],
    help: str,
    *,
    spreads: tuple[str, str] = ("0 %", "0 %"),
) -> Any:
    """Return a pydantic field for a quantity that may be left out; see `amount`."""
    kind: Kind = "lognormal" if limits[0] > 0.0 else "normal"
    extra: dict[str, Any] = {"amount": Amount(dimension, *limits, *spreads, kind, help, "")}
    return Field(default=None, alias=key, description=help, json_schema_extra=extra)

"""One input of a card: a value in SI units, how far it may be off, and how it is known."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field

from overarm.units import LONGEST_TEXT, NUMBER, SHARE, Dimension, UnitError, from_si, to_si, unit_of

Kind = Literal["normal", "lognormal"]
Known = Literal["measured", "guessed", "default"]

_TEXT = re.compile(
    r"^(?P<value>.*?)(?:\s*(?:\+-|\+/-|±)\s*(?P<spread>.*?))?(?:\s+(?P<known>measured|guessed|default))?\s*$"
)
_PER_CENT = re.compile(rf"^\s*({NUMBER})\s*%\s*$")
# How a key without a default may be written, where the middle of its range is no usual value.
USUAL = {
    "mass": "1.2 kg",
    "span": "1.2 m",
    "area": "21 dm2",
    "root_chord": "220 mm",
    "tip_chord": "150 mm",
    "section_thickness": "9 %",
    "balance_point": "60 mm",
    "neutral_point": "75 mm",
    "lift_slope": "4.2",
    "drag_zero": "0.035",
    "span_efficiency": "0.8",
    "roll_inertia": "0.05 kg m2",
    "pitch_inertia": "0.03 kg m2",
    "yaw_inertia": "0.07 kg m2",
    "aileron_travel": "15 deg",
    "trim": "-3 deg",
    "no_load_current": "1.3 A",
    "capacity": "2200 mAh",
    "throttle": "95 %",
    "pull": "12 N",
    "current": "17 A",
    "volts": "11.9 V",
    "rpm": "9300 rpm",
    "release_speed": "8.5 m/s",
    "stretch": "8 m",
    "jerk_level": "8 m/s2",
    "jerk_dwell": "0.1 s",
    "start_wait": "0.6 s",
    "still_time": "1 s",
    "speed_gate": "6 m/s",
    "climb_pitch": "15 deg",
    "early_pitch": "8 deg",
    "early_speed": "9 m/s",
    "handover_height": "35 m",
    "pitch_low": "-10 deg",
    "pitch_high": "45 deg",
    "bank": "40 deg",
    "distance": "80 m",
    "height": "8 m",
    "width": "20 m",
    "latitude": "47.00117 deg",
    "longitude": "8.00099 deg",
    "launch_direction": "250 deg",
    "wind": "3 m/s",
    "wind_height": "10 m",
    "pressure": "1013 hPa",
    "pack_volts": "12.4 V",
}
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
    usual: str = ""

    @property
    def example(self) -> str:
        """Return an amount as one writes it here: a usual one, else the middle of the range.

        The middle is the geometric mean of positive limits, a quarter of the upper limit otherwise.
        """
        if self.usual:
            return self.usual
        middle = math.sqrt(self.low * self.high) if self.low > 0.0 else 0.25 * self.high
        return from_si(middle, self.dimension, self.dimension.example.partition(" ")[2], 2)

    def parse(self, raw: Any) -> Quantity:
        """Return the quantity that was written; raises UnitError with the cure."""
        if isinstance(raw, Quantity):
            return raw
        value_text, spread_text, known = _parts(raw, self.example)
        value = to_si(value_text, self.dimension, example=self.example)
        if not self.low <= value <= self.high:
            unit = unit_of(value_text) or self.dimension.example.partition(" ")[2]
            low, high = (from_si(limit, self.dimension, unit, 3) for limit in (self.low, self.high))
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


def _parts(raw: Any, usual: str) -> tuple[Any, Any, Known]:
    """Return value, spread and flag as they were written; the value is not yet looked at."""
    example = f"write for example {usual}"
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
    usual = default or USUAL.get(key, "")
    shape: Kind = kind or ("lognormal" if limits[0] > 0.0 else "normal")
    extra: dict[str, Any] = {"amount": Amount(dimension, *limits, *spreads, shape, help, source, usual)}
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
    extra: dict[str, Any] = {
        "amount": Amount(dimension, *limits, *spreads, kind, help, "", USUAL.get(key, ""))
    }
    return Field(default=None, alias=key, description=help, json_schema_extra=extra)

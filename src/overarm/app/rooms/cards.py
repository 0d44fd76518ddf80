"""The cards as a JSON Schema with help, units, ranges, defaults and spreads, for forms on a screen."""

from __future__ import annotations

from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from overarm.describe.card import Card, amount_of, card_of
from overarm.describe.cards import PropellerSize, Setup
from overarm.describe.quantity import Amount
from overarm.units import unit_of

PLAIN = {str: "string", bool: "boolean", int: "integer", float: "number"}


def cards_schema() -> dict[str, Any]:
    """Return the schema of a setup; each amount carries its rule under ``x-amount``."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **_card(Setup)}


def _card(card: type[Card]) -> dict[str, Any]:
    fields = {info.alias or name: info for name, info in card.model_fields.items()}
    return {
        "type": "object",
        "title": card.__name__,
        "description": (card.__doc__ or "").strip().splitlines()[0],
        "properties": {key: _field(info) for key, info in fields.items()},
        "required": [key for key, info in fields.items() if info.is_required()],
        "additionalProperties": False,
    }


def _field(info: FieldInfo) -> dict[str, Any]:
    rule = amount_of(info)
    found = _amount(rule) if rule is not None else _kind(info.annotation)
    if info.description:
        found["description"] = info.description
    default = _default(info)
    if default is not None:
        found["default"] = default
    for item in info.metadata:
        for ours, theirs in (("maxLength", "max_length"), ("minimum", "ge"), ("maximum", "le")):
            limit = getattr(item, theirs, None)
            if limit is not None:
                found["maxItems" if found.get("type") == "array" else ours] = limit
    return found


def _amount(rule: Amount) -> dict[str, Any]:
    """Return the rule of an amount; ``low`` and ``high`` are SI and inclusive."""
    units = rule.dimension.units.replace(" or ", ", ")
    return {
        "type": ["string", "number", "object"],
        "x-amount": {
            "dimension": rule.dimension.name,
            "si": rule.dimension.si,
            "units": [] if units == "no unit" else [unit.strip() for unit in units.split(",")],
            "unit": unit_of(rule.example),
            "example": rule.example,
            "low": rule.low,
            "high": rule.high,
            "measured": rule.measured,
            "guessed": rule.guessed,
            "kind": rule.kind,
            "source": rule.source,
        },
    }


def _default(info: FieldInfo) -> Any:
    """Return the default as it would be written; None if there is none, or it is a card of its own."""
    if info.is_required():
        return None
    value = info.get_default(call_default_factory=True, validated_data={})
    if isinstance(value, str):
        return value.removesuffix(" default")
    return value if isinstance(value, bool | int | float) else None


def _kind(annotation: Any) -> dict[str, Any]:
    """Return the schema of what is no amount."""
    origin, inside = get_origin(annotation), get_args(annotation)
    if origin in (Union, UnionType):
        return _kind(next(part for part in inside if part is not NoneType))
    if origin is Literal:
        return {"enum": list(inside)}
    if origin in (tuple, list):
        return {"type": "array", "items": _kind(inside[0])}
    if origin is dict:
        return {"type": "object", "additionalProperties": _kind(inside[1])}
    card = card_of(annotation)
    if card is not None:
        return _card(card)
    if annotation is PropellerSize:
        return {"type": "string", "x-size": {"example": "9x6 in"}}
    if annotation is Path:
        return {"type": "string", "x-file": True}
    return {"type": PLAIN[annotation]} if annotation in PLAIN else {}

"""What every card shares: strict keys, and quantities parsed by their field's own rule."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from overarm.describe.quantity import Amount
from overarm.units import UnitError


class Card(BaseModel):
    """A card: immutable, no unknown keys, keys as in the YAML file."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, strict=True, allow_inf_nan=False
    )

    @field_validator("*", mode="before")
    @classmethod
    def _parse_amount(cls, raw: Any, info: ValidationInfo) -> Any:
        field = cls.model_fields[info.field_name] if info.field_name else None
        spec = amount_of(field) if field is not None else None
        if spec is None or (raw is None and field is not None and field.default is None):
            return raw
        try:
            return spec.parse(raw)
        except UnitError as error:
            raise PydanticCustomError("amount", "{reason}", {"reason": str(error)}) from error


def amount_of(field: FieldInfo) -> Amount | None:
    """Return the rule of a field that holds a quantity; None for any other field."""
    extra = field.json_schema_extra
    spec = extra.get("amount") if isinstance(extra, dict) else None
    return spec if isinstance(spec, Amount) else None


def card_of(annotation: Any) -> type[Card] | None:
    """Return the card class inside an annotation such as ``tuple[Reading, ...]`` or ``Tail | None``."""
    if isinstance(annotation, type) and issubclass(annotation, Card):
        return annotation
    inside: Iterator[type[Card] | None] = (card_of(part) for part in getattr(annotation, "__args__", ()))
    return next((found for found in inside if found is not None), None)


def keys_of(card: type[Card]) -> dict[str, FieldInfo]:
    """Return the fields of a card by their keys in the YAML file."""
    return {info.alias or name: info for name, info in card.model_fields.items()}


def card_at(card: type[Card], path: tuple[str | int, ...]) -> type[Card] | None:
    """Return the card class at a path below a card; None if there is none."""
    found: type[Card] | None = card
    for part in path:
        if isinstance(part, str) and found is not None:
            info = keys_of(found).get(part)
            found = card_of(info.annotation) if info is not None else None
    return found


def field_at(card: type[Card], path: tuple[str | int, ...]) -> FieldInfo | None:
    """Return the field at a path below a card, list items passed over; None if there is none."""
    words = [part for part in path if isinstance(part, str)]
    holder = card_at(card, tuple(words[:-1])) if words else None
    return keys_of(holder).get(words[-1]) if holder is not None else None

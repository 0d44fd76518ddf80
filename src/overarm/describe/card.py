"""What every card shares: strict keys, and quantities parsed by their field's own rule."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from overarm.describe.quantity import Amount
from overarm.units import UnitError


class Card(BaseModel):
    """A card: immutable, no unknown keys, keys as in the YAML file."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True, strict=True)

    @field_validator("*", mode="before")
    @classmethod
    def _parse_amount(cls, raw: Any, info: ValidationInfo) -> Any:
        field = cls.model_fields[info.field_name] if info.field_name else None
        extra = field.json_schema_extra if field is not None else None
        spec = extra.get("amount") if isinstance(extra, dict) else None
        if not isinstance(spec, Amount) or raw is None:
            return raw
        try:
            return spec.parse(raw)
        except UnitError as error:
            raise PydanticCustomError("amount", "{reason}", {"reason": str(error)}) from error

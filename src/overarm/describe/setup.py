"""A setup: all cards together, and what only shows when they are together."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import Field, PrivateAttr, model_validator
from pydantic_core import PydanticCustomError

from overarm.describe.airframe import Airframe
from overarm.describe.card import Card
from overarm.describe.day import Day
from overarm.describe.line import Line
from overarm.describe.places import Origin
from overarm.describe.power import Power
from overarm.describe.quantity import Quantity
from overarm.describe.settings import Settings
from overarm.describe.site import Site
from overarm.describe.thrower import Thrower
from overarm.describe.together import CARDS, Parts, faults

SCHEMA_VERSION = 1

Style = Literal["throw-started", "spin-in-hand", "line-launched"]


class Setup(Card):
    """One aeroplane, one person or line, one field, one day."""

    schema_version: Literal[1] = Field(alias="overarm", description="Version of this file's form.")
    name: str = Field(max_length=500, description="The name that is printed on the sheet.")
    style: Style = Field(
        description="Which of the three launches: throw-started, spin-in-hand, line-launched."
    )
    airframe: Airframe
    power: Power
    thrower: Thrower | None = None
    line: Line | None = None
    settings: Settings
    site: Site
    day: Day
    _origin: Origin = PrivateAttr(default_factory=Origin)

    @model_validator(mode="after")
    def _together(self) -> Self:
        found = faults(_parts(self))
        if found:
            reasons = ". ".join(f"{fault.where}: {fault.reason}. {fault.cure}" for fault in found)
            raise PydanticCustomError("together", "{reasons}", {"reasons": reasons})
        return self

    @property
    def origin(self) -> Origin:
        """Return where it was written; empty for a setup that was not read from a file."""
        return self._origin

    def set_origin(self, origin: Origin) -> None:
        """Say where it was written; the reader does."""
        self._origin = origin

    def inputs(self) -> Iterator[tuple[str, Quantity]]:
        """Yield every quantity with its path, such as ``airframe.board.tilt``."""
        yield from _walk(self, "")

    def values(self) -> dict[str, Any]:
        """Return everything as plain SI values, for hashing and for JSON."""
        return _plain(self)  # type: ignore[no-any-return]

    def hash(self) -> str:
        """Return a short hash of all values: the same numbers give the same hash."""
        text = json.dumps(self.values(), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def _digest(file: Path) -> str:
    """Return what stands in a file, not where it lies; its name if it cannot be read."""
    try:
        with file.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        return file.name


def _parts(setup: Setup) -> Parts:
    cards = {key: getattr(setup, key) for key in CARDS}
    there = frozenset(key for key, card in cards.items() if card is not None)
    return Parts(setup.style, there, **cards)


def _walk(card: Card, path: str) -> Iterator[tuple[str, Quantity]]:
    for field, info in type(card).model_fields.items():
        value = getattr(card, field)
        name = f"{path}{info.alias or field}"
        if isinstance(value, Quantity):
            yield name, value
        elif isinstance(value, Card):
            yield from _walk(value, f"{name}.")
        elif isinstance(value, tuple):
            for k, item in enumerate(value):
                yield from _walk(item, f"{name}.{k}.")


def _plain(value: Any) -> Any:
    if isinstance(value, Quantity):
        return [value.value, value.spread, value.kind]
    if isinstance(value, Card):
        return {
            info.alias or field: _plain(getattr(value, field))
            for field, info in type(value).model_fields.items()
        }
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, dict | str | int | float | bool | None):
        return value
    if isinstance(value, Path):
        return _digest(value)
    if hasattr(value, "diameter_m"):
        return [value.diameter_m.value, value.pitch_m.value]
    return str(value)

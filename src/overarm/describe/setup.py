"""A setup: all cards together, and what only shows when they are together."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import Any, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from overarm.describe.airframe import Airframe
from overarm.describe.card import Card
from overarm.describe.day import Day
from overarm.describe.line import Line
from overarm.describe.power import Power
from overarm.describe.quantity import Quantity
from overarm.describe.settings import Settings
from overarm.describe.site import Site
from overarm.describe.thrower import Thrower

SCHEMA_VERSION = 1
AREA_TOLERANCE = 0.03
LEAST_SPIN_GAP_M = 0.15

Style = Literal["throw-started", "spin-in-hand", "line-launched"]


class Setup(Card):
    """One aeroplane, one person or line, one field, one day."""

    schema_version: Literal[1] = Field(alias="overarm", description="Version of this file's form.")
    name: str = Field(max_length=500, description="The name that is printed on the sheet.")
    style: Style = Field(description="Which of the three launches: throw-started, spin-in-hand, line-launched.")
    airframe: Airframe
    power: Power
    thrower: Thrower | None = None
    line: Line | None = None
    settings: Settings
    site: Site
    day: Day

    @model_validator(mode="after")
    def _together(self) -> Self:
        for where, reason in _faults(self):
            raise PydanticCustomError("together", "{where}: {reason}", {"where": where, "reason": reason})
        return self

    def inputs(self) -> Iterator[tuple[str, Quantity]]:
        """Yield every quantity with its path, such as ``airframe.board.tilt``."""
        yield from _walk(self, "")

    def unknown_inputs(self) -> tuple[str, ...]:
        """Return the paths of what was guessed: it has a spread and was not measured."""
        return tuple(path for path, item in self.inputs() if item.known != "measured" and item.spread > 0.0)

    def values(self) -> dict[str, Any]:
        """Return everything as plain SI values, for hashing and for JSON."""
        return _plain(self)  # type: ignore[no-any-return]

    def hash(self) -> str:
        """Return a short hash of all values: the same numbers give the same hash."""
        text = json.dumps(self.values(), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def _faults(setup: Setup) -> Iterator[tuple[str, str]]:
    airframe = setup.airframe
    if setup.style == "line-launched":
        if setup.line is None:
            yield "line", "a line-launched setup needs a line card; add line: with its stretch and stiffness"
        elif setup.line.stiffness_npm is None and not setup.line.pull_points:
            yield "line.stiffness", "the line has no stiffness; give stiffness, or pull_points"
        if setup.thrower is not None:
            yield "thrower", "a line-launched setup has no thrower; take the card out"
    elif setup.thrower is None:
        yield "thrower", "a hand launch needs a thrower card; add thrower: with its release_speed"
    elif setup.line is not None:
        yield "line", "a hand launch has no line; take the card out, or choose style: line-launched"
    sheet = 0.5 * (airframe.root_chord_m.value + airframe.tip_chord_m.value) * airframe.span_m.value
    if abs(airframe.area_m2.value / sheet - 1.0) > AREA_TOLERANCE:
        yield "airframe.area", f"span and chords give {sheet:.3g} m2; correct the area, the span or a chord"
    if airframe.layout == "conventional" and airframe.tail is None:
        yield "airframe.tail", "a conventional layout needs its tail; add tail: with arm, area and span"
    neutral = airframe.neutral_point_m
    if neutral is not None and airframe.balance_point_m.value >= neutral.value:
        yield (
            "airframe.balance_point",
            f"the balance point is behind the neutral point at {neutral.value * 1000:.0f} mm: it cannot fly; move the pack forward",
        )
    if setup.style == "spin-in-hand" and setup.power.position == "pusher" and setup.thrower is not None:
        if airframe.grip_gap_m.value < LEAST_SPIN_GAP_M or not setup.thrower.two_person:
            yield (
                "style",
                "a pusher that spins in the hand shares its space with the arm: refused; choose throw-started, or "
                "give airframe.grip_gap of 15 cm or more and thrower.two_person: true",
            )


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
        return {info.alias or field: _plain(getattr(value, field)) for field, info in type(value).model_fields.items()}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, dict | str | int | float | bool | None):
        return value
    if hasattr(value, "diameter_m"):
        return [value.diameter_m.value, value.pitch_m.value]
    return str(value)

"""The mapping file: which name of the aircraft is which of our keys, in which unit.

A YAML file that the builder writes; every fault is told at once with its line, column and cure.
"""

from __future__ import annotations

from collections.abc import Mapping as Map
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from overarm.describe.card import Card
from overarm.describe.document import Document, read_document, trouble
from overarm.describe.entries import entries
from overarm.describe.faults import in_words
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.readback.keys import SettingKey, nearest_key, setting_keys
from overarm.readback.scale import Scale, scale_of
from overarm.units import LENGTH, UnitError

FORM = 1
MOST_NAMES = 500

Reference = Literal["launch", "sea", "ground"]


class _Entry(Card):
    """What one name of the aircraft is."""

    key: str = Field(max_length=100, description="The key of the settings card, such as start_wait.")
    unit: str = Field(default="", max_length=60, description="The unit that the aircraft reports in.")
    scale: float = Field(
        default=1.0, strict=False, description="What to multiply the number by, before the unit."
    )
    offset: float = Field(default=0.0, strict=False, description="What to add then, before the unit.")
    words: dict[str, Any] | None = Field(default=None, description="The aircraft's words and ours.")
    off: str | int | float | None = Field(default=None, description="What is reported when it is not used.")


class _Table(Card):
    """Columns of a table of settings, by their heads."""

    name: str = Field(max_length=200, description="The head of the column of names.")
    value: str = Field(max_length=200, description="The head of the column of values.")


class _Route(Card):
    """Columns of a table of route points, and what heights are counted from."""

    latitude: str | None = Field(
        default=None, max_length=200, description="The head of the latitudes, in degrees."
    )
    longitude: str | None = Field(
        default=None, max_length=200, description="The head of the longitudes, in degrees."
    )
    ahead: str | None = Field(
        default=None, max_length=200, description="The head of the distances along the launch line."
    )
    right: str | None = Field(
        default=None, max_length=200, description="The head of the distances to its right."
    )
    height: str | None = Field(default=None, max_length=200, description="The head of the heights.")
    name: str | None = Field(default=None, max_length=200, description="The head of the names.")
    unit: str = Field(default="m", max_length=60, description="The unit of ahead and right.")
    height_unit: str = Field(default="m", max_length=60, description="The unit of the heights.")
    height_from: Literal["file", "launch", "sea", "ground"] = Field(
        default="file", description="What heights are counted from; file: as its kind says, a table launch."
    )


class _File(Card):
    """A mapping file."""

    form: Literal[1] = Field(alias="overarm_map", description="Version of this file's form.")
    aircraft: str = Field(default="", max_length=200, description="The aircraft in your own words.")
    decimal: Literal["point", "comma"] = Field(default="point", description="How decimals are written.")
    table: _Table | None = Field(default=None, description="Heads of the columns of a table of settings.")
    settings: dict[str, Any] = Field(
        default={}, max_length=MOST_NAMES, description="The aircraft's names, each with our key and its unit."
    )
    ignore: tuple[str, ...] = Field(
        default=(), max_length=5000, strict=False, description="The aircraft's names that are not ours."
    )
    route: _Route | None = Field(default=None, description="Columns and height reference of the route.")


@dataclass(frozen=True, slots=True)
class Tie:
    """One name of the aircraft, tied to a key of ours."""

    name: str
    key: SettingKey
    scale: Scale | None
    words: Map[str, str]  # what the aircraft says, folded, to what the card says
    off: str | None
    place: Place


@dataclass(frozen=True, slots=True)
class RouteColumns:
    """How a table of route points is read; columns by their heads."""

    columns: Map[str, str] = field(default_factory=dict)  # "latitude" -> head
    metres: float = 1.0
    height_metres: float = 1.0
    height_from: Reference | None = None


@dataclass(frozen=True, slots=True)
class Mapping:
    """A mapping as it is used."""

    file: str
    aircraft: str
    decimal_comma: bool
    ties: tuple[Tie, ...]
    ignore: frozenset[str]
    table: tuple[str, str] | None
    route: RouteColumns

    def tie_of(self, name: str) -> Tie | None:
        """Return what a name of the aircraft is tied to; upper and lower case are one."""
        return next((tie for tie in self.ties if tie.name.casefold() == name.casefold()), None)


def load_mapping(file: Path) -> Mapping:
    """Return the mapping of a file. Raises InputError with every fault of it."""
    document = read_document(file)
    start = Place(str(file), 1, 1)
    if not isinstance(document.data, dict):
        cure = "Write keys and values, as `overarm readback --new-map` does"
        raise InputError([Problem("is not a mapping", cure, *start)])
    _check_form(document, start)
    problems = document.problems
    found = _File.model_construct(settings={}, ignore=(), route=None, table=None)
    try:
        found = _File.model_validate(document.data)
    except ValidationError as error:
        problems += in_words(_File, error, document, start)
    settings = document.data.get("settings")
    ties = _ties(document, settings if isinstance(settings, dict) else {})
    _check_names(document, ties)
    route = _route(document, found.route)
    if not ties and found.route is None and not problems:
        cure = "Tie a name to a key under settings:, such as motor_delay: {key: start_wait, unit: ms}"
        problems.append(trouble("ties nothing", cure, start, "settings"))
    if problems:
        raise InputError(sorted(problems, key=lambda item: (item.line, item.column)))
    table = (found.table.name, found.table.value) if found.table is not None else None
    ignore = frozenset(name.casefold() for name in found.ignore)
    return Mapping(str(file), found.aircraft, found.decimal == "comma", tuple(ties), ignore, table, route)


def _check_form(document: Document, start: Place) -> None:
    """Refuse a file that is no mapping, such as a setup; nothing else in it could be judged."""
    form = document.data.get("overarm_map")
    if type(form) is int and form == FORM:
        return
    cure = f"Begin the mapping with `overarm_map: {FORM}`"
    if form is None:
        reason = "is a setup, no mapping" if "overarm" in document.data else "is not a mapping"
        raise InputError([trouble(reason, cure, start, "overarm_map")])
    place = document.values[("overarm_map",)]
    reason = "is a form that this version does not read"
    raise InputError([trouble(reason, cure, place, "overarm_map", str(form))])


def _ties(document: Document, settings: dict[str, Any]) -> list[Tie]:
    ties: list[Tie] = []
    for name, entry, place in entries(document, "settings", settings, _Entry, "{key: start_wait, unit: ms}"):
        tie = _tie(document, name, entry, place)
        if tie is not None:
            ties.append(tie)
    return ties


def _tie(document: Document, name: str, entry: _Entry, place: Place) -> Tie | None:
    def refuse(part: str, message: str, cure: str, value: str = "") -> None:
        where = document.place_of(("settings", name, part)) or place
        document.problems.append(trouble(message, cure, where, f"settings.{name}.{part}", value))

    key = setting_keys().get(entry.key)
    if key is None:
        refuse("key", "is not a key of the settings card", nearest_key(entry.key), entry.key)
        return None
    before = len(document.problems)
    scale = None
    if key.amount is not None:
        if entry.words is not None:
            refuse(
                "words",
                f"stands beside {key.key}, which is {key.amount.dimension.with_article}",
                "Take it out",
            )
        try:
            scale = scale_of(entry.unit, key.amount.dimension, entry.scale, entry.offset)
        except UnitError as error:
            reason, _, cure = str(error).partition("; ")
            more = f"{cure[:1].upper()}{cure[1:]}" if cure else "Give a unit of that kind"
            refuse("unit" if entry.scale else "scale", reason, more, entry.unit)
    elif entry.unit or entry.scale != 1.0 or entry.offset:
        part = "unit" if entry.unit else "scale" if entry.scale != 1.0 else "offset"
        refuse(part, f"stands beside {key.key}, which is a choice", "Take it out; write words: instead")
    words = _words(key, entry, refuse) if key.choices else {}
    if len(document.problems) > before:
        return None
    off = None if entry.off is None else _plain(entry.off)
    return Tie(name, key, scale, words, off, place)


def _plain(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _words(key: SettingKey, entry: _Entry, refuse: Any) -> dict[str, str]:
    """Return the aircraft's words, folded, with ours; a key's own words need no telling."""
    choices = [str(choice) for choice in key.choices]
    told = {choice.casefold(): choice for choice in choices}
    for theirs, ours in (entry.words or {}).items():
        if str(ours) not in choices:
            cure = f"Write one of {', '.join(choices)}; put it in quotes if it is a number"
            refuse("words", f"has {theirs!r} for what {key.key} cannot be", cure, str(ours))
        else:
            told[theirs.strip().casefold()] = str(ours)
    return told


def _check_names(document: Document, ties: list[Tie]) -> None:
    """Tell of two names for one key, and of a name that is tied and ignored."""
    by_key: dict[str, Tie] = {}
    by_name: dict[str, Tie] = {}
    for tie in ties:
        first = by_key.setdefault(tie.key.key, tie)
        if first is not tie:
            reason = f"is tied to {tie.key.key} like {first.name} on line {first.place.line}"
            cure = "Keep the one that the aircraft uses, and put the other under ignore:"
            document.problems.append(trouble(reason, cure, tie.place, f"settings.{tie.name}"))
        twin = by_name.setdefault(tie.name.casefold(), tie)
        if twin is not tie:
            reason = f"differs from {twin.name} on line {twin.place.line} only in upper and lower case"
            document.problems.append(trouble(reason, "Keep one of them", tie.place, f"settings.{tie.name}"))
    ignore = document.data.get("ignore")
    for k, name in enumerate(ignore if isinstance(ignore, list) else ()):
        if isinstance(name, str) and name.casefold() in by_name:
            place = document.place_of(("ignore", k)) or Place("", 1, 1)
            cure = "Take it out here, or under settings:"
            document.problems.append(
                trouble("is tied to a key and ignored", cure, place, f"ignore.{k}", name)
            )


def _route(document: Document, route: _Route | None) -> RouteColumns:
    if route is None:
        return RouteColumns()
    start = document.place_of(("route",), at_key=True) or Place("", 1, 1)
    metres = []
    for part, unit in (("unit", route.unit), ("height_unit", route.height_unit)):
        try:
            metres.append(scale_of(unit, LENGTH).factor)
        except UnitError as error:
            reason, _, cure = str(error).partition("; ")
            place = document.place_of(("route", part)) or start
            more = f"{cure[:1].upper()}{cure[1:]}"
            document.problems.append(trouble(reason, more, place, f"route.{part}", unit))
            metres.append(1.0)
    for one, other in (("latitude", "longitude"), ("ahead", "right")):
        if (getattr(route, one) is None) != (getattr(route, other) is None):
            there = one if getattr(route, one) is not None else other
            place = document.place_of(("route", there)) or start
            cure = f"Give {one} and {other}, or neither"
            document.problems.append(trouble("stands alone", cure, place, f"route.{there}"))
    names = ("latitude", "longitude", "ahead", "right", "height", "name")
    columns = {name: str(getattr(route, name)) for name in names if getattr(route, name) is not None}
    reference = None if route.height_from == "file" else route.height_from
    return RouteColumns(columns, metres[0], metres[1], reference)

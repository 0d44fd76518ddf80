"""A study file: which setups, throwers, winds and changes are flown with each other."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal, NamedTuple

from pydantic import Field, ValidationError

from overarm.describe.card import Card
from overarm.describe.cards import Setup
from overarm.describe.document import Document, Keys, read_document, trouble
from overarm.describe.faults import in_words
from overarm.describe.places import Place
from overarm.describe.reader import CARD_SUFFIXES, file_beside, load
from overarm.describe.thrower import Thrower
from overarm.errors import InputError, Problem
from overarm.odds.stop import LIMIT_LAUNCHES

FORM = 1
KEY = "overarm_fleet"
MOST_OF_AN_AXIS = 200
LONGEST_LABEL = 60
BESIDE = "Put the file beside the study and name it by a relative path"
AXES = ("throwers", "winds", "changes")
FORMS = {
    "throwers": "a thrower card beside the study, such as tall.yaml, or changes, such as "
    "{thrower.release_speed: 7.5 m/s}",
    "winds": "a wind, such as 3 m/s, or changes, such as {day.wind: 3 m/s, day.wind_angle: 20 deg}",
    "changes": "changes, such as {settings.start_wait: 0.7 s}",
}
PLAIN = "Use up to 60 printable letters, and do not begin with = or @"


class _File(Card):
    """A fleet study."""

    form: Literal[1] = Field(alias="overarm_fleet", description="Version of this file's form.")
    name: str = Field(max_length=200, description="The study in your own words.")
    launches: int = Field(default=2000, ge=100, le=LIMIT_LAUNCHES, description="Launches of a cell.")
    seed: int = Field(default=1, ge=0, le=2**62, description="The same seed gives the same answer.")
    setups: dict[str, Any] = Field(
        max_length=MOST_OF_AN_AXIS, description="Names, each with a setup file beside the study."
    )
    throwers: dict[str, Any] = Field(
        default={}, max_length=MOST_OF_AN_AXIS, description="Names, each with a thrower card or changes."
    )
    winds: dict[str, Any] = Field(
        default={}, max_length=MOST_OF_AN_AXIS, description="Names, each with a wind or changes."
    )
    changes: dict[str, Any] = Field(
        default={}, max_length=MOST_OF_AN_AXIS, description="Names, each with any changes of a setup."
    )


class Variant(NamedTuple):
    """One entry of an axis: its name, what it changes, and where each change was written."""

    label: str
    changes: Mapping[str, Any]
    places: Mapping[str, Place]
    place: Place


class Study(NamedTuple):
    """A study as it is flown."""

    name: str
    launches: int
    seed: int
    setups: tuple[tuple[str, Setup], ...]
    throwers: tuple[Variant, ...]
    winds: tuple[Variant, ...]
    changes: tuple[Variant, ...]


def load_study(file: Path) -> Study:
    """Return the study of a YAML file. Raises InputError with every fault of it and of its setups."""
    document = read_document(file)
    start = Place(str(file), 1, 1)
    _check_form(document, start)
    found = None
    try:
        found = _File.model_validate(document.data)
    except ValidationError as error:
        document.problems += in_words(_File, error, document, start)
    raw: dict[str, Any] = {
        key: value
        for key in ("setups", *AXES)
        if isinstance(value := document.data.get(key), dict) and len(value) <= MOST_OF_AN_AXIS
    }
    setups = tuple(_setups(document, file, raw.get("setups", {}), start))
    axes = {axis: tuple(_variants(document, file, axis, raw.get(axis, {}))) for axis in AXES}
    if not setups and not document.problems:
        cure = "Name one under setups:, such as kestrel: b-kestrel.yaml"
        document.problems.append(trouble("flies nothing", cure, start, "setups"))
    if document.problems or found is None:
        order = sorted(document.problems, key=lambda item: (item.file != str(file), item.file, item.line))
        raise InputError(order)
    return Study(found.name, found.launches, found.seed, setups, **axes)


def _check_form(document: Document, start: Place) -> None:
    """Refuse a file that is no study; nothing else in it could be judged."""
    cure = f"Begin the study with `{KEY}: {FORM}`"
    if not isinstance(document.data, dict) or KEY not in document.data:
        raise InputError([trouble("is not a fleet study", cure, start)])
    form = document.data[KEY]
    if type(form) is not int or form != FORM:
        place = document.values[(KEY,)]
        raise InputError([trouble("is a form that this version does not read", cure, place, KEY, str(form))])


def _labelled(document: Document, axis: str, label: str) -> Place:
    """Return the place of an entry; its label is kept as a problem if no table can hold it."""
    place = document.place_of((axis, label), at_key=True) or Place("", 1, 1)
    if not 1 <= len(label) <= LONGEST_LABEL or not label.isprintable() or label[0] in "=@":
        document.problems.append(trouble("is no name for a table", PLAIN, place, axis, label))
    return place


def _named_file(document: Document, file: Path, path: Keys, name: str) -> Path | None:
    """Return a YAML file beside the study; None, with a problem, if there is none."""
    found, message = file_beside(file.parent, name)
    if found is None:
        place = document.place_of(path) or Place(str(file), 1, 1)
        told = message.replace("the setup", "the study")
        document.problems.append(trouble(told, BESIDE, place, ".".join(map(str, path)), name))
    return found


def _setups(document: Document, file: Path, raw: dict[str, Any], start: Place) -> list[tuple[str, Setup]]:
    out = []
    for label, name in raw.items():
        _labelled(document, "setups", label)
        path: Keys = ("setups", label)
        if not isinstance(name, str):
            place = document.place_of(path) or start
            cure = "Write the name of a setup file beside the study"
            document.problems.append(trouble("names no file", cure, place, f"setups.{label}"))
            continue
        found = _named_file(document, file, path, name)
        if found is None:
            continue
        try:
            out.append((label, load(found)))
        except InputError as error:
            document.problems += error.problems
    return out


def _variants(document: Document, file: Path, axis: str, raw: dict[str, Any]) -> list[Variant]:
    """Return the entries of an axis; what is none is kept among the problems."""
    out = []
    for label, value in raw.items():
        place = _labelled(document, axis, label)
        path: Keys = (axis, label)
        if isinstance(value, dict):
            places = {key: document.place_of((*path, key), at_key=True) or place for key in value}
            out.append(Variant(label, value, places, place))
        elif axis == "winds" and isinstance(value, str | int | float) and not isinstance(value, bool):
            wind = document.place_of(path) or place
            out.append(Variant(label, {"day.wind": value}, {"day.wind": wind}, place))
        elif axis == "throwers" and isinstance(value, str) and value.lower().endswith(CARD_SUFFIXES):
            card = _named_file(document, file, path, value)
            if card is not None:
                out.append(Variant(label, {"thrower": _thrower(document, card)}, {"thrower": place}, place))
        else:
            told = "" if value is None else str(value)
            document.problems.append(
                trouble("changes nothing", f"Write {FORMS[axis]}", place, f"{axis}.{label}", told)
            )
    return out


def _thrower(document: Document, file: Path) -> Any:
    """Return the data of a thrower card; its faults are kept at their places in its file."""
    try:
        inner = read_document(file)
    except InputError as error:
        document.problems += error.problems
        return None
    document.problems += inner.problems
    try:
        Thrower.model_validate(inner.data)
    except ValidationError as error:
        document.problems += in_words(Thrower, error, inner, Place(str(file), 1, 1))
    return inner.data


def at_its_place(problem: Problem, variants: tuple[Variant, ...], otherwise: Place) -> Problem:
    """Return a problem of a change at the place where that change was written."""
    for variant in variants:
        for key, place in variant.places.items():
            if problem.key == key or problem.key.startswith(f"{key}."):
                return trouble(problem.message, problem.cure, place, problem.key, problem.value)
    return trouble(problem.message, problem.cure, otherwise, problem.key, problem.value)

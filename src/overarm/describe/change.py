"""A setup with some of its inputs written anew: what-if, search and read-back all go through here."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from overarm.describe.card import Card, keys_of
from overarm.describe.document import Document
from overarm.describe.faults import in_words
from overarm.describe.places import Place
from overarm.describe.reader import BESIDE, FILE_KEYS, file_beside
from overarm.describe.setup import Setup
from overarm.errors import InputError, Problem

# Keys that say what another key is when that one is left out; a change of the first renews the second.
COMPUTED_FROM = {"site.ground": "site.roughness"}
NOWHERE = Place("", 0, 0)
LEFT_OUT = ("", "none")
FILES = frozenset(".".join(path) for path in FILE_KEYS)


def changed(setup: Setup, changes: Mapping[str, Any]) -> Setup:
    """Return the setup with some inputs changed.

    Parameters
    ----------
    setup : Setup
    changes : mapping
        Path of each input, such as ``settings.start_wait`` or ``site.obstacles.0.height``, to what would
        be written in the file ("0.7 s"), or a `Quantity`; "none" takes an optional key out. A value
        without a flag of its own keeps the old one, measured or guessed, and not the old spread.

    Returns
    -------
    Setup
        The same origin, so that later faults still point into the file.

    Raises
    ------
    InputError
        With every key that no card has, every value that its field does not take, and what does not
        fit together.
    """
    data = _plain(setup)
    problems: list[Problem] = []
    for path, value in changes.items():
        problem = _put_file(data, path, value, setup) if path in FILES else _put(data, path, value)
        if problem is not None:
            problems.append(problem)
        renewed = COMPUTED_FROM.get(path)
        if renewed is not None and renewed not in changes:
            card, key = renewed.split(".")
            data[card].pop(key, None)
    if problems:
        raise InputError(problems)
    try:
        made = Setup.model_validate(data)
    except ValidationError as error:
        raise InputError(_told(error)) from None
    made.set_origin(setup.origin)
    return made


def written(setup: Setup, path: str) -> str:
    """Return what stands in a setup under the path of an input, such as "0.6 s"; "none" if nothing does."""
    here: Any = _plain(setup)
    for room in path.split("."):
        if isinstance(here, tuple):
            here = here[int(room)] if room.isdigit() and int(room) < len(here) else None
        else:
            here = here.get(room) if isinstance(here, dict) else None
    return "none" if here is None else str(getattr(here, "text", here))


def _told(error: ValidationError) -> list[Problem]:
    found = in_words(Setup, error, Document(), NOWHERE)
    together = [item["msg"] for item in error.errors() if item["type"] == "together"]
    return [*found, *(Problem(message, "Change both, or neither") for message in together)]


def _plain(card: Card) -> dict[str, Any]:
    """Return the cards of a card as mappings, what they hold as it is."""
    return {key: _inside(getattr(card, _field(card, key))) for key in keys_of(type(card))}


def _field(card: Card, key: str) -> str:
    return next(name for name, info in type(card).model_fields.items() if (info.alias or name) == key)


def _inside(value: Any) -> Any:
    if isinstance(value, Card):
        return _plain(value)
    if isinstance(value, tuple):
        return tuple(_inside(item) for item in value)
    return value


def _put(data: dict[str, Any], path: str, value: Any) -> Problem | None:
    """Put a value at its path; return what is wrong with the path."""
    *rooms, last = path.split(".")
    here: Any = data
    for k, room in enumerate(rooms):
        if isinstance(here, tuple):
            return Problem("is inside a list of readings", "Change the file itself", key=path)
        inside = here.get(room)
        if inside is None and room in here:
            inside = {}
        if isinstance(inside, tuple):
            return _put_in_list(here, room, (rooms[k + 1 :], last), value, path)
        if not isinstance(inside, dict):
            return Problem("is not a key of a setup", _cards(data), key=path)
        here[room] = inside
        here = inside
    if not rooms and last not in here:
        return Problem("is not a key of a setup", _cards_with(data, last), key=path)
    if _left_out(value):
        here.pop(last, None)
    else:
        here[last] = _flagged(here.get(last), value)
    return None


def _put_file(data: dict[str, Any], path: str, value: Any, setup: Setup) -> Problem | None:
    """Put a file beside the setup at its path; return what is wrong with it."""
    if not isinstance(value, str) or _left_out(value):
        return _put(data, path, value)
    found, message = file_beside(Path(setup.origin.file).parent, value)
    return _put(data, path, found) if found is not None else Problem(message, BESIDE, key=path, value=value)


def _left_out(value: Any) -> bool:
    return value is None or (isinstance(value, str) and value.strip().lower() in LEFT_OUT)


def _put_in_list(
    here: dict[str, Any], room: str, way: tuple[list[str], str], value: Any, path: str
) -> Problem | None:
    """Put a value into one entry of a list, such as the first obstacle."""
    rooms, last = way
    items = list(here[room])
    if len(rooms) != 1 or not rooms[0].isdigit() or int(rooms[0]) >= len(items):
        cure = f"Say which of the {len(items)}, from 0: {room}.0.{last}"
        return Problem("is inside a list", cure, key=path)
    entry = dict(items[int(rooms[0])])
    if _left_out(value):
        entry.pop(last, None)
    else:
        entry[last] = _flagged(entry.get(last), value)
    items[int(rooms[0])] = entry
    here[room] = tuple(items)
    return None


def _flagged(before: Any, value: Any) -> Any:
    """Return text with the flag of what stood there, unless it has one of its own."""
    known = getattr(before, "known", None)
    if known != "measured" or not isinstance(value, str):
        return value
    return value if value.split()[-1:] in (["measured"], ["guessed"], ["default"]) else f"{value} measured"


def _cards(data: dict[str, Any]) -> str:
    there = ", ".join(key for key, value in data.items() if isinstance(value, dict))
    return f"Begin with a card: {there}"


def _cards_with(data: dict[str, Any], key: str) -> str:
    there = [f"{card}.{key}" for card, value in data.items() if isinstance(value, dict) and key in value]
    return f"Say on which card: {' or '.join(there)}" if there else _cards(data)


def parse_changes(texts: list[str]) -> dict[str, str]:
    """Return the changes that were written as ``path=value``, such as ``settings.start_wait=0.7s``.

    Raises InputError for text without a path or a value, and for a path given twice.
    """
    changes: dict[str, str] = {}
    problems = []
    for text in texts:
        path, equals, value = (part.strip() for part in text.partition("="))
        if not equals or not path or not value:
            cure = "Write a key, an equals sign and a value, such as settings.start_wait=0.7s"
            problems.append(Problem("is no change", cure, value=text))
        elif path in changes:
            problems.append(Problem("is changed twice", "Keep one of them", key=path, value=value))
        changes[path] = value
    if problems:
        raise InputError(problems)
    return changes

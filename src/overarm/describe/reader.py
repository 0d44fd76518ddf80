"""Read a setup from YAML: every problem with its file, line, column, value and cure, all at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import ValidationError

from overarm.describe.card import Card
from overarm.describe.document import Document, read_document, trouble
from overarm.describe.faults import in_words
from overarm.describe.places import Origin, Place
from overarm.describe.setup import SCHEMA_VERSION, Setup
from overarm.describe.together import CARDS, Parts, faults
from overarm.errors import InputError, Problem

CARD_SUFFIXES = (".yaml", ".yml")
FILE_KEYS = (("power", "coefficient_table"), ("site", "obstacle_file"), ("site", "height_model"))
BESIDE = "Put the file beside the setup and name it by a relative path"


def load(path: str | Path) -> Setup:
    """Return the setup of a YAML file and of the card files that it names.

    Raises InputError with all problems of the file.
    """
    file = Path(path)
    document = read_document(file)
    if not isinstance(document.data, dict):
        cure = "Write keys and values, as the examples do"
        raise InputError([Problem("is not a setup", cure, str(file), 1, 1)])
    _check_version(document)
    _read_card_files(document, file)
    _find_files(document)
    return _setup(document, file)


def _setup(document: Document, file: Path) -> Setup:
    problems = document.problems
    try:
        setup = Setup.model_validate(document.data)
    except ValidationError as error:
        start = Place(str(file), 1, 1)
        told = {problem.key for problem in problems}
        found = in_words(Setup, error, document, start)
        problems += [problem for problem in found if problem.key not in told]
        for fault in faults(_parts(document.data)):
            path = tuple(int(part) if part.isdigit() else part for part in fault.where.split("."))
            place = document.place_of(path, at_key=True) or start
            problems.append(trouble(fault.reason, fault.cure, place, fault.where))
    if problems:
        raise InputError(sorted(problems, key=lambda item: (item.file != str(file), item.file, item.line)))
    places = {".".join(map(str, path)): place for path, place in document.values.items() if path}
    setup.set_origin(Origin(str(file), places))
    return setup


def _parts(data: dict[str, Any]) -> Parts:
    """Return the cards that can be read; a key that is wrong and can be left out is left out."""
    cards = {key: _card(kind, data[key]) for key, kind in CARDS.items() if isinstance(data.get(key), dict)}
    style = data.get("style")
    there = frozenset(key for key in CARDS if data.get(key) is not None)
    return Parts(style if isinstance(style, str) else None, there, **cards)


def _card(kind: type[Card], data: dict[str, Any]) -> Any:
    try:
        return kind.model_validate(data)
    except ValidationError as error:
        wrong = {item["loc"][0] for item in error.errors() if item["loc"]}
    try:
        return kind.model_validate({key: value for key, value in data.items() if key not in wrong})
    except ValidationError:
        return None


def _check_version(document: Document) -> None:
    """Refuse a form that is not ours; nothing else in the file could be judged."""
    version = document.data.get("overarm")
    if version is None or (type(version) is int and version == SCHEMA_VERSION):
        return
    cure = f"Write `overarm: {SCHEMA_VERSION}`, or use a newer Overarm"
    place = document.values[("overarm",)]
    raise InputError(
        [trouble("is a form that this version does not read", cure, place, "overarm", str(version))]
    )


def file_beside(folder: Path, name: str) -> tuple[Path | None, str]:
    """Return the file of this name in a folder or below, or None and what is wrong with the name."""
    home = folder.resolve()
    try:
        inside = not Path(name).is_absolute() and (home / name).resolve().is_relative_to(home)
        there = inside and (home / name).is_file()
    except (OSError, ValueError):
        inside, there = True, False
    if inside and there:
        return folder / name, ""
    return None, "is not a file that is there" if inside else "leads out of the folder of the setup"


def _beside(document: Document, file: Path, path: tuple[str, ...], name: str) -> Path | None:
    """Return a file named in a setup; None, with a problem, unless it lies in the setup's folder or below."""
    found, message = file_beside(file.parent, name)
    if found is None:
        document.problems.append(trouble(message, BESIDE, document.values[path], ".".join(path), name))
    return found


def _read_card_files(document: Document, file: Path) -> None:
    """Put the cards that have a file of their own in their places."""
    for key in CARDS:
        name = document.data.get(key)
        if not isinstance(name, str) or not name.lower().endswith(CARD_SUFFIXES):
            continue
        other = _beside(document, file, (key,), name)
        if other is None:
            continue
        try:
            inner = read_document(other)
        except InputError as error:
            document.problems += [item if item.key else _named(item, key) for item in error.problems]
            continue
        document.data[key] = inner.data
        document.keys.update({(key, *path): place for path, place in inner.keys.items()})
        document.values.update({(key, *path): place for path, place in inner.values.items()})
        document.problems += [_named(item, f"{key}.{item.key}") for item in inner.problems]


def _named(problem: Problem, key: str) -> Problem:
    return Problem(
        problem.message, problem.cure, problem.file, problem.line, problem.column, key, problem.value
    )


def _find_files(document: Document) -> None:
    """Put the paths of the files that cards name in their places."""
    for path in FILE_KEYS:
        card, key = path
        data = document.data.get(card)
        name = data.get(key) if isinstance(data, dict) else None
        if isinstance(data, dict) and isinstance(name, str):
            data[key] = _beside(document, Path(document.values[path].file), path, name)

"""Read a setup from YAML: every problem with its file, line, column, value and cure, all at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from rapidfuzz import process
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import AliasEvent, MappingStartEvent, SequenceStartEvent

from overarm.describe.setup import SCHEMA_VERSION, Setup
from overarm.errors import InputError, Problem

MOST_BYTES = 1_000_000
DEEPEST = 12
CARD_KEYS = ("airframe", "power", "thrower", "line", "settings", "site", "day")
CARD_SUFFIXES = (".yaml", ".yml")
LONGEST_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in a file; line and column from 1."""

    file: str
    line: int
    column: int


@dataclass(slots=True)
class Document:
    """Plain data of one or more files, with the place of each key."""

    data: Any = None
    places: dict[tuple[str | int, ...], Place] = field(default_factory=dict)


def load(path: str | Path) -> Setup:
    """Return the setup of a YAML file and of the card files that it names.

    Raises InputError with all problems of the file.
    """
    file = Path(path)
    document = Document()
    document.data = _plain(_parse(file), (), str(file), document.places)
    if not isinstance(document.data, dict):
        raise InputError([Problem("is not a setup", "Write keys and values, as `overarm new` does", str(file), 1, 1)])
    _read_card_files(document, file)
    _check_version(document, file)
    _resolve_table(document, file)
    try:
        return Setup.model_validate(document.data)
    except ValidationError as error:
        raise InputError([_problem(item, document, file) for item in error.errors()]) from None


def _text(file: Path) -> str:
    try:
        if file.is_dir():
            raise IsADirectoryError
        size = file.stat().st_size
        if size > MOST_BYTES:
            reason = f"is too large: {size:,} bytes; a setup has a few thousand"
            raise InputError([Problem(reason, f"Give a file below {MOST_BYTES:,} bytes", str(file))])
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        reason = f"is not text in UTF-8 (byte {error.start})"
        raise InputError([Problem(reason, "Save it as UTF-8 text", str(file))]) from error
    except OSError as error:
        reason = f"cannot be read: {error.strerror or 'it is a folder'}"
        raise InputError([Problem(reason, "Give the path of a YAML file", str(file))]) from error


def _parse(file: Path) -> Any:
    text = _text(file)
    try:
        _refuse_bombs(text, file)
        yaml = YAML(typ="rt", pure=True)
        yaml.allow_duplicate_keys = False
        data = yaml.load(StringIO(text))
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        reason = f"is not YAML: {(error.problem or error.context or 'it cannot be read').splitlines()[0]}"
        cure = "Indent with spaces, one key a line, each key once; put text with : or # in quotes"
        raise InputError([Problem(reason, cure, str(file), line, column)]) from error
    except (YAMLError, ValueError, RecursionError, KeyError, AttributeError, TypeError, IndexError, OverflowError) as error:
        reason = f"is not YAML: {str(error).splitlines()[0] if str(error) else type(error).__name__}"
        raise InputError([Problem(reason, "Write keys and values, as `overarm new` does", str(file))]) from error
    if data is None:
        raise InputError([Problem("is empty", "Write a setup, or make one with `overarm new`", str(file), 1, 1)])
    return data


def _refuse_bombs(text: str, file: Path) -> None:
    """Refuse anchors, aliases and deep nesting before anything is built from them."""
    depth = 0
    for event in YAML(typ="rt", pure=True).parse(StringIO(text)):
        mark = event.start_mark
        place = (str(file), mark.line + 1, mark.column + 1) if mark else (str(file), 0, 0)
        if isinstance(event, AliasEvent) or getattr(event, "anchor", None):
            reason = "uses a YAML anchor or alias (& or *), which setups do not allow"
            raise InputError([Problem(reason, "Write the value out where it is needed", *place)])
        if isinstance(event, MappingStartEvent | SequenceStartEvent):
            depth += 1
        elif type(event).__name__ in ("MappingEndEvent", "SequenceEndEvent"):
            depth -= 1
        if depth > DEEPEST:
            raise InputError([Problem("is nested too deep", "Keep the form that `overarm new` writes", *place)])


def _plain(node: Any, path: tuple[str | int, ...], file: str, places: dict[tuple[str | int, ...], Place]) -> Any:
    if isinstance(node, CommentedMap):
        out: dict[str, Any] = {}
        for key in node:
            line, column = node.lc.value(key) if key in node.lc.data else (0, 0)
            here = (*path, str(key))
            places[here] = Place(file, line + 1, column + 1)
            key_line, key_column = node.lc.key(key) if key in node.lc.data else (0, 0)
            places[(*here, "")] = Place(file, key_line + 1, key_column + 1)
            out[str(key)] = _plain(node[key], here, file, places)
        return out
    if isinstance(node, CommentedSeq):
        items = []
        for k in range(len(node)):
            line, column = node.lc.item(k) if k in node.lc.data else (0, 0)
            places[(*path, k)] = Place(file, line + 1, column + 1)
            items.append(_plain(node[k], (*path, k), file, places))
        return items
    if isinstance(node, bool) or node is None:
        return node
    if isinstance(node, int):
        return int(node)
    if isinstance(node, float):
        return float(node)
    return str(node)


def _beside(name: str, file: Path, place: Place, key: str) -> Path:
    """Return a file named in a setup; it must lie in the setup's folder or below it."""
    folder = file.resolve().parent
    other = (folder / name).resolve()
    if Path(name).is_absolute() or not other.is_relative_to(folder):
        reason = "leads out of the folder of the setup"
        cure = "Put the file beside the setup and name it by a relative path"
        raise InputError([Problem(reason, cure, place.file, place.line, place.column, key, name)])
    return file.parent / name


def _read_card_files(document: Document, file: Path) -> None:
    for key in CARD_KEYS:
        name = document.data.get(key)
        if isinstance(name, str) and name.endswith(CARD_SUFFIXES):
            other = _beside(name, file, document.places[(key,)], key)
            document.data[key] = _plain(_parse(other), (key,), str(other), document.places)


def _check_version(document: Document, file: Path) -> None:
    version = document.data.get("overarm")
    if version is None:
        reason = "does not say which form it has"
        raise InputError([Problem(reason, f"Begin with the line `overarm: {SCHEMA_VERSION}`", str(file), 1, 1, "overarm")])
    if version != SCHEMA_VERSION:
        place = document.places[("overarm",)]
        reason = "is a form that this version does not read"
        cure = f"Write `overarm: {SCHEMA_VERSION}`, or use a newer Overarm"
        raise InputError([Problem(reason, cure, place.file, place.line, place.column, "overarm", str(version))])


def _resolve_table(document: Document, file: Path) -> None:
    power = document.data.get("power")
    name = power.get("coefficient_table") if isinstance(power, dict) else None
    if isinstance(name, str) and isinstance(power, dict):
        place = document.places.get(("power", "coefficient_table"), Place(str(file), 0, 0))
        power["coefficient_table"] = _beside(name, file, place, "power.coefficient_table")


def _shown(value: Any) -> str:
    text = str(value)
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}..."


def _keys_at(path: tuple[str | int, ...]) -> list[str]:
    """Return the keys that a card accepts at a path."""
    model: Any = Setup
    for part in path:
        if isinstance(part, int):
            continue
        info = next((item for item in model.model_fields.values() if item.alias == part), model.model_fields.get(part))
        model = _model_of(info.annotation) if info is not None else None
        if model is None:
            return []
    return [info.alias or name for name, info in model.model_fields.items()]


def _model_of(annotation: Any) -> Any:
    if hasattr(annotation, "model_fields"):
        return annotation
    return next((_model_of(part) for part in getattr(annotation, "__args__", ()) if _model_of(part)), None)


def _problem(error: Any, document: Document, file: Path) -> Problem:
    path = tuple(error["loc"])
    kind, message = error["type"], error["msg"]
    if kind == "together":
        where, message = error["ctx"]["where"], error["ctx"]["reason"]
        path = tuple(where.split("."))
    key = ".".join(str(part) for part in path)
    place = _nearest_place(path, document, file, at_key=kind in ("extra_forbidden", "together"))
    value = _shown(error.get("input", "")) if kind not in ("missing", "together") and not isinstance(error.get("input"), dict) else ""
    if kind == "extra_forbidden":
        near = process.extractOne(str(path[-1]), _keys_at(path[:-1]))
        cure = f"Did you mean {near[0]}?" if near and near[1] > 50 else f"Known keys: {', '.join(_keys_at(path[:-1]))}"
        return Problem("is not a key of this card", cure, place.file, place.line, place.column, key, "")
    if kind == "missing":
        return Problem("is missing", _help(path), place.file, place.line, place.column, key)
    reason, _, cure = message.partition("; ")
    return Problem(reason, (cure or _help(path)).capitalize() if not cure else cure[0].upper() + cure[1:], place.file, place.line, place.column, key, value)


def _nearest_place(path: tuple[str | int, ...], document: Document, file: Path, *, at_key: bool) -> Place:
    if at_key and (*path, "") in document.places:
        return document.places[(*path, "")]
    for end in range(len(path), 0, -1):
        if path[:end] in document.places:
            return document.places[path[:end]] if end == len(path) else document.places.get((*path[:end], ""), document.places[path[:end]])
    return Place(str(file), 1, 1)


def _help(path: tuple[str | int, ...]) -> str:
    model: Any = Setup
    info: Any = None
    for part in path:
        if isinstance(part, int) or model is None:
            continue
        info = next((item for name, item in model.model_fields.items() if part in (item.alias, name)), None)
        model = _model_of(info.annotation) if info is not None else None
    if info is None or not info.description:
        return "See the reference of cards"
    extra = info.json_schema_extra
    example = extra["amount"].dimension.example if isinstance(extra, dict) and "amount" in extra else ""
    return f"Give it: {info.description[0].lower()}{info.description[1:].rstrip('.')}" + (f"; for example {example}" if example else "")

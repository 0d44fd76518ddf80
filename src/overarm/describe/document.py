"""A YAML file as plain data, with the place of every key and value.

Built straight from the events of ruamel.yaml's parser, so that nothing is constructed that a setup
does not need: no anchors, aliases, tags or directives, no dates, only the core scalars of YAML 1.2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from ruamel.yaml.reader import ReaderError

from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.files import read_bytes

MOST_BYTES = 200_000
DEEPEST = 8
MOST_ENTRIES = 3_000
LONGEST_TOLD, LONGEST_VALUE = 400, 60
CURE = "Indent with spaces, one key a line, each key once; put text with : or # in quotes"

# The core schema of YAML 1.2.2, section 10.3.2.
_NULL = re.compile(r"~|null|Null|NULL|")
_TRUE = re.compile(r"true|True|TRUE")
_FALSE = re.compile(r"false|False|FALSE")
_INT = re.compile(r"[-+]?[0-9]{1,400}")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_ODD = re.compile(r"(?P<infinite>[-+]?\.(?:inf|Inf|INF))|\.(?:nan|NaN|NAN)")

Keys = tuple[str | int, ...]


@dataclass(slots=True)
class Document:
    """Plain data of one or more files, where each key and value stands, and what is wrong so far."""

    data: Any = None
    keys: dict[Keys, Place] = field(default_factory=dict)
    values: dict[Keys, Place] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def place_of(self, path: Keys, *, at_key: bool = False) -> Place | None:
        """Return the place of a value or its key, or of the nearest thing around it; None for the file."""
        if path in self.values:
            return self.keys.get(path, self.values[path]) if at_key else self.values[path]
        for end in range(len(path) - 1, 0, -1):
            above = path[:end]
            if above in self.values:
                key, value = self.keys.get(above, self.values[above]), self.values[above]
                return key if key.file == value.file else value
        return None


def one_line(text: str, most: int = LONGEST_TOLD) -> str:
    """Return text as it can stand in a message: printable, and not longer than it may be."""
    clean = "".join(letter if letter.isprintable() else "?" for letter in text[: most + 1])
    return clean if len(clean) <= most else f"{clean[:most]}..."


def trouble(message: str, cure: str, place: Place, key: str = "", value: str = "") -> Problem:
    """Return a problem at a place."""
    told = (one_line(message), one_line(cure), *place, one_line(key), one_line(value, LONGEST_VALUE))
    return Problem(*told)


def read_document(file: Path) -> Document:
    """Return the data of a YAML file. Raises InputError for what is not text or not YAML.

    Keys given twice are kept as problems, so that they are told together with all others.
    """
    text = _text(file)
    document = Document()
    try:
        _Builder(document, str(file), YAML(typ="rt", pure=True).parse(StringIO(text))).build()
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        reason = f"is not YAML: {(error.problem or error.context or 'it cannot be read').splitlines()[0]}"
        raise InputError([Problem(reason, CURE, str(file), line, column)]) from None
    except ReaderError as error:
        before = text[: error.position]
        place = Place(str(file), before.count("\n") + 1, len(before) - before.rfind("\n"))
        reason = f"is not YAML: it holds the character U+{int(error.character):04X}"
        raise InputError([trouble(reason, "Save it as plain UTF-8 text", place)]) from None
    except (YAMLError, ValueError, LookupError, AttributeError, TypeError, AssertionError) as error:
        # The parser is not ours; whatever it trips over is not a setup.
        reason = f"is not YAML: {(str(error) or type(error).__name__).splitlines()[0]}"
        raise InputError([Problem(reason, CURE, str(file))]) from None
    if document.data is None:
        cure = "Write a setup, or begin a new one from questions"
        raise InputError([Problem("is empty", cure, str(file), 1, 1)])
    return document


def _text(file: Path) -> str:
    large = "Give a setup or a mapping; they have a few thousand"
    raw = read_bytes(file, MOST_BYTES, "Give the path of a YAML file", large)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = raw[: error.start]
        place = Place(str(file), start.count(b"\n") + 1, len(start) - start.rfind(b"\n"))
        raise InputError([trouble("is not text in UTF-8", "Save it as UTF-8 text", place)]) from None


class _Builder:
    """Turns events into plain data."""

    def __init__(self, document: Document, file: str, events: Iterator[Event]) -> None:
        self.document, self.file, self.events = document, file, events
        self.entries = 0

    def build(self) -> None:
        """Fill the document."""
        documents = 0
        for event in self.events:
            if isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self.refuse(event, "holds a second document after ---", "Write one setup a file")
                if event.version or event.tags:
                    self.refuse(event, "begins with a YAML directive (%)", "Take that line out")
            elif isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent | AliasEvent):
                self.document.data = self.node(event, ())

    def place(self, event: Event) -> Place:
        mark = event.start_mark
        return Place(self.file, mark.line + 1, mark.column + 1) if mark else Place(self.file, 0, 0)

    def refuse(self, event: Event, message: str, cure: str) -> None:
        """Raise the problem of what no setup may hold."""
        raise InputError([trouble(message, cure, self.place(event))])

    def count(self, event: Event) -> None:
        """Count an entry; refuse a file with far more of them than a setup has."""
        self.entries += 1
        if self.entries > MOST_ENTRIES:
            reason = f"holds more than {MOST_ENTRIES:,} entries; a setup has a few hundred"
            self.refuse(event, reason, "Give a setup")

    def node(self, event: Event, path: Keys) -> Any:
        """Return the value that begins with an event."""
        if isinstance(event, AliasEvent) or getattr(event, "anchor", None):
            reason = "uses a YAML anchor or alias (& or *), which setups do not allow"
            self.refuse(
                event, reason, "Write the value out where it is needed; put text with & or * in quotes"
            )
        if getattr(event, "tag", None):
            reason = "uses a YAML tag (!), which setups do not allow"
            self.refuse(event, reason, "Take the tag out; put text that begins with ! in quotes")
        if len(path) >= DEEPEST:
            self.refuse(event, "is nested too deep", "Keep the form of the examples")
        self.count(event)
        self.document.values[path] = self.place(event)
        if isinstance(event, ScalarEvent):
            return _scalar(event)
        return self.mapping(path) if isinstance(event, MappingStartEvent) else self.sequence(path)

    def mapping(self, path: Keys) -> dict[str, Any]:
        """Return the mapping whose start has been read."""
        found: dict[str, Any] = {}
        while not isinstance(event := next(self.events), MappingEndEvent):
            if not isinstance(event, ScalarEvent) or event.anchor or event.tag:
                self.refuse(event, "is no plain key", "Write a plain word before the colon")
            key, place = _whole(str(getattr(event, "value", ""))), self.place(event)
            here = (*path, key)
            if key in found:
                first = self.document.keys[here].line
                cure = "Keep one of them"
                name = ".".join(map(str, here))
                self.document.problems.append(
                    trouble(f"stands here for the second time, after line {first}", cure, place, name)
                )
                self.skip()
                continue
            self.document.keys[here] = place
            found[key] = self.node(next(self.events), here)
            if found[key] is None:
                self.document.values[here] = place  # nothing stands there
        return found

    def sequence(self, path: Keys) -> list[Any]:
        """Return the list whose start has been read."""
        found: list[Any] = []
        while not isinstance(event := next(self.events), SequenceEndEvent):
            found.append(self.node(event, (*path, len(found))))
        return found

    def skip(self) -> None:
        """Pass over one value."""
        depth = 0
        while True:
            event = next(self.events)
            self.count(event)
            depth += isinstance(event, MappingStartEvent | SequenceStartEvent)
            depth -= isinstance(event, MappingEndEvent | SequenceEndEvent)
            if depth == 0:
                return


def _whole(text: str) -> str:
    """Return text whose escapes wrote halves of characters, with the halves joined."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _scalar(event: ScalarEvent) -> str | int | float | bool | None:
    """Return a scalar; only what is written plain can be something else than text."""
    text = _whole(str(event.value))
    plain = event.implicit[0] if isinstance(event.implicit, tuple) else bool(event.implicit)
    if not plain or event.style not in (None, ""):
        return text
    if _NULL.fullmatch(text):
        return None
    if _TRUE.fullmatch(text) or _FALSE.fullmatch(text):
        return text.lower() == "true"
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    odd = _ODD.fullmatch(text)
    if odd is None:
        return text
    return float(text.replace(".", "")) if odd["infinite"] else float("nan")

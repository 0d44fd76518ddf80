"""What the aircraft reports: names and values of a table, of key-value text, or of JSON.

Numbers stay text until they are compared, so that their digits are not lost.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any, NamedTuple

from overarm.describe.document import one_line, trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.readback.text import FileText, read_text

MOST_NAMES = 5_000
MOST_TOLD = 20
LONGEST_NAME, LONGEST_VALUE = 200, 400
DEEPEST = 20
SEPARATORS = ("\t", "=", ":", ";", ",", " ")
TABLE = ("\t", ";", ",")
_COMMENT = re.compile(r"(?:#|//|;).*")
_TAIL = re.compile(r"\s(?:#|//).*$")
_SECTION = re.compile(r"\[([^\][\"{}]+)\]\s*")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
_HEADS = {"name", "names", "key", "keys", "setting", "settings", "item", "value", "values"}


class Reported(NamedTuple):
    """One value of the aircraft: its name, what stands there, and where."""

    name: str
    text: str
    place: Place


class Report(NamedTuple):
    """All values of a file, in its order."""

    file: str
    values: tuple[Reported, ...]
    notes: tuple[str, ...]


class _Number(str):
    """A number of a JSON file with its digits."""

    __slots__ = ()


def read_report(file: Path, heads: tuple[str, str] | None = None, *, decimal_comma: bool = False) -> Report:
    """Return what a file of settings holds.

    Parameters: the file; ``heads`` of the columns of names and of values, of a table or of JSON objects;
    whether decimals have a comma.
    Raises InputError for what is no report, with file, line and cure; names given twice are told together.
    """
    source = read_text(file)
    begins = source.text.lstrip()[:1]
    if begins == "{" or file.suffix.lower() == ".json" or (begins == "[" and not _sectioned(source.text)):
        values = list(_from_json(source, heads))
    else:
        values = list(_from_lines(source, heads, decimal_comma))
    if not values:
        cure = "Give lines such as name = value, a table, or JSON"
        raise InputError([Problem("holds no names with values", cure, str(file))])
    _hold(values, source)
    return Report(str(file), tuple(values), source.notes)


def _sectioned(text: str) -> bool:
    first = text.lstrip().splitlines()[0]
    return bool(_SECTION.fullmatch(first))


def _hold(values: list[Reported], source: FileText) -> None:
    """Refuse far too many names, names given twice with different values, and endless texts."""
    if len(values) > MOST_NAMES:
        reason = f"holds more than {MOST_NAMES:,} names"
        raise InputError([Problem(reason, "Give the settings alone, not a recording", source.file)])
    problems = []
    first: dict[str, Reported] = {}
    for item in values:
        if not item.name or len(item.name) > LONGEST_NAME or len(item.text) > LONGEST_VALUE:
            reason = "has no name" if not item.name else "is longer than any setting"
            cure = "Give lines such as name = value, a table, or JSON"
            problems.append(trouble(reason, cure, item.place, item.name, item.text))
            continue
        before = first.setdefault(item.name.casefold(), item)
        if before is not item:
            after = f", after line {before.place.line} ({before.text})" if before.place.line else ""
            cure = "Keep the one that the aircraft uses"
            problems.append(trouble(f"stands here again{after}", cure, item.place, item.name, item.text))
    if problems:
        raise InputError(problems[:MOST_TOLD])


def _from_json(source: FileText, heads: tuple[str, str] | None) -> Iterator[Reported]:
    def refused(name: str) -> Any:
        return _Number(name)  # told where the value is wanted, with its line

    try:
        data = json.loads(
            source.text,
            parse_float=_Number,
            parse_int=_Number,
            parse_constant=refused,
            object_pairs_hook=_Pairs,
        )
    except json.JSONDecodeError as error:
        place = Place(source.file, error.lineno, error.colno)
        cut = error.pos >= len(source.text.rstrip())
        cure = (
            "It seems cut short: read the aircraft back again" if cut else "Give the file as it was written"
        )
        raise InputError([trouble(f"is not JSON: {error.msg.lower()}", cure, place)]) from None
    except RecursionError:
        raise InputError([Problem("is nested too deep", "Give the settings alone", source.file)]) from None
    places = _Places(source)
    for name, value in _flat(data, "", 0, source.file, heads or ("name", "value")):
        yield Reported(name, _said(value), places.next_of(name))


class _Pairs(list[tuple[str, Any]]):
    """The pairs of a JSON object, with names that stand twice."""


class _Places:
    """Where the names of a JSON file stand, found from the top down."""

    def __init__(self, source: FileText) -> None:
        self.source = source
        self.after: dict[str, int] = {}

    def next_of(self, path: str) -> Place:
        name = json.dumps(path.rpartition(".")[2], ensure_ascii=False)
        start = self.after.get(name, 0)
        key = re.compile(rf"{re.escape(name)}\s*:").search(self.source.text, start)
        at = key.start() if key is not None else self.source.text.find(name, start)
        if at < 0:
            return Place(self.source.file, 0, 0)
        self.after[name] = at + 1
        return self.source.place(at)


def _flat(value: Any, path: str, depth: int, file: str, heads: tuple[str, str]) -> Iterator[tuple[str, Any]]:
    """Yield names and values, those inside others with dots between."""
    if depth > DEEPEST:
        raise InputError([Problem("is nested too deep", "Give the settings alone", file)])
    if isinstance(value, _Pairs):
        inside = dict(value)
        if heads[0] in inside and heads[1] in inside and isinstance(inside[heads[0]], str):
            yield inside[heads[0]], inside[heads[1]]
            return
        for name, part in value:
            yield from _flat(part, f"{path}.{name}" if path else name, depth + 1, file, heads)
    elif isinstance(value, list):
        for k, part in enumerate(value):
            yield from _flat(part, f"{path}.{k}" if path else str(k), depth + 1, file, heads)
    else:
        yield path, value


def _said(value: Any) -> str:
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else str(value)


def _from_lines(source: FileText, heads: tuple[str, str] | None, decimal_comma: bool) -> Iterator[Reported]:
    lines = [
        (number, _TAIL.sub("", line).strip(" "))
        for number, line in enumerate(source.text.splitlines(), 1)
        if line.strip() and not _COMMENT.fullmatch(line.strip())
    ]
    separator = _separator([line for _, line in lines])
    if separator in TABLE:
        yield from _from_table(source, lines, separator, (heads, decimal_comma))
        return
    section = ""
    bad = []
    for number, line in lines:
        head = _SECTION.fullmatch(line)
        if head:
            section = f"{head[1].strip()}."
            continue
        name, mark, text = _split(line, separator)
        place = Place(source.file, number, 1)
        if not mark:
            shown = repr(separator) if separator.strip() else "a blank"
            bad.append(
                trouble(
                    f"has no {shown}, as the other lines have",
                    "Write name, separator, value",
                    place,
                    "",
                    line,
                )
            )
            continue
        yield Reported(section + _bare(name), text.strip().strip("\"'"), place)
    if bad:
        raise InputError(bad[:MOST_TOLD])


def _bare(name: str) -> str:
    """Return a name without quotes and without a sign between it and a tab."""
    return name.strip().strip("\"'").rstrip("=: ")


def _split(line: str, separator: str) -> tuple[str, str, str]:
    if separator != " ":
        return line.partition(separator)
    parts = line.split(maxsplit=1)
    return (parts[0], " ", parts[1]) if len(parts) == 2 else (line, "", "")


def _separator(lines: list[str]) -> str:
    """Return what most lines have between name and value; a tab before a sign before a blank."""
    counts = dict.fromkeys(SEPARATORS, 0)
    for line in lines:
        for mark in SEPARATORS:
            name, found, _ = _split(line, mark)
            counts[mark] += bool(found and name.strip())
    best = max(counts.values(), default=0)
    if best == 0:
        return "="
    return next(mark for mark in SEPARATORS if counts[mark] == best)


def _from_table(
    source: FileText,
    lines: list[tuple[int, str]],
    separator: str,
    how: tuple[tuple[str, str] | None, bool],
) -> Iterator[Reported]:
    heads, decimal_comma = how
    try:
        rows = [
            (number, [cell.strip() for cell in next(csv.reader(StringIO(line), delimiter=separator), [])])
            for number, line in lines
        ]
    except csv.Error as error:
        raise InputError([Problem(f"is not a table: {error}", "Give it as plain CSV", source.file)]) from None
    name_at, value_at, first = _columns(source, rows, heads)
    if first < 0:
        for name, text in zip(rows[0][1], rows[1][1], strict=True):
            yield Reported(name, text, Place(source.file, rows[1][0], 1))
        return
    bad = []
    for number, cells in rows[first:]:
        place = Place(source.file, number, 1)
        if len(cells) <= max(name_at, value_at):
            shown = one_line(separator.join(cells), 60)
            bad.append(trouble("has no value", "Give each line a name and a value", place, "", shown))
            continue
        text = cells[value_at]
        if separator == "," and decimal_comma and _halves(cells[value_at : value_at + 2]):
            text = ",".join(cells[value_at : value_at + 2])  # a decimal comma in a table with commas
        yield Reported(_bare(cells[name_at]), text, place)
    if bad:
        raise InputError(bad[:MOST_TOLD])


def _halves(cells: list[str]) -> bool:
    """Return True if two cells are the parts of one number before and behind its comma."""
    return (
        len(cells) == 2
        and re.fullmatch(r"[+-]?[0-9]+", cells[0]) is not None
        and re.fullmatch(r"[0-9]+(?:[eE][+-]?[0-9]+)?", cells[1]) is not None
    )


def _columns(
    source: FileText, rows: list[tuple[int, list[str]]], heads: tuple[str, str] | None
) -> tuple[int, int, int]:
    """Return the columns of names and values, and the first row of them; -1 if names stand in a row."""
    top = [cell.casefold() for cell in rows[0][1]]
    if heads is not None:
        wanted = [head.casefold() for head in heads]
        if all(head in top for head in wanted):
            return top.index(wanted[0]), top.index(wanted[1]), 1
        lacking = next(head for head in heads if head.casefold() not in top)
        cure = f"Its columns are {', '.join(rows[0][1])}; correct table: in the mapping"
        raise InputError([trouble("has no such column", cure, Place(source.file, rows[0][0], 1), lacking)])
    if len(rows) == 2 and _in_a_row(top, rows[1][1]):
        return 0, 0, -1
    return 0, 1, 1 if len(rows) > 1 and len(_HEADS.intersection(top)) >= 1 and not is_number(top[-1]) else 0


def _in_a_row(top: list[str], below: list[str]) -> bool:
    """Return True if one row holds names and the other their values, most of them numbers."""
    numbers = sum(map(is_number, below))
    return len(top) == len(below) >= 3 and not any(map(is_number, top)) and 2 * numbers > len(below)


def is_number(text: str) -> bool:
    """Return True if a text is a number, with a point or a comma."""
    return bool(_NUMBER.fullmatch(text.strip()))

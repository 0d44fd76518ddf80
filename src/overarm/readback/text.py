"""A file that somebody else wrote, as text: what it is encoded in, or why it is no text."""

from __future__ import annotations

import codecs
from pathlib import Path
from typing import NamedTuple

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.files import read_bytes

MOST_BYTES = 4_000_000
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_WHITE = "\t\n\r\f"


class FileText(NamedTuple):
    """The text of a file, and what stands out about how it was written."""

    file: str
    text: str
    notes: tuple[str, ...]

    def place(self, offset: int) -> Place:
        """Return line and column of a letter of the text."""
        before = self.text[:offset]
        return Place(self.file, before.count("\n") + 1, len(before) - before.rfind("\n"))


def read_text(file: Path) -> FileText:
    """Return the text of a file. Raises InputError for one that is empty, too large or no text."""
    raw = report_bytes(file)
    text, notes = _decoded(file, raw)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise InputError([Problem("is empty", "Read the aircraft back again", str(file))])
    for k, letter in enumerate(text):
        if letter < " " and letter not in _WHITE:
            place = FileText(str(file), text, ()).place(k)
            reason = f"is not text: it holds the character U+{ord(letter):04X}"
            raise InputError([trouble(reason, "Give the report as CSV, key-value text or JSON", place)])
    return FileText(str(file), text, notes)


def report_bytes(file: Path) -> bytes:
    """Return what a file holds. Raises InputError if it cannot be read or is larger than any report."""
    cure = "Give the path of the file that the aircraft was read back into"
    raw = read_bytes(file, MOST_BYTES, cure, "Give the report alone, not a recording")
    if not raw:
        raise InputError([Problem("is empty", "Read the aircraft back again", str(file))])
    return raw


def _decoded(file: Path, raw: bytes) -> tuple[str, tuple[str, ...]]:
    for mark, codec, name in _MARKS:
        if raw.startswith(mark):
            try:
                return raw.decode(codec), ()
            except UnicodeDecodeError:
                reason = f"begins as {name} and goes on as something else"
                raise InputError([Problem(reason, "Read the aircraft back again", str(file))]) from None
    if b"\0" in raw:
        place = Place(str(file), raw[: raw.index(0)].count(b"\n") + 1, 0)
        cure = "Give the report as CSV, key-value text or JSON, in UTF-8"
        raise InputError([trouble("is not text: it holds zero bytes", cure, place)])
    try:
        return raw.decode("utf-8"), ()
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        note = f"line {line} is not UTF-8; the file was read as Latin-1, so letters with accents may be wrong"
        return raw.decode("latin-1"), (note,)

"""The bytes of a recording and their hash; their text, or why they are no text."""

from __future__ import annotations

import codecs
import hashlib
from pathlib import Path
from typing import NamedTuple

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.files import read_bytes
from overarm.recordings.limits import LONGEST_LINE, MOST_BYTES, MOST_ROWS

AGAIN = "Copy the file from the recorder again"
SAVE = "Open it in a text editor and save it as UTF-8"
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_PLAIN = frozenset(b"\t\n\r\f")
_LOOKED_AT = 65_536
_TOGETHER = 4_194_304  # bytes that are looked through at once: no second copy of a large file
_NOTHING = b"\0 \t\r\n"


class Source(NamedTuple):
    """A file as it was read."""

    file: str
    name: str  # without its folder
    raw: bytes
    sha256: str


class Text(NamedTuple):
    """The text of a file in UTF-8, its lines ended by a line feed, and what was left out of it."""

    raw: bytes
    remarks: dict[str, str]


def read_source(file: Path, most: int = MOST_BYTES) -> Source:
    """Return what a file holds. Raises InputError if it cannot be read, is empty or too large."""
    raw = read_bytes(file, most, "Give the path of a recording", "Cut it to the launches")
    if not raw[:_LOOKED_AT].strip(_NOTHING) and not raw.strip(_NOTHING):
        raise InputError([Problem("is empty", AGAIN, str(file))])
    return Source(str(file), file.name, raw, hashlib.sha256(raw).hexdigest())


def text_of(source: Source, longest: int = LONGEST_LINE) -> Text:
    """Return the text of a file. Raises InputError for what is no text, or has far too many or long lines.

    Zero bytes at the end, which a recorder leaves that lost its power, are left out and told.
    """
    raw, remarks = source.raw, {}
    if raw.endswith(b"\0") and not raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        kept = raw.rstrip(b"\0")
        remarks["zero bytes at the end"] = f"{len(raw) - len(kept):,} left out"
        raw = kept
    raw = _utf8(source, raw)
    if b"\r" in raw:
        raw = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    for k, byte in enumerate(raw[:_LOOKED_AT]):
        if byte < 32 and byte not in _PLAIN:
            reason = f"is not text: it holds the character U+{byte:04X}"
            cure = "Give a recording as CSV, TSV, Parquet, IGC, GPX or NMEA"
            raise InputError([trouble(reason, cure, Place(source.file, raw.count(b"\n", 0, k) + 1, 0))])
    _hold_lines(source, raw, longest)
    return Text(raw, remarks)


def _utf8(source: Source, raw: bytes) -> bytes:
    for mark, codec, name in _MARKS:
        if raw.startswith(mark):
            try:
                return raw.decode(codec).encode("utf-8")
            except UnicodeError:
                reason = f"begins as {name} and goes on as something else"
                raise InputError([Problem(reason, AGAIN, source.file)]) from None
    if b"\0" in raw:
        place = Place(source.file, raw.count(b"\n", 0, raw.index(b"\0")) + 1, 0)
        if _looks_like_utf16(raw[:_LOOKED_AT]):
            raise InputError([trouble("is text in UTF-16 without the mark that says so", SAVE, place)])
        cure = "Give a recording as CSV, TSV, Parquet, IGC, GPX or NMEA"
        raise InputError([trouble("is not text: it holds zero bytes", cure, place)])
    if not raw.isascii():
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError as error:
            before = raw[: error.start]
            column = len(before) - before.rfind(b"\n")
            place = Place(source.file, before.count(b"\n") + 1, column)
            raise InputError([trouble("is not text in UTF-8", SAVE, place)]) from None
    return raw


def _looks_like_utf16(raw: bytes) -> bool:
    """Return True if every other byte is nearly always zero, and those between them never: plain letters."""
    halves = raw[::2], raw[1::2]
    zeros = sorted(half.count(0) / max(1, len(half)) for half in halves)
    return zeros[0] == 0.0 and zeros[1] > 0.9


def _hold_lines(source: Source, raw: bytes, most: int) -> None:
    import numpy as np

    cells = np.frombuffer(raw, dtype=np.uint8)
    starts = range(0, cells.size, _TOGETHER)
    ends = np.concatenate(
        [np.zeros(0, np.int64), *(np.flatnonzero(cells[k : k + _TOGETHER] == ord("\n")) + k for k in starts)]
    )
    if ends.size > MOST_ROWS:
        reason = f"has more than {MOST_ROWS:,} lines"
        raise InputError([Problem(reason, "Cut it to the launches", source.file)])
    lengths = np.diff(ends, prepend=-1, append=len(raw))
    longest = int(lengths.argmax())
    if lengths[longest] > most:
        reason = f"has a line of {int(lengths[longest]):,} bytes"
        cure = f"A recording has a sample a line, of {most:,} bytes at most"
        raise InputError([trouble(reason, cure, Place(source.file, longest + 1, 0))])

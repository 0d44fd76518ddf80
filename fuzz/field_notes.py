"""Notes from the field as JSON, put into a logbook."""

from __future__ import annotations

import atexit
from functools import cache
from pathlib import Path

from fuzz.door import folder, given
from overarm.logbook.batch import Added
from overarm.logbook.book import Book
from overarm.logbook.carry import import_file

LONGEST = 1_024
WORDS = (
    b'"overarm_notes": 1', b'"notes": ', b'"text": ', b'"about": ', b'"written_utc": ',
    b'"2031-05-20T18:30:00Z"', b"null", b'"2031-05-20T18:30:00+14:00"', b"0001-01-01",
    b"9999-12-31T23:59:59-12:00", b"\\u0000", b"\\ud800", b"[]", b"{}", b"1e999",
)  # fmt: skip


@cache
def book() -> Book:
    """Return the one book of this process."""
    opened = Book.open(folder() / "book.sqlite")
    opened.__enter__()
    atexit.register(opened.__exit__, None, None, None)
    return opened


def seeds() -> list[bytes]:
    """Return files of notes."""
    return [
        (
            b'{"overarm_notes": 1, "notes": [{"text": "wet grass"}, {"text": "late gust", "about": "",'
            b' "written_utc": "2031-05-20T20:00:00+02:00"}]}'
        ),
        b'{"overarm_notes": 1, "notes": []}',
    ]


def put(file: Path) -> Added:
    """Put a file into the book, and take it out again."""
    added = import_file(book(), file)
    if added.id is not None:
        book().undo()
    return added


def run(data: bytes) -> None:
    """Put it in."""
    given(put, b"{" + data.lstrip().removeprefix(b"{"), "notes.json")

"""Logbook: look it up, put something in, carry it in and out, take a batch back.

Each answer is that of the command with ``--json``; of where the book lies it tells the name alone.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import overarm
from overarm.app.rooms.files import one_given, setup_if_any
from overarm.app.rooms.tasks import Answer
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.logbook.book import Book

FORM = 1


@contextmanager
def _opened(options: dict[str, Any], *, make: bool) -> Iterator[Book]:
    from overarm.logbook.book import Book

    with Book.open(options["book"], make=make) as book:
        yield book


def _said(book: Book, command: str, answer: dict[str, Any]) -> dict[str, Any]:
    place = book.place
    head = {
        "overarm_logbook": FORM,
        "command": command,
        "version": overarm.__version__,
        "book": place.file.name if place.kind == "sqlite" else str(place.url.database),
        "book_id": book.id,
    }
    return {**head, **answer}


def ask(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the answer of list, show, search or trends. A book that is not there yet is made, empty."""
    from overarm.logbook.look import Wanted
    from overarm.logbook.trends import trends_dict

    command = options["command"]
    with _opened(options, make=True) as book:
        if command == "list":
            rows = book.newest(options["what"], options["last"])
            found: dict[str, Any] = {"what": options["what"], "counts": book.counts(), "rows": rows}
        elif command == "show":
            found = book.show(options["id"])
        elif command == "search":
            wanted = Wanted(**options["wanted"])
            found = {"wanted": wanted._asdict(), "rows": book.search(wanted)}
        else:
            found = trends_dict(*book.trends())
        return Answer(_said(book, command, found))


def add(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Put in a recording, with its setup, review and a note if they are given."""
    from overarm.recordings.reading import opened

    file, tied = one_given(options, "recording"), one_given(options, "mapping")
    assert file is not None
    found, card = opened(file, tied), setup_if_any()
    review = _review(one_given(options, "review"), found.sha256)
    with _opened(options, make=True) as book:
        with book.batch("add", file.name) as batch:
            if card is not None:
                batch.setup(card)
            batch.recording(found, file.read_bytes(), "" if tied is None else tied.read_text("utf-8-sig"))
            if review is not None:
                batch.review(review, found.sha256, card)
            if options["note"]:
                batch.note(options["note"], found.sha256)
        return Answer(_said(book, "add", {"recording": found.sha256, "added": batch.added._asdict()}))


def _review(file: Path | None, sha256: str) -> dict[str, Any] | None:
    """Return the answer of a review; raises InputError if it is none, or one of another recording."""
    if file is None:
        return None
    found: dict[str, Any] = json.loads(file.read_text("utf-8"))  # of a job of ours
    if found["recording"]["sha256"] != sha256:
        cure = "Give a review of this recording"
        raise InputError([Problem("is no review of this recording", cure, key="review")])
    return found


def note(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Put in a note."""
    with _opened(options, make=True) as book:
        with book.batch("note") as batch:
            batch.note(options["text"], options["about"])
        return Answer(_said(book, "note", {"added": batch.added._asdict()}))


def carry_in(desk: Desk, options: dict[str, Any]) -> Answer:
    """Put an archive or a file of notes into the book."""
    from overarm.logbook.carry import import_file

    file = one_given(options, "archive")
    assert file is not None
    with _opened(options, make=True) as book:
        done = import_file(book, file, progress=desk.tell)
        return Answer(_said(book, "import", {"file": file.name, "added": done._asdict()}))


def carry_out(desk: Desk, options: dict[str, Any]) -> Answer:
    """Write the whole book into an archive beside the answer."""
    from overarm.logbook.carry import export_book

    desk.out.mkdir(exist_ok=True)
    with _opened(options, make=True) as book:
        target = desk.out / "logbook.zip"
        done = export_book(book, target, progress=desk.tell)
        return Answer(_said(book, "export", {"file": target.name, "exported": done._asdict()}))


def undo(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Take back what one batch added."""
    with _opened(options, make=True) as book:
        done = book.undo(options["batch"])
        answer = {**done._asdict(), "kept": [item._asdict() for item in done.kept]}
        return Answer(_said(book, "undo", {"undone": answer}))


def tidy(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Look the book over, and remove files that nothing names if that is asked for."""
    with _opened(options, make=True) as book:
        found = book.tidy(remove=options["remove"])
        return Answer(_said(book, "tidy", {"sound": found.sound, **found._asdict()}), not found.sound)

"""Carry a book elsewhere and back: an archive of all of it, and notes from a file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from overarm.errors import InputError, Problem
from overarm.logbook.archive_read import Archive, opened_archive
from overarm.logbook.archive_write import Exported, Progress, write_archive
from overarm.logbook.batch import Added, Batch
from overarm.logbook.limits import LIMITS, Limits
from overarm.logbook.plain import table_in, text_in
from overarm.logbook.tables import CONTENT, Row, files_of

if TYPE_CHECKING:
    from overarm.logbook.book import Book

NOTES_FORM = 1
MOST_NOTES, MOST_NOTES_BYTES = 10_000, 16 * 2**20
NOTES_CURE = 'Write {"overarm_notes": 1, "notes": [{"text": "..."}]}, or give an archive of a logbook'
# Which column of which table names a row of which other table.
REFERENCES = (
    ("predictions", "setup", "setups"),
    ("launches", "setup", "setups"),
    ("launches", "recording", "recordings"),
    ("launches", "prediction", "predictions"),
)


def _silent(_what: str, _share: float) -> None:
    """Tell nobody."""


def export_book(book: Book, target: Path, *, force: bool = False, progress: Progress = _silent) -> Exported:
    """Write all of a book into one archive, whole or not at all.

    Raises InputError if there is a file of that name (unless ``force``), if it cannot be written, or if a
    file of the book is missing or damaged.
    """
    if target.exists() and not force:
        cure = "Give another name, or --force to write over it"
        raise InputError([Problem("is there already", cure, str(target))])
    with book.reading() as connection:
        try:
            return write_archive(connection, book.store, target, progress)
        except OSError as error:
            cure = "Give a file in a folder that you may write to, with room for it"
            message = f"cannot be written: {error.strerror or error}"
            raise InputError([Problem(message, cure, str(target))]) from error


def import_file(book: Book, file: Path, *, progress: Progress = _silent, limits: Limits = LIMITS) -> Added:
    """Put an archive, or a file of notes, into a book; what is there already stays as it is.

    Everything is checked before anything is written, and everything is kept together or nothing is. The
    same file twice adds nothing. Files of the book that are missing or damaged come back from an archive
    that has them. Raises InputError for a file that is neither, or is damaged or too large.
    """
    try:
        with file.open("rb") as stream:
            head = stream.read(64)
    except OSError as error:
        message = f"cannot be read: {error.strerror or error}"
        raise InputError([Problem(message, "Give an archive or a file of notes", str(file))]) from error
    if head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"{"):
        told = _notes_in(file)
        with book.batch("import", file.name) as batch:
            for text, about, written in told:
                batch.note(text, about, written)
        return batch.added
    with opened_archive(file, progress, limits) as archive, book.batch("import", file.name) as batch:
        _put_archive(book, batch, archive, file, progress)
    return batch.added


def _put_archive(book: Book, batch: Batch, archive: Archive, file: Path, progress: Progress) -> None:
    fresh = batch.fresh(archive.rows)
    wanted = {name for kind, rows in fresh.items() for row in rows for name in files_of(kind, row)}
    _check_whole(book, batch, archive, file, fresh, wanted)
    files = [name for name in archive.files if name in wanted | batch.used_files()]
    for k, name in enumerate(files):
        progress("writing recordings", k / len(files))
        book.store.put(archive.read(name))
    for kind, rows in archive.rows.items():
        for row in rows:
            batch.row(CONTENT[kind], row)


def _check_whole(
    book: Book,
    batch: Batch,
    archive: Archive,
    file: Path,
    fresh: Mapping[str, list[Row]],
    wanted: set[str],
) -> None:
    """Refuse an archive whose new rows name rows or files that are neither in it nor in the book."""
    cure = "Export the book again"
    for kind, column, other in REFERENCES:
        ids = {row["id"] for row in archive.rows[other]}
        for row in fresh[kind]:
            if row[column] is not None and row[column] not in ids and not batch.has(other, row[column]):
                message = f"holds {kind} that name {other} which it lacks"
                raise InputError([Problem(message, cure, str(file), key=column, value=str(row[column])[:64])])
    for name in sorted(wanted - set(archive.files)):
        if not book.store.has(name):
            raise InputError([Problem("lacks a file that it names", cure, str(file), value=name)])


def _notes_in(file: Path) -> list[tuple[str, str, str]]:
    """Return text, subject and time of each note of a file; a time that is not told is empty."""
    with file.open("rb") as stream:
        data = stream.read(MOST_NOTES_BYTES + 1)
    if len(data) > MOST_NOTES_BYTES:
        raise _wrong(file, f"is larger than {MOST_NOTES_BYTES:,} bytes", "Give fewer notes at a time")
    try:
        told: Any = json.loads(data.decode("utf-8-sig"))
    except json.JSONDecodeError as error:
        problem = Problem(f"is no JSON: {error.msg}", NOTES_CURE, str(file), error.lineno, error.colno)
        raise InputError([problem]) from error
    except (ValueError, RecursionError) as error:
        raise _wrong(file, "is no JSON in UTF-8", NOTES_CURE) from error
    form = told.get("overarm_notes")
    if form != NOTES_FORM:
        raise _wrong(file, "is no file of notes that this version reads", NOTES_CURE, key="overarm_notes")
    notes = told.get("notes")
    if not isinstance(notes, list) or len(notes) > MOST_NOTES:
        raise _wrong(file, "has no list of at most 10,000 notes", NOTES_CURE, key="notes")
    found = []
    for k, item in enumerate(notes):
        try:
            note = table_in(item, "note")
            written = _in_utc(text_in(note, "written_utc", ""))
            found.append((text_in(note, "text"), text_in(note, "about", ""), written))
        except InputError as error:
            first = error.problems[0]
            message = f"note {k + 1} cannot be read: {first.message}"
            raise _wrong(file, message, first.cure, key=f"notes.{k}.{first.key}") from error
    return found


def _in_utc(text: str) -> str:
    if not text:
        return ""
    try:
        found = datetime.fromisoformat(text)
        found = (found if found.tzinfo is not None else found.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):
        cure = "Write it as 2031-05-20T18:30:00Z"
        raise InputError([Problem("is no time", cure, key="written_utc", value=text[:40])]) from None
    return found.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _wrong(file: Path, message: str, cure: str, key: str = "") -> InputError:
    return InputError([Problem(message, cure, str(file), key=key)])

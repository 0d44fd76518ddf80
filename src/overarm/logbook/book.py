"""A logbook: opened, brought forward, written in batches, read, carried elsewhere and back."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy import Connection, Engine, select

from overarm.errors import InputError, Problem
from overarm.logbook import look
from overarm.logbook.batch import Batch
from overarm.logbook.door import engine_of, integrity, make_wal, problem_of, reading, told, writing
from overarm.logbook.migrate import STEPS, bring_forward, form_of
from overarm.logbook.place import Place, data_folder, place_of
from overarm.logbook.recording_form import recording_of
from overarm.logbook.store import Store
from overarm.logbook.tables import Row, evidence, recordings, setups
from overarm.logbook.tidy import Tidied, look_over
from overarm.logbook.trends import Trend, trends
from overarm.logbook.undo import Undone, drop_unused, undo

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.learn.evidence import Evidence
    from overarm.recordings.recording import Recording

SQLITE_HEAD = b"SQLite format 3\0"
LARGEST_QUICK_CHECK_BYTES = 16 * 2**20
NONE_YET = "Put something in first: overarm logbook add RECORDING --setup SETUP"


class Book:
    """An open logbook. Use it in a ``with`` block, or close it.

    What is written is on the disk when a call returns. A call that fails leaves the book as it was, and
    raises InputError that names the book, what went wrong and what to do.
    """

    def __init__(self, place: Place, engine: Engine, id_: str, store: Store) -> None:
        self.place, self.id, self.store = place, id_, store
        self._engine = engine

    @classmethod
    def open(
        cls, place: str | Path | None = None, *, files: str | Path | None = None, make: bool = True
    ) -> Self:
        """Open a book, and bring it to the form of this version.

        Parameters
        ----------
        place : path or URL, optional
            SQLite file or PostgreSQL URL; otherwise OVERARM_BOOK, otherwise a file in the user's data folder.
        files : path, optional
            Folder of the recordings; otherwise OVERARM_BOOK_FILES, otherwise beside the file, or for
            PostgreSQL in the user's data folder under the id of the book.
        make : bool
            Make a book that is not there yet.

        Raises
        ------
        InputError
            If it is no logbook, damaged, newer than this version, cannot be reached or written, or is not
            there and none is to be made.
        """
        where = place_of(place, files)
        if where.kind == "sqlite":
            _look_at_file(where, make=make)
        engine = engine_of(where)
        try:
            with told(where.shown):
                id_ = _prepared(engine, where, make=make)
        except BaseException:
            engine.dispose()
            raise
        folder = where.files or data_folder() / f"logbook-files-{id_}"
        return cls(where, engine, id_, Store(folder))

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """Yield a connection that sees one state of the book."""
        with reading(self._engine, self.place.shown) as connection:
            yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """Yield the connection of the one writer; all that it does is kept together, or nothing."""
        with writing(self._engine, self.place.shown) as connection:
            yield connection

    @contextlib.contextmanager
    def batch(self, what: str, source: str = "") -> Iterator[Batch]:
        """Yield a batch; once the block has ended well, its ``added`` says what it did.

        ``what`` says what is done, such as "add"; ``source`` from what, such as the name of a file.
        """
        with self.writing() as connection:
            batch = Batch(connection, self.store)
            yield batch
            batch.end(what, source)

    def add_setup(self, setup: Setup) -> str:
        """Put in a setup that was read from a file; return its hash."""
        with self.batch("add", setup.origin.file) as batch:
            return batch.setup(setup)

    def add_recording(self, recording: Recording, original: bytes, mapping: str = "") -> str:
        """Put in a cleaned recording with the original bytes of its file; return their SHA-256."""
        with self.batch("add", recording.name) as batch:
            return batch.recording(recording, original, mapping)

    def add_review(
        self, review: Mapping[str, Any], recording: str, setup: Setup | None = None
    ) -> tuple[str, ...]:
        """Put in the launches of a review of a recording in the book. See `Batch.review`."""
        with self.batch("review", recording) as batch:
            return batch.review(review, recording, setup)

    def add_prediction(self, answer: Mapping[str, Any], day: Mapping[str, float] | None = None) -> str:
        """Put in odds of a setup in the book; return their id. See `Batch.prediction`."""
        with self.batch("predict", str(answer.get("setup_hash", ""))) as batch:
            return batch.prediction(answer, day)

    def add_evidence(self, items: Iterable[Evidence], source: str = "") -> tuple[str, ...]:
        """Put in evidence; return its ids. See `Batch.evidence`."""
        with self.batch("evidence", source) as batch:
            return batch.evidence(items)

    def add_note(self, text: str, about: str = "") -> str:
        """Put in a note about the thing of an id, or the start of one, or about the book; return its id."""
        with self.batch("note") as batch:
            return batch.note(text, self._whole_id(about))

    def newest(self, kind: str = "launches", last: int = 50) -> list[Row]:
        """Return the newest rows of a kind, newest first."""
        with self.reading() as connection:
            return look.listed(connection, kind, last)

    def counts(self) -> dict[str, int]:
        """Return how many rows of each kind there are."""
        with self.reading() as connection:
            return look.counts(connection)

    def show(self, id_: str) -> dict[str, Any]:
        """Return a thing with what belongs to it. See `look.shown`."""
        with self.reading() as connection:
            return look.shown(connection, id_)

    def search(self, wanted: look.Wanted) -> list[Row]:
        """Return the launches that are wanted. See `look.Wanted`."""
        with self.reading() as connection:
            return look.search(connection, wanted)

    def trends(self) -> tuple[list[Trend], Trend]:
        """Return the trend of each day, and that of all."""
        with self.reading() as connection:
            return trends(connection)

    def recording(self, sha256: str) -> Recording:
        """Return a recording with its cleaned channels, as it was put in."""
        row = self._recording_row(sha256)
        return recording_of(row, self.store.read(row["cleaned"]))

    def original(self, sha256: str) -> bytes:
        """Return the bytes of the file of a recording, as they were."""
        return self.store.read(self._recording_row(sha256)["id"])

    def evidence(self, input_: str = "") -> tuple[Evidence, ...]:
        """Return all evidence, or that on one input, oldest first.

        A recording that was reviewed again teaches what its last review says, and that once.
        """
        from overarm.learn.evidence import Evidence
        from overarm.logbook.taught import key_of, taught_no_more

        ask = select(*(evidence.c[name] for name in Evidence._fields))
        if input_:
            ask = ask.where(evidence.c.input == input_)
        with self.reading() as connection:
            rows = connection.execute(ask.order_by(evidence.c.day, evidence.c.id)).mappings().all()
            outdone = taught_no_more(connection)
        found = (Evidence(**row) for row in rows)
        return tuple(item for item in found if item.kind != "launch" or key_of(item) not in outdone)

    def write_setup(self, hash_: str, folder: Path) -> Path:
        """Write a setup of the book, with the files that it names, into a folder; return its file.

        Raises InputError if it is not in the book, or a file of its name is there already.
        """
        from overarm.files import write_together

        with self.reading() as connection:
            row = connection.execute(select(setups).where(setups.c.id == hash_)).mappings().first()
        if row is None:
            raise InputError(
                [Problem("is no setup in this book", "overarm logbook list --what setups", hash_)]
            )
        out = {folder / f"{hash_}.yaml": row["yaml"].encode("utf-8")}
        out |= {folder / name: self.store.read(sha256) for name, sha256 in row["parts"].items()}
        for path in out:
            if path.exists():
                raise InputError([Problem("is there already", "Give an empty folder", str(path))])
        try:
            write_together(out)
        except OSError as error:
            raise InputError([problem_of(error, str(folder))]) from error
        return folder / f"{hash_}.yaml"

    def undo(self, batch: str = "") -> Undone:
        """Take a batch back, the last one if none is named. See `overarm.logbook.undo.undo`."""
        with self.writing() as connection:
            undone = undo(connection, batch)
        with self.writing() as connection:
            drop_unused(connection, self.store)
        return undone

    def tidy(self, *, remove: bool = False) -> Tidied:
        """Look the book over; with ``remove``, remove files that nothing names."""
        with self.writing() as connection:
            return look_over(connection, self.store, remove=remove)

    def _recording_row(self, sha256: str) -> Mapping[str, Any]:
        with self.reading() as connection:
            row = connection.execute(select(recordings).where(recordings.c.id == sha256)).mappings().first()
        if row is None:
            cure = "overarm logbook list --what recordings"
            raise InputError([Problem("is no recording in this book", cure, value=sha256[:64])])
        return dict(row)

    def _whole_id(self, told_: str) -> str:
        if not told_:
            return ""
        with self.reading() as connection:
            return str(look.find(connection, told_)[1]["id"])


def _look_at_file(place: Place, *, make: bool) -> None:
    """Refuse what is no SQLite file, or is not there and is not to be made; make its folder."""
    file = place.file
    try:
        with file.open("rb") as stream:
            head = stream.read(len(SQLITE_HEAD))
    except FileNotFoundError:
        if not make:
            raise InputError([Problem("there is no logbook here yet", NONE_YET, str(file))]) from None
        from overarm.files import make_folder

        with told(str(file)):
            make_folder(file.parent)
        return
    except OSError as error:
        raise InputError([problem_of(error, str(file))]) from error
    if head and head != SQLITE_HEAD:
        raise InputError(
            [Problem("is no SQLite file, so no logbook", "Give the file of a logbook", str(file))]
        )


def _prepared(engine: Engine, place: Place, *, make: bool) -> str:
    """Bring a book forward if that is needed, and return its id."""
    from overarm.logbook.tables import book

    sqlite = place.kind == "sqlite"
    with reading(engine, place.shown) as connection:
        if sqlite and place.file.stat().st_size <= LARGEST_QUICK_CHECK_BYTES:
            wrong = integrity(connection, quick=True)
            if wrong:
                cure = "Bring back a copy of the book, or import an export into a new one with --book"
                message = "the file of the book is damaged"
                raise InputError([Problem(message, cure, place.shown, value=wrong[0][:200])])
        form = form_of(connection, place.shown)
        id_ = connection.execute(select(book.c.id)).scalar() if form == STEPS[-1] else None
    if form is None and not make:
        raise InputError([Problem("there is no logbook here yet", NONE_YET, place.shown)])
    if id_ is not None:
        return str(id_)
    if sqlite:
        make_wal(engine)
    with writing(engine, place.shown) as connection:
        return bring_forward(connection, place.shown)

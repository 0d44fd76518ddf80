"""Do one thing to a logbook again and again, and fail at its first step, its second, and so on to the last.

A step is a call that changes a file or the database. The test runs this as a program of its own, because
each failing is a process that kills itself; they are forked, so that each begins in milliseconds.
"""

from __future__ import annotations

import contextlib
import errno
import functools
import hashlib
import json
import os
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import alembic.command
from sqlalchemy import Engine, event
from sqlalchemy.engine.default import DefaultDialect

from overarm.errors import InputError
from overarm.logbook import batch as batch_module
from overarm.logbook import book as book_module
from overarm.logbook.book import Book
from overarm.logbook.carry import export_book, import_file
from overarm.logbook.tables import CONTENT
from tests.examples import setup_of
from tests.failing import Steps, files_counted
from tests.logbooks import (
    EVIDENCE,
    odds_of_b,
    original_of,
    recording_of,
    review_of,
    sqlite_book,
)

BOOK = "logbook.sqlite"


def die(_sql: bool) -> None:
    """End as by kill -9."""
    os.kill(os.getpid(), signal.SIGKILL)


def full(sql: bool) -> None:
    """Fail as on a full disk."""
    if sql:
        raise sqlite3.OperationalError("database or disk is full")
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@contextlib.contextmanager
def counted(steps: Steps) -> Iterator[None]:
    """Count every step in the block, those of the database too."""
    commit = DefaultDialect.do_commit

    def before_sql(*_: Any) -> None:
        steps.tick(sql=True)

    def after_commit(self: DefaultDialect, connection: Any) -> None:
        steps.tick(sql=True)
        commit(self, connection)
        # A full disk cannot undo a commit that has come back; a kill can come then.
        if steps.fail is die:
            steps.tick(sql=True)

    DefaultDialect.do_commit = after_commit  # type: ignore[method-assign]
    event.listen(Engine, "before_cursor_execute", before_sql)
    try:
        with files_counted(steps):
            yield
    finally:
        event.remove(Engine, "before_cursor_execute", before_sql)
        DefaultDialect.do_commit = commit  # type: ignore[method-assign]


def put_small(book: Book, number: int) -> None:
    """Put in a flight with one thing of each kind."""
    card, recording = setup_of("b"), recording_of(number)
    review = {**review_of(number), "prediction": odds_of_b()}
    with book.batch("add", recording.name) as batch:
        batch.recording(recording, original_of(number))
        batch.review({**review, "launches": review["launches"][:1]}, recording.sha256, card)
        batch.evidence([EVIDENCE[0]._replace(source=recording.sha256)])
        batch.note("gusty", recording.sha256, "2031-05-20T19:00:00.000Z")


# What is done to a book in a folder, once it is open or on its way to be.
def _new(folder: Path) -> None:
    with sqlite_book(folder) as book, book.batch("note") as batch:
        batch.note("first", "", "2031-05-20T19:00:00.000Z")


def _add(folder: Path) -> None:
    with sqlite_book(folder) as book:
        put_small(book, 2)


def _import(folder: Path) -> None:
    with sqlite_book(folder) as book:
        import_file(book, folder / "other.zip")


def _undo(folder: Path) -> None:
    with sqlite_book(folder) as book:
        book.undo()


DEEDS: dict[str, Callable[[Path], None]] = {"new": _new, "add": _add, "import": _import, "undo": _undo}


def template(folder: Path, deed: str) -> None:
    """Fill a folder with what a deed begins with."""
    if deed == "new":
        return
    with sqlite_book(folder) as book:
        put_small(book, 1)
    if deed == "import":
        with sqlite_book(folder, "other.sqlite") as other:
            put_small(other, 2)
            export_book(other, folder / "other.zip")


def look(folder: Path) -> dict[str, Any]:
    """Return what the book of a folder holds, less times and batches, after a look for damage.

    Read by SQLite alone, so that no code of ours stands between.
    """
    with contextlib.closing(sqlite3.connect(folder / BOOK)) as book:
        assert book.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert book.execute("PRAGMA foreign_key_check").fetchall() == []
        there = {name for (name,) in book.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        found: dict[str, Any] = {}
        for name in CONTENT:
            rows = book.execute(f"SELECT * FROM {name} ORDER BY id").fetchall() if name in there else []
            found[name] = [row[:-1] for row in rows]  # the last column is when it was added
        named = book.execute("SELECT id, cleaned FROM recordings").fetchall() if there else []
    for sha256 in (name for row in named for name in row):
        data = (folder / "logbook-files" / sha256[:2] / sha256).read_bytes()
        assert hashlib.sha256(data).hexdigest() == sha256
    return found


def check_after(folder: Path, deed: str, before: dict[str, Any], after: dict[str, Any]) -> str:
    """Hold the book after a failure: as before or as after, sound, and the deed done again completes it."""
    now = look(folder)
    assert now in (before, after), "neither as before nor as after"
    state = "after" if now == after else "before"
    if state == "before" or deed != "undo":  # an undo that was done is not done again
        DEEDS[deed](folder)
        assert look(folder) == after, "done again, it is not whole"
    return state


def forked(work: Callable[[], None]) -> int:
    """Run something in a process of its own; return the number of the signal that ended it, or 0."""
    child = os.fork()
    if child == 0:
        code = 70
        try:
            work()
            code = 0
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)
    status = os.waitpid(child, 0)[1]
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, f"a child failed: {status}"
    return os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0


def killed_at(folder: Path, deed: str, number: int) -> int:
    """Do a deed that is killed at a step."""

    def work() -> None:
        with counted(Steps(number, die)):
            DEEDS[deed](folder)

    return forked(work)


def killed_after(folder: Path, deed: str, after_s: float) -> int:
    """Do a deed that is killed at a time, wherever it is then, inside the database too."""

    def work() -> None:
        signal.setitimer(signal.ITIMER_REAL, after_s)
        DEEDS[deed](folder)

    return forked(work)


def full_at(folder: Path, deed: str, number: int) -> int:
    """Do a deed on a disk that is full at a step; return 0 if it has fewer steps than that."""

    def work() -> None:
        steps = Steps(number, full)
        try:
            with counted(steps):
                DEEDS[deed](folder)
        except InputError as error:
            said = str(error)
            assert "no room left on the disk" in said, said
            assert str(folder) in said, said
        if steps.count >= number:
            die(False)  # only to tell the parent

    return forked(work)


def run(deed: str, how: str, at: list[float]) -> list[str]:
    """Fail a deed at each step, or at each of the given shares of its time; return the states found."""
    states = []
    memory = Path("/dev/shm")  # what a kill leaves does not depend on the disk, and its time does
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as name:
        home = Path(name)
        (home / "before").mkdir()
        template(home / "before", deed)
        folder = _copy(home, "now", "before")
        before = look(folder)
        DEEDS[deed](folder)
        after = look(folder)
        took_s = _time_of(_copy(home, "now", "before"), deed)
        number, failed = 0, 1
        while number < len(at) or (failed and not at):
            folder = _copy(home, "now", "before")
            number += 1
            if how == "kill":
                failed = killed_at(folder, deed, number)
            elif how == "full":
                failed = full_at(folder, deed, number)
            else:
                failed = killed_after(folder, deed, at[number - 1] * took_s)
            states.append(check_after(folder, deed, before, after))
    return states


def _time_of(folder: Path, deed: str) -> float:
    begun = time.perf_counter()
    forked(lambda: DEEDS[deed](folder))
    return time.perf_counter() - begun


def _copy(home: Path, new: str, old: str) -> Path:
    shutil.rmtree(home / new, ignore_errors=True)
    shutil.copytree(home / old, home / new)
    return home / new


if __name__ == "__main__":
    assert alembic.command  # imported before the forks
    # A book at the same path has the same engine, which knows its statements already.
    book_module.engine_of = functools.cache(book_module.engine_of)
    # The channels are packed in memory, before any step; threads that the packing starts outlive no fork.
    batch_module.parquet_of = lambda recording: recording.name.encode()
    shares = [k / 6 for k in range(1, 10)]
    told = [word.split(":") for word in sys.argv[1:]]
    found_ = {f"{deed}:{how}": run(deed, how, shares if how == "time" else []) for deed, how in told}
    sys.stdout.write(json.dumps(found_))

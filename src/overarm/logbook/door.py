"""The way into the database: connections, transactions, and what is said when they fail.

There is one writer at a time: SQLite's write lock, or an advisory lock in PostgreSQL. Files are written
and removed under the same lock, so that no row ever loses its file to somebody who tidies up.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from overarm.errors import InputError, Problem
from overarm.logbook.place import Place

WAIT_S = 60.0
APPLICATION_ID = 0x4F76_6572  # "Over" in ASCII, in the head of a SQLite file
_LOCK = APPLICATION_ID
_WRITES = "overarm_writes"

FULL = "Make room on the disk, then do it again; the book is as it was before"
RESTORE = "Bring back a copy of the book, or begin a new one and import an export"
ELSE = "See to what the message says, then do it again; the book is as it was before"
# What a database says, in parts of its words, and what that means here.
_MEANINGS = (
    ("database or disk is full", "there is no room left on the disk", FULL),
    ("disk i/o error", "the disk cannot be written or read", FULL),
    ("no space left", "there is no room left on the disk", FULL),
    ("malformed", "the file of the book is damaged", RESTORE),
    ("file is not a database", "is no SQLite file, so no logbook", "Give the file of a logbook"),
    ("database is locked", "another program has been writing to the book for a minute", "Try again later"),
    ("readonly database", "the book cannot be written", "Give a book that you may write to"),
    ("unable to open database", "the book cannot be opened", "Give a file in a folder that you may write to"),
    ("connection", "the database does not answer", "Start the server, or look at the URL of the book"),
)


def engine_of(place: Place) -> Engine:
    """Return the engine of a book; nothing is opened yet. Raises InputError without the driver."""
    options: dict[str, Any] = {"json_serializer": _json}
    if place.kind == "sqlite":
        engine = create_engine(place.url, connect_args={"timeout": WAIT_S}, **options)
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        engine = create_engine(place.url, pool_pre_ping=True, **options)
    except ModuleNotFoundError as error:
        cure = "Install the driver: pip install 'overarm[postgres]'"
        raise InputError([Problem("needs a driver for PostgreSQL", cure, place.shown)]) from error
    event.listen(engine, "begin", _begin_postgres)
    return engine


def _json(data: Any) -> str:
    """Return data as JSON; letters beyond ASCII are escaped, so that both databases keep any of them."""
    return json.dumps(data, allow_nan=False, separators=(",", ":"))


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    """Set up a new connection: our own BEGIN, and nothing confirmed before it is on the disk."""
    connection.isolation_level = None
    cursor = connection.cursor()
    for line in (
        f"PRAGMA busy_timeout = {int(WAIT_S * 1000)}",
        "PRAGMA foreign_keys = ON",
        "PRAGMA synchronous = FULL",
        "PRAGMA trusted_schema = OFF",
    ):
        cursor.execute(line)
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgres(connection: Connection) -> None:
    if connection.get_execution_options().get(_WRITES, False):
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")


@contextmanager
def reading(engine: Engine, shown: str) -> Iterator[Connection]:
    """Yield a connection that sees one state of the book throughout. Raises InputError if it fails."""
    with told(shown), engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection.execution_options(isolation_level="REPEATABLE READ")
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine, shown: str) -> Iterator[Connection]:
    """Yield a connection that alone may write; all of it is kept, or nothing. Raises InputError."""
    with told(shown), engine.connect() as plain:
        connection = plain.execution_options(**{_WRITES: True})
        with connection.begin():
            yield connection


@contextmanager
def told(shown: str) -> Iterator[None]:
    """Turn what a database or the disk says inside the block into an InputError that names the book."""
    try:
        yield
    except (SQLAlchemyError, OSError) as error:
        raise InputError([problem_of(error, shown)]) from error


def problem_of(error: Exception, shown: str) -> Problem:
    """Return in words what went wrong with the book."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    said = str(cause).strip().splitlines()[0] if str(cause).strip() else type(cause).__name__
    spare = "the book cannot be used"
    if isinstance(error, OSError):
        said, spare = error.strerror or said, "cannot be written or read"
        shown = str(error.filename or shown)
    for part, meaning, cure in _MEANINGS:
        if part in said.casefold():
            return Problem(meaning, cure, shown, value=said[:200])
    return Problem(spare, ELSE, shown, value=said[:200])


def make_wal(engine: Engine) -> None:
    """Have SQLite keep a log of what is written beside the file, so that readers need not wait."""
    with engine.connect() as connection:
        raw = connection.connection.dbapi_connection
        assert raw is not None
        cursor = raw.cursor()
        cursor.execute("PRAGMA journal_mode = WAL")
        cursor.close()


def integrity(connection: Connection, *, quick: bool) -> list[str]:
    """Return what SQLite finds wrong with the file of a book; for PostgreSQL, nothing is looked at."""
    if connection.dialect.name != "sqlite":
        return []
    pragma = "quick_check(1)" if quick else "integrity_check"
    said = [str(line) for line in connection.execute(text(f"PRAGMA {pragma}")).scalars()]
    said += [f"foreign key: {row}" for row in connection.execute(text("PRAGMA foreign_key_check")).all()]
    return [line for line in said if line != "ok"]

"""Bring a book to the form that this version reads, and refuse one that is newer or somebody else's."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, select, text

from overarm.errors import InputError, Problem
from overarm.logbook.door import APPLICATION_ID
from overarm.logbook.ids import now_utc, time_id
from overarm.logbook.tables import book, metadata

FOLDER = Path(__file__).parent / "migrations"
VERSION_TABLE = "overarm_logbook_version"
STEPS = ("0001",)  # every form that this version knows, oldest first


def form_of(connection: Connection, shown: str) -> str | None:
    """Return the form of a book, or None for an empty database.

    Raises
    ------
    InputError
        If it is newer than this version, or holds the tables of another program.
    """
    names = set(inspect(connection).get_table_names())
    if VERSION_TABLE in names:
        form = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
        if form in STEPS:
            return str(form)
        if form is not None:
            cure = "Use the version of Overarm that wrote it, or a newer one; nothing was changed"
            raise InputError([Problem("was written by a newer Overarm", cure, shown, value=f"form {form}")])
    others = names - {VERSION_TABLE}
    if connection.dialect.name == "postgresql":
        others &= set(metadata.tables)
    if others:
        told = ", ".join(sorted(others)[:3])
        cure = "Give an empty database or a new file; nothing was changed"
        raise InputError([Problem("holds the tables of another program", cure, shown, value=told)])
    return None


def bring_forward(connection: Connection, shown: str) -> str:
    """Run the steps that a book lacks, within the transaction of the connection; return the book's id.

    Raises InputError as `form_of` does.
    """
    if form_of(connection, shown) != STEPS[-1]:
        _run_steps(connection)
    found = connection.execute(select(book.c.id)).scalar()
    if found is None:
        found = time_id()
        connection.execute(book.insert().values(id=found, made_utc=now_utc()))
        if connection.dialect.name == "sqlite":
            connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))
    return str(found)


def _run_steps(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    config.attributes["version_table"] = VERSION_TABLE
    command.upgrade(config, STEPS[-1])

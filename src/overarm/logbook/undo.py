"""Take a batch back: what it added goes, unless something else uses it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from sqlalchemy import Connection, RowMapping, Select, Table, delete, select, update

from overarm.errors import InputError, Problem
from overarm.logbook.store import Store
from overarm.logbook.tables import (
    CONTENT,
    evidence,
    imports,
    launches,
    notes,
    predictions,
    recordings,
    setups,
)
from overarm.logbook.used import used_files


class Kept(NamedTuple):
    """A row that an undo left: its table, its id, the number of the batch that it belongs to from now on."""

    table: str
    id: str
    batch: int


class Undone(NamedTuple):
    """What an undo did."""

    id: str
    number: int
    removed: dict[str, int]
    kept: tuple[Kept, ...]


def undo(connection: Connection, told: str = "") -> Undone:
    """Remove what a batch added, and the batch; the last one if no number or id is given.

    A row that something of another batch uses is kept and belongs to that batch from now on. Files are left;
    `drop_unused` removes them once this is committed. Raises InputError if there is no such batch.
    """
    batch = _batch(connection, told)
    removed: dict[str, int] = {}
    kept: list[Kept] = []
    for name, table in reversed(CONTENT.items()):
        for found in batch["added"].get(name, ()):
            user = next(_users(connection, table, found), None)
            if user is None:
                gone = connection.execute(delete(table).where(table.c.id == found)).rowcount
                removed[name] = removed.get(name, 0) + gone
            else:
                kept.append(Kept(name, found, _hand_over(connection, batch["id"], name, found, user)))
    connection.execute(delete(imports).where(imports.c.id == batch["id"]))
    return Undone(batch["id"], batch["number"], {name: n for name, n in removed.items() if n}, tuple(kept))


def _batch(connection: Connection, told: str) -> RowMapping:
    ask = select(imports).order_by(imports.c.number.desc())
    if told.isdecimal() and len(told) < 16:
        ask = ask.where(imports.c.number == int(told))
    elif told:
        ask = ask.where(imports.c.id.startswith(told, autoescape=True))
    rows = connection.execute(ask.limit(2)).mappings().all()
    if not rows:
        cure = "overarm logbook list --what imports shows what can be undone"
        raise InputError([Problem("there is no such batch to undo", cure, value=told)])
    if told and len(rows) > 1:
        raise InputError([Problem("is the start of several ids", "Give more letters of it", value=told)])
    return rows[0]


def _users(connection: Connection, table: Table, found: str) -> Iterator[tuple[str, str]]:
    """Yield table and id of each row that uses a row. Rows of the same batch that may go are gone already."""
    asks: list[Select[str]] = []
    if table is not notes:
        asks.append(select(notes.c.id).where(notes.c.about == found))
    if table is setups:
        asks += [select(user.c.id).where(user.c.setup == found) for user in (launches, predictions)]
    elif table is recordings:
        asks.append(select(launches.c.id).where(launches.c.recording == found))
        asks.append(select(evidence.c.id).where(evidence.c.source == found))
    elif table is predictions:
        asks.append(select(launches.c.id).where(launches.c.prediction == found))
    for ask in asks:
        user = ask.get_final_froms()[0]
        assert isinstance(user, Table)
        for row in connection.execute(ask).scalars():
            yield user.name, row


def _hand_over(connection: Connection, batch: str, name: str, found: str, user: tuple[str, str]) -> int:
    """Give a row to another batch, that of its user if it is known, and return that one's number; else 0."""
    for row in connection.execute(select(imports).where(imports.c.id != batch)).mappings():
        added: dict[str, Any] = dict(row["added"])
        if user[1] in added.get(user[0], ()):
            added[name] = [*added.get(name, ()), found]
            connection.execute(update(imports).where(imports.c.id == row["id"]).values(added=added))
            return int(row["number"])
    return 0


def drop_unused(connection: Connection, store: Store) -> list[str]:
    """Remove the files that no row names, and what cut-off writes left; return their names.

    The connection must be the one writer, or a file may go whose row is just being written.
    """
    used = used_files(connection)
    gone = [name for name in store.files() if name not in used]
    for name in gone:
        store.drop(name)
    for part in store.parts():
        part.unlink(missing_ok=True)
        gone.append(part.name)
    return gone

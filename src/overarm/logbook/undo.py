"""Take a batch back: what it added goes, unless something else uses it or another batch brought it too."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

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

    A row that something of another batch uses, or that another batch brought too, is kept and belongs to that
    batch from now on. Files are left; `drop_unused` removes them once this is committed. Raises InputError if
    there is no such batch.
    """
    batch = _batch(connection, told)
    others = _others(connection, batch["id"])
    removed: dict[str, int] = {}
    kept: list[Kept] = []
    heirs: dict[str, dict[str, list[str]]] = {}
    for name, table in reversed(CONTENT.items()):
        for found in batch["added"].get(name, ()):
            user = next(_users(connection, table, found), None)
            heir = _heir(others, name, found, user)
            if user is None and heir is None:
                gone = connection.execute(delete(table).where(table.c.id == found)).rowcount
                removed[name] = removed.get(name, 0) + gone
            else:
                kept.append(Kept(name, found, heir.number if heir is not None else 0))
                if heir is not None:
                    heir.added.setdefault(name, []).append(found)
                    heirs[heir.id] = heir.added
    for id_, added in heirs.items():
        connection.execute(update(imports).where(imports.c.id == id_).values(added=added))
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


class _Other(NamedTuple):
    """A batch that stays: what it added, and what it brought that was there before."""

    id: str
    number: int
    added: dict[str, list[str]]
    already: dict[str, frozenset[str]]


def _others(connection: Connection, batch: str) -> list[_Other]:
    rows = connection.execute(select(imports).where(imports.c.id != batch).order_by(imports.c.number))
    return [
        _Other(
            row["id"],
            int(row["number"]),
            {name: list(ids) for name, ids in row["added"].items()},
            {name: frozenset(ids) for name, ids in row["already"].items()},
        )
        for row in rows.mappings()
    ]


def _heir(others: Sequence[_Other], name: str, found: str, user: tuple[str, str] | None) -> _Other | None:
    """Return the batch that a row belongs to from now on: that of its user, or one that brought it too."""
    for other in others:
        if user is not None and user[1] in other.added.get(user[0], ()):
            return other
    return next((other for other in others if found in other.already.get(name, ())), None)


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

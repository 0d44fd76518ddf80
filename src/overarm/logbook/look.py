"""Look things up in a book: lists, one thing with all that belongs to it, and a search."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, Select, Table, and_, func, or_, select

from overarm.errors import InputError, Problem
from overarm.logbook.tables import (
    CONTENT,
    DERIVED,
    Row,
    evidence,
    imports,
    launches,
    notes,
    predictions,
    recordings,
    setups,
)

LISTED: dict[str, Table] = {**CONTENT, "imports": imports}
_HEAVY = {"yaml", "phases", "events", "words"}  # shown alone, not in a list


class Wanted(NamedTuple):
    """What launches a search is for; what is empty or None asks for nothing."""

    text: str = (
        ""  # every word must stand in the launch, its recording, its setup or a note about one of them
    )
    setup: str = ""  # hash, or the start of it, or a part of the name
    outcome: str = ""
    thrower: str = ""  # a part of the name
    from_day: str = ""  # ISO 8601, inclusive
    to_day: str = ""


def when_column() -> ColumnElement[str]:
    """Return when a launch was; when it was added, if its recording does not tell."""
    return func.coalesce(func.nullif(launches.c.flown_utc, ""), launches.c.added_utc)


def latest(ask: Select[Any]) -> Select[Any]:
    """Return a question about launches with those left out that were reviewed again since."""
    newer = launches.alias("newer")
    again = select(newer.c.id).where(
        newer.c.recording == launches.c.recording,
        newer.c.number == launches.c.number,
        or_(
            newer.c.added_utc > launches.c.added_utc,
            and_(newer.c.added_utc == launches.c.added_utc, newer.c.id > launches.c.id),
        ),
    )
    return ask.where(~again.exists())


def listed(connection: Connection, kind: str, last: int) -> list[Row]:
    """Return the newest rows of a kind, newest first, without what is long.

    Raises InputError for a kind that there is not.
    """
    if kind not in LISTED:
        message = "is no kind of thing in a logbook"
        raise InputError([Problem(message, f"Give one of {', '.join(LISTED)}", key="what", value=kind)])
    table = LISTED[kind]
    columns = [column for column in table.columns if column.name not in _HEAVY]
    order: ColumnElement[Any] = imports.c.number if table is imports else table.c.added_utc
    ask = select(*columns)
    if table is launches:
        ask, order = _launches(), when_column()
    ask = ask.order_by(order.desc(), table.c.id).limit(last)
    return [dict(row) for row in connection.execute(ask).mappings()]


def counts(connection: Connection) -> dict[str, int]:
    """Return how many rows of each kind there are; of launches, all reviews count."""
    return {
        name: int(connection.execute(select(func.count()).select_from(table)).scalar_one())
        for name, table in LISTED.items()
    }


def search(connection: Connection, wanted: Wanted) -> list[Row]:
    """Return the launches that are wanted, newest first, with the names of recording and setup.

    Raises InputError for a day that is none.
    """
    ask = _launches().where(*_conditions(wanted)).order_by(when_column().desc(), launches.c.id)
    return [dict(row) for row in connection.execute(ask).mappings()]


def _launches() -> Select[Any]:
    columns = [column for column in launches.columns if column.name not in _HEAVY]
    ask = (
        select(*columns, recordings.c.name.label("recording_name"), setups.c.name.label("setup_name"))
        .join(recordings, launches.c.recording == recordings.c.id)
        .outerjoin(setups, launches.c.setup == setups.c.id)
    )
    return latest(ask)


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = [_has_word(word) for word in wanted.text.casefold().split()]
    if wanted.setup:
        start = launches.c.setup.startswith(wanted.setup.casefold(), autoescape=True)
        found.append(or_(start, setups.c.words.contains(wanted.setup.casefold(), autoescape=True)))
    if wanted.outcome:
        found.append(launches.c.outcome == wanted.outcome)
    if wanted.thrower:
        folded = wanted.thrower.casefold()
        named = setups.c.words.contains(folded, autoescape=True)
        found += [launches.c.thrower != "", or_(launches.c.words.contains(folded, autoescape=True), named)]
    if wanted.from_day:
        found.append(when_column() >= _day(wanted.from_day, "from"))
    if wanted.to_day:
        last = _day(wanted.to_day, "to")
        # A day alone means all of it. No hour comes after 99, however a database sorts signs and letters.
        found.append(when_column() <= (f"{last}T99" if len(last) == 10 else last))
    return found


def _has_word(word: str) -> ColumnElement[bool]:
    """Return the condition that a word stands in a launch, or in what belongs to it."""
    about = or_(
        notes.c.about == launches.c.id,
        notes.c.about == launches.c.recording,
        notes.c.about == launches.c.setup,
    )
    noted = select(notes.c.id).where(about, notes.c.words.contains(word, autoescape=True)).exists()
    tables = (launches, recordings, setups)
    return or_(*(table.c.words.contains(word, autoescape=True) for table in tables), noted)


def _day(text: str, key: str) -> str:
    from datetime import UTC, datetime

    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        cure = "Write it as 2031-05-20, or with a time as 2031-05-20T18:30"
        raise InputError([Problem("is no day", cure, key=key, value=text[:40])]) from None
    if found.tzinfo is not None:
        found = found.astimezone(UTC).replace(tzinfo=None)
    return found.date().isoformat() if len(text) == 10 else found.isoformat(timespec="milliseconds")


def find(connection: Connection, told: str) -> tuple[str, Row]:
    """Return the kind and the row of an id, or of the start of one.

    Raises InputError if there is none, or several.
    """
    found: list[tuple[str, Row]] = []
    for name, table in LISTED.items():
        ask = select(table).where(table.c.id.startswith(told.strip(), autoescape=True)).limit(3)
        found += [(name, dict(row)) for row in connection.execute(ask).mappings()]
    if not told.strip() or not found:
        cure = "overarm logbook list and search show ids; the first letters are enough"
        raise InputError([Problem("is no id in this book", cure, value=told[:64])])
    exact = [item for item in found if item[1]["id"] == told.strip()]
    if len(exact or found) > 1:
        several = ", ".join(f"{name} {row['id'][:12]}" for name, row in found[:3])
        raise InputError(
            [Problem("is the start of several ids", f"Give more letters: {several}", value=told)]
        )
    return (exact or found)[0]


def shown(connection: Connection, told: str) -> dict[str, Any]:
    """Return a thing with what belongs to it: ``kind``, ``row``, and the related rows by their kind."""
    kind, row = find(connection, told)
    row = {key: value for key, value in row.items() if key not in DERIVED or key.endswith(("_s", "_mps"))}
    related: dict[str, list[Row]] = {}
    for name, condition in _related(kind, row).items():
        table = CONTENT[name]
        columns = [column for column in table.columns if column.name not in _HEAVY]
        rows = connection.execute(select(*columns).where(condition).order_by(table.c.id)).mappings()
        related[name] = [dict(item) for item in rows]
    return {"kind": kind, "row": row, "related": {name: rows for name, rows in related.items() if rows}}


def _related(kind: str, row: Mapping[str, Any]) -> dict[str, ColumnElement[bool]]:
    """Return, for each table, which of its rows belong to a row of a kind."""
    found: dict[str, ColumnElement[bool]] = {"notes": notes.c.about == row["id"]}
    if kind == "setups":
        found |= {"launches": launches.c.setup == row["id"], "predictions": predictions.c.setup == row["id"]}
    elif kind == "recordings":
        found |= {"launches": launches.c.recording == row["id"], "evidence": evidence.c.source == row["id"]}
    elif kind == "predictions":
        found |= {"launches": launches.c.prediction == row["id"], "setups": setups.c.id == row["setup"]}
    elif kind == "launches":
        found |= {
            "recordings": recordings.c.id == row["recording"],
            "setups": setups.c.id == row["setup"],
            "predictions": predictions.c.id == row["prediction"],
        }
    elif kind == "evidence":
        found["recordings"] = recordings.c.id == row["source"]
    return found

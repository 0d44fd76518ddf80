"""What the last review of each launch teaches, where a launch was reviewed more than once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, select

from overarm.errors import InputError
from overarm.learn.evidence import Evidence
from overarm.logbook.look import latest
from overarm.logbook.tables import launches

Taught = tuple[str, str, float, float, str]  # source, input, value, error, method


def taught_no_more(connection: Connection) -> set[Taught]:
    """Return what earlier reviews of launches taught and the last ones, of the same recordings, do not.

    Each recording teaches once: a second review, perhaps with another setup, takes the place of the first.
    What no review of the book teaches is not in here.
    """
    last = {row.id for row in connection.execute(latest(select(launches.c.id)))}
    every = connection.execute(select(launches.c.id, launches.c.recording)).all()
    again = {row.recording for row in every if row.id not in last}
    if not again:
        return set()
    columns = [launches.c[name] for name in ("id", "recording", "number", "kind", "estimates")]
    ask = select(*columns).where(launches.c.recording.in_(again))
    rows = [dict(row) for row in connection.execute(ask).mappings()]
    taught = [_taught(row for row in rows if (row["id"] in last) is newest) for newest in (False, True)]
    return taught[0] - taught[1]


def key_of(item: Evidence) -> Taught:
    """Return what tells one piece of evidence from another of the same recording."""
    return item.source, item.input, item.value, item.error, item.method


def _taught(rows: Iterable[Mapping[str, Any]]) -> set[Taught]:
    from overarm.learn.answers import figures_of
    from overarm.learn.evidence import evidence_of

    found: set[Taught] = set()
    for row in rows:
        try:
            (figures,) = figures_of({"launches": [row]}, row["id"], (row["recording"], ""))
        except InputError:  # a row of another program: it teaches nothing
            continue
        found.update(key_of(item) for item in evidence_of(figures)[0])
    return found

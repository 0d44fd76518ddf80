"""Look a book over: files without a row, rows without a file, files that are not what they were."""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import Connection

from overarm.errors import InputError
from overarm.logbook.door import integrity
from overarm.logbook.store import Store
from overarm.logbook.undo import drop_unused
from overarm.logbook.used import used_files


class Tidied(NamedTuple):
    """What was found. Only ``removed`` is gone; the rest stands as it was."""

    unused: tuple[str, ...]  # files that nothing names: harmless
    unfinished: tuple[str, ...]  # what writes that were cut off left: harmless
    missing: tuple[str, ...]  # files that a row names and that are not there
    damaged: tuple[str, ...]  # files that are not what was put in
    database: tuple[str, ...]  # what the database finds wrong with itself
    removed: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Return True if nothing is missing or damaged."""
        return not (self.missing or self.damaged or self.database)


def look_over(connection: Connection, store: Store, *, remove: bool) -> Tidied:
    """Return what is not as it should be; every file is read and its hash taken.

    Parameters
    ----------
    connection : Connection
        The one writer, so that nothing is half written meanwhile.
    remove : bool
        Remove what is unused or unfinished.
    """
    used = used_files(connection)
    there = set(store.files())
    damaged = []
    for name in sorted(used & there):
        try:
            store.read(name)
        except InputError:
            damaged.append(name)
    unused, unfinished = sorted(there - used), [str(part) for part in store.parts()]
    removed = drop_unused(connection, store) if remove else []
    return Tidied(
        unused=tuple(unused),
        unfinished=tuple(unfinished),
        missing=tuple(sorted(used - there)),
        damaged=tuple(damaged),
        database=tuple(integrity(connection, quick=False)),
        removed=tuple(removed),
    )

"""Which files of the folder belong to a book."""

from __future__ import annotations

from sqlalchemy import Connection, select

from overarm.logbook.tables import files_of, recordings, setups


def used_files(connection: Connection) -> set[str]:
    """Return the hash of every file that a row names."""
    asks = {
        "recordings": select(recordings.c.id, recordings.c.cleaned),
        "setups": select(setups.c.id, setups.c.parts),
    }
    return {
        name
        for kind, ask in asks.items()
        for row in connection.execute(ask).mappings()
        for name in files_of(kind, dict(row))
    }

"""An archive of a logbook: any bytes where a ZIP should be."""

from __future__ import annotations

from pathlib import Path

from fuzz import logbook_rows
from fuzz.door import given
from overarm.logbook.archive_read import opened_archive

LONGEST = 4_096
WORDS = (
    b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06", b"PK\x06\x06", b"PK\x06\x07", b"manifest.json",
    b"rows/notes.jsonl", b"files/", b"\xff\xff\xff\xff", b"\x00\x00\x08\x00", b"\x01\x00",
    b'"overarm_logbook": 1', b'"members": ', b'"sha256": ', b'"bytes": ',
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return small archives, packed and not."""
    return [logbook_rows.archive(data) for data in logbook_rows.seeds()]


def read(file: Path) -> int:
    """Return how many rows and files an archive holds, all of them read."""
    with opened_archive(file) as archive:
        for name in archive.files:
            archive.read(name)
        return sum(len(rows) for rows in archive.rows.values())


def run(data: bytes) -> None:
    """Look at all of it."""
    given(read, data, "book.zip")

"""A recording as a table with tabs or semicolons, and what the draft of a mapping makes of it."""

from __future__ import annotations

from fuzz import recording_csv
from fuzz.door import given, hold_recording
from overarm.recordings.draft import unknown_table
from overarm.recordings.reading import read_recording

LONGEST = 2_048
WORDS = recording_csv.WORDS


def seeds() -> list[bytes]:
    """Return the tables of the CSV target, with tabs and with semicolons."""
    comma = [data for data in recording_csv.seeds() if b";" not in data and b'"' not in data]
    return [data.replace(b",", mark) for mark in (b"\t", b";") for data in comma]


def run(data: bytes) -> None:
    """Read it, and look for a mapping."""
    hold_recording(given(read_recording, data, "log.tsv"))
    given(unknown_table, data, "log.tsv")

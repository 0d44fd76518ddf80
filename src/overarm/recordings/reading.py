"""Any recording: which form a file has, and its channels as they were written."""

from __future__ import annotations

import codecs
from pathlib import Path

from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError
from overarm.recordings.reading_bytes import Source, read_source
from overarm.recordings.recording import Recording

PARQUET = b"PAR1"
_SUFFIXES = {".igc": "IGC", ".gpx": "GPX", ".nmea": "NMEA", ".parquet": "Parquet"}
# What other kinds of files begin with; each is told by its name.
_OTHERS = {
    b"PK\x03\x04": "a ZIP archive or a spreadsheet",
    b"\x1f\x8b": "a gzip archive",
    b"RIFF": "a sound",
    b"SQLite format 3\0": "a database",
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
}


def read_recording(file: Path, mapping: Path | None = None) -> Recording:
    """Return a recording as it was written: nothing is mended, sorted or left out but what is empty.

    Parameters: CSV, TSV, Parquet, phone motion CSV, IGC, GPX or NMEA 0183; the mapping of a table whose
    heads are not ours, or None. Raises InputError with file, line, column, value and cure.
    """
    source = read_source(Path(file))
    form = form_of(source)
    if mapping is not None and form not in ("table", "Parquet", "phone"):
        cure = "Leave the mapping out"
        raise InputError([trouble(f"is {form}, which needs no mapping", cure, Place(source.file, 0, 0))])
    return _read(source, form, mapping)


def opened(file: Path, mapping: Path | None = None) -> Recording:
    """Return a recording as read and then cleaned. Raises InputError as `read_recording`."""
    from overarm.recordings.cleaning import clean

    return clean(read_recording(file, mapping))


def form_of(source: Source) -> str:
    """Return table, Parquet, phone, IGC, GPX or NMEA, by what a file begins with, or by its name.

    Raises InputError for a file that is known to be something else.
    """
    raw = source.raw
    if raw.startswith(PARQUET):
        return "Parquet"
    for mark, what in _OTHERS.items():
        if raw.startswith(mark):
            cure = "Give a recording as CSV, TSV, Parquet, IGC, GPX or NMEA"
            raise InputError([trouble(f"is {what}, no recording", cure, Place(source.file, 0, 0))])
    named = _SUFFIXES.get(Path(source.name).suffix.casefold())
    if named is not None:
        return named
    begin = raw[:4000].removeprefix(codecs.BOM_UTF8).lstrip()
    first = begin.split(b"\n", 1)[0].strip()
    if begin.startswith(b"<"):
        if begin.lower().startswith((b"<!doctype html", b"<html")):
            cure = "Open the page it came from and save the recording itself"
            raise InputError([trouble("is a web page, no recording", cure, Place(source.file, 0, 0))])
        return "GPX"
    if first.startswith((b"$", b"!")) and b"," in first:
        return "NMEA"
    if first.startswith(b"A") and b"," not in first and (b"\nH" in begin or b"\nB" in begin):
        return "IGC"
    return "table"


def _read(source: Source, form: str, mapping: Path | None) -> Recording:
    from overarm.recordings.mapping import load_mapping
    from overarm.recordings.table import recording_of

    tied = load_mapping(mapping) if mapping is not None else None
    if form == "Parquet":
        from overarm.recordings.parquet import ParquetTable

        return recording_of(ParquetTable(source), source, "parquet", tied)
    if form == "GPX":
        from overarm.recordings.gpx import from_gpx

        return from_gpx(source)
    if form == "NMEA":
        from overarm.recordings.nmea import from_nmea

        return from_nmea(source)
    if form == "IGC":
        from overarm.recordings.igc import from_igc

        return from_igc(source)
    from overarm.recordings.phone import from_phone, is_phone
    from overarm.recordings.table_text import TableText

    table = TableText(source, tied.decimal_comma if tied is not None else None)
    if tied is None and is_phone(table.heads):
        return from_phone(table, source)
    return recording_of(table, source, "table", tied)

"""A recording as a book keeps it: a row, and its cleaned channels as a Parquet file."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from typing import TYPE_CHECKING, Any

import overarm
from overarm.errors import InputError, Problem
from overarm.logbook.ids import file_id
from overarm.logbook.plain import plain
from overarm.logbook.tables import Row

if TYPE_CHECKING:
    from overarm.recordings.recording import Recording

MOST_BYTES = 256 * 2**20
COLUMNS = ("channel", "t_s", "value")


def row_of(recording: Recording, original: bytes, cleaned: str, mapping: str = "") -> Row:
    """Return the row of a recording.

    Raises InputError if the bytes are not those of the recording, or too many.
    """
    if len(original) > MOST_BYTES:
        message = f"is larger than {MOST_BYTES // 2**20} MiB, too large for a logbook"
        raise InputError([Problem(message, "Cut it to the launches", recording.name)])
    if file_id(original) != recording.sha256:
        cure = "Read the file again, and add both together"
        raise InputError([Problem("the bytes are not those that were read", cure, recording.name)])
    row = {
        "id": recording.sha256,
        "name": recording.name,
        "form": recording.form,
        "start_utc": recording.start_utc,
        "bytes": len(original),
        "cleaned": cleaned,
        "channels": [
            {"name": name, "source": found.source, "samples": found.t_s.size, "rate_hz": found.rate_hz}
            for name, found in sorted(recording.channels.items())
        ],
        "repairs": [item._asdict() for item in recording.repairs],
        "about": {
            "notes": [item._asdict() for item in recording.notes],
            "breaks_s": recording.breaks_s,
            "gravity_felt": recording.gravity_felt,
            "unused": recording.unused,
            "label": recording.label,
            "settings": recording.settings,
            "mapping": mapping,
        },
        "version": overarm.__version__,
    }
    kept: Row = plain(row)
    return kept


def parquet_of(recording: Recording) -> bytes:
    """Return the cleaned channels as Parquet: a row a sample, with channel, t_s [s] and value [SI].

    The same channels give the same bytes with the same version of the library.
    """
    import polars as pl

    frames = [
        pl.DataFrame(
            {"channel": [name] * found.t_s.size, "t_s": found.t_s, "value": found.values},
            schema={"channel": pl.String, "t_s": pl.Float64, "value": pl.Float64},
        )
        for name, found in sorted(recording.channels.items())
    ]
    schema = {"channel": pl.String, "t_s": pl.Float64, "value": pl.Float64}
    out = BytesIO()
    pl.concat([pl.DataFrame(schema=schema), *frames]).write_parquet(out, compression="zstd")
    return out.getvalue()


def recording_of(row: Mapping[str, Any], parquet: bytes) -> Recording:
    """Return a recording out of a book, as it was put in. Raises InputError if it cannot be read."""
    import polars as pl

    from overarm.recordings.recording import Channel, Note, Recording, Repair

    try:
        frame = pl.read_parquet(BytesIO(parquet))
    except pl.exceptions.PolarsError as error:
        cure = "Undo the recording and add it again"
        raise InputError([Problem("the cleaned channels cannot be read", cure, str(row["name"]))]) from error
    about = row["about"]
    channels = {}
    for told in row["channels"]:
        part = frame.filter(pl.col("channel") == told["name"])
        channels[told["name"]] = Channel(part["t_s"].to_numpy(), part["value"].to_numpy(), told["source"])
    return Recording(
        name=row["name"],
        sha256=row["id"],
        form=row["form"],
        channels=channels,
        start_utc=row["start_utc"],
        notes=tuple(Note(**item) for item in about["notes"]),
        repairs=tuple(Repair(**item) for item in row["repairs"]),
        breaks_s=tuple(about["breaks_s"]),
        gravity_felt=about["gravity_felt"],
        unused=tuple(about["unused"]),
        label=about["label"],
        settings=about["settings"],
    )

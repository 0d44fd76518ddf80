"""A recording as Parquet."""

from __future__ import annotations

import io

from fuzz.door import given, hold_recording
from overarm.recordings.reading import read_recording

LONGEST = 4_096
WORDS = (b"PAR1", b"time_s", b"volts_v", b"force_x_g", b"schema", b"\x00\x00\x00\x00", b"\xff\xff\xff\x7f")


def seeds() -> list[bytes]:
    """Return small files of several kinds of columns and packings."""
    import polars as pl

    frames = [
        pl.DataFrame({"time_s": [0.0, 1.0], "force_x_g": [1, 2], "note": ["a", None]}),
        pl.DataFrame(
            {"time_s": [0.0, 0.1, 0.2], "volts_v": [12.0, None, 11.5], "state": ["up", "up", "down"]}
        ),
    ]
    found = []
    for frame in frames:
        for packing in ("uncompressed", "snappy", "zstd"):
            out = io.BytesIO()
            frame.write_parquet(out, compression=packing)  # type: ignore[arg-type]
            found.append(out.getvalue())
    return found


def run(data: bytes) -> None:
    """Read it, whatever its first letters are."""
    hold_recording(given(read_recording, b"PAR1" + data[4:], "log.parquet"))

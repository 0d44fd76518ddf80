"""A mapping of a recording's columns, and a table that is read with it."""

from __future__ import annotations

from pathlib import Path

from fuzz.door import given, hold_recording, laid
from overarm.recordings.mapping import load_mapping
from overarm.recordings.reading import read_recording
from overarm.recordings.recording import Recording

LONGEST = 1_024
WORDS = (
    b"overarm_recording_map: 1\n", b"channels:\n", b"channel: ", b"unit: ", b"force_x", b"volts",
    b"ground_speed", b"time: ", b"decimal: comma", b"ignore: ", b"scale: -1", b"offset: ", b"sign: -1",
    b"gravity: removed", b"utc", b"column: ", b"state", b"mps2", b"deg", b"{", b"}", b"- ", b"~", b"note: ",
    b"1e999", b"recorder: ",
)  # fmt: skip
TABLE = b"clock,ax,volts,mode,lat,day\n0,1.5,12.1,up,47,2026-05-01T10:00:00Z\n1,2.5,12.0,up,47.1,2026-05-01\n"


def seeds() -> list[bytes]:
    """Return mappings of the table."""
    return [
        (
            b"overarm_recording_map: 1\nrecorder: small\ndecimal: point\ngravity: felt\n"
            b"time: {column: clock, unit: us}\nnote: mode\nchannels:\n  ax: {channel: force_x, unit: g}\n"
            b'  volts: {channel: throttle, unit: "%", scale: 0.1, offset: -100}\nignore: [lat]\n'
        ),
        (
            b"overarm_recording_map: 1\ntime: {column: day, unit: utc}\nchannels:\n"
            b"  ax: {channel: bank, unit: deg, sign: -1}\n  lat: {channel: latitude, unit: deg}\n"
            b"  mode: {channel: state}\n"
        ),
    ]


def run(data: bytes) -> None:
    """Read the mapping, then the table with it."""
    if given(load_mapping, data, "map.yaml") is None:
        return
    table = laid(TABLE, "unknown.csv")

    def read(mapping: Path) -> Recording:
        return read_recording(table, mapping)

    hold_recording(given(read, data, "map.yaml"))

"""A track as FAI IGC."""

from __future__ import annotations

from fuzz.door import given, hold_recording
from overarm.recordings.reading import read_recording

LONGEST = 2_048
WORDS = (
    b"HFDTE230394", b"HFDTEDATE:230394,01", b"HFFXA035", b"I023638GSP3941TRT", b"I013638FXA", b"\nB",
    b"\nE160241PEV", b"160240", b"5407121N", b"00249342W", b"A0028000421", b"V", b"J010810HDT", b"C",
    b"F160240040609", b"LPLT", b"\r\n",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return tracks of a few fixes."""
    head = b"AXXX001\nHFDTE230394\nI023638GSP3941TRT\n"
    fixes = b"".join(b"B1602%02d5407%03dN00249%03dWA0028%01d00421036084\n" % (k, k, k, k) for k in range(8))
    plain = (
        b"AXXX001\r\nHFDTEDATE:230394,01\r\nHFGPS:\r\n"
        + b"".join(b"B2359%02d4707121N00849342EV0028000421\r\n" % (56 + k) for k in range(4))
        + b"B0000014707121N00849342EA0028000421\r\n"
    )
    return [
        head + fixes + b"E160241PEV\n",
        plain,
        b"AXXX\nHFDTE010120\nB1200004700000S00800000WA-001000421\n",
    ]


def run(data: bytes) -> None:
    """Read it."""
    hold_recording(given(read_recording, data, "track.igc"))

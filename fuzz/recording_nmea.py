"""A track as NMEA 0183. Checksums are put right in half of the inputs, so that mutations get past them."""

from __future__ import annotations

import re
from functools import reduce
from operator import xor

from fuzz.door import given, hold_recording
from overarm.recordings.reading import read_recording

LONGEST = 2_048
WORDS = (
    b"$GPGGA,", b"$GPRMC,", b"$GNGGA,", b"$GPVTG,", b"$GPGLL,", b"$GPZDA,", b"$GPGSA,", b"123519",
    b"4807.038,N", b"01131.000,E", b",A,", b",V,", b"230394", b"*47", b",,,,", b"\r\n", b"M", b"!AIVDM",
    b"1e9", b"-",
)  # fmt: skip
_SENTENCE = re.compile(rb"\$([^*\r\n]*)\*[0-9A-Fa-f]{2}")


def seeds() -> list[bytes]:
    """Return sentences of several kinds; the mark before them asks for right checksums."""
    whole = (
        b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n"
        b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n"
    )
    later = b"".join(
        b"$GPRMC,12352%d.50,A,4807.03%d,N,01131.000,E,022.4,084.4,230394,,*00\r\n"
        b"$GPGGA,12352%d.50,4807.03%d,N,01131.000,E,1,08,0.9,54%d.4,M,46.9,M,,*00\r\n" % (k, k, k, k, k)
        for k in range(4)
    )
    more = b"$GPVTG,084.4,T,,M,022.4,N,041.5,K*00\n$GPZDA,123519.00,23,03,1994,00,00*00\n"
    return [b"0" + whole, b"1" + whole, b"1" + later, b"1" + whole + more + later]


def run(data: bytes) -> None:
    """Read it; the first byte says whether checksums are put right."""
    text = data[1:]
    if data[:1] > b"0":
        text = _SENTENCE.sub(lambda found: b"$%s*%02X" % (found[1], reduce(xor, found[1], 0)), text)
    hold_recording(given(read_recording, text, "track.nmea"))

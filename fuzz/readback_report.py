"""Settings as an aircraft reports them: JSON, lines, a table, with points and with commas."""

from __future__ import annotations

from pathlib import Path

from fuzz.door import given
from overarm.readback.report import Report, read_report

LONGEST = 2_048
WORDS = (
    b" = ", b": ", b";", b",", b"\t", b"[part]\n", b"# ", b"//", b'{"', b'": ', b"}", b"[", b"]", b"null",
    b"NaN", b"1e999", b"name", b"value", b"\\ud800", b"\r\n", b"\xef\xbb\xbf", b"\xff\xfe", b'""', b"-",
    b"600 ms", b"1,5",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return reports of each kind."""
    return [
        b"a = 1\nb = 2.5 ms\n# c\nd=on\n",
        b"[first]\na = 1\nb = 2\n[second]\na = 3\n",
        b"name,value\nkick,12\ndelay,600\n",
        b"name;value\nkick;1,5\ndelay;600\n",
        b'{"a": 1, "b": {"c": [1, 2.5], "d": "on"}, "e": null}',
        b'[{"name": "a", "value": 1}, {"name": "b", "value": "x"}]',
        b"kick\tdelay\trise\n12\t600\t0.5\n",
    ]


def run(data: bytes) -> None:
    """Read it in the ways that there are."""

    def comma(file: Path) -> Report:
        return read_report(file, ("name", "value"), decimal_comma=True)

    given(read_report, data, "report.txt")
    given(comma, data, "report.txt")

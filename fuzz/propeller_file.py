"""A propeller as a table of coefficients or as the shape of its blade."""

from __future__ import annotations

from pathlib import Path

from fuzz.door import given
from overarm.describe.derived.propeller_file import read_propeller

LONGEST = 1_024
WORDS = (
    b"J,CT,CP\n",
    b"r_share,c_share,angle_deg\n",
    b"0.05",
    b"1e999",
    b"nan",
    b"# ",
    b'"',
    b"\x85",
    b"\x00",
    b"\r",
)


def seeds() -> list[bytes]:
    """Return one of each kind."""
    return [
        b"J,CT,CP\n0,0.11,0.05\n0.2,0.10,0.05\n0.4,0.07,0.04\n0.6,0.03,0.03\n",
        b"r_share,c_share,angle_deg\n0.2,0.15,30\n0.5,0.18,20\n0.75,0.14,14\n1.0,0.05,9\n",
    ]


def run(data: bytes) -> None:
    """Read it for two blades."""

    def read(file: Path) -> object:
        return read_propeller(file, 2)

    given(read, data, "propeller.csv")

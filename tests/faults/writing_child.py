"""Write the files of a sheet, a field pack and a plan again and again; say after each round that it is done.

The test kills this program at a moment of chance. Each round's files name their round all through.
"""

from __future__ import annotations

import itertools
import sys
from pathlib import Path

from overarm.files import write_together
from overarm.sheets.field_pack import Pack, save_pack
from overarm.sheets.write import Sheet, save_sheet

LETTERS = 400_000  # about the size of a sheet's page


def content(number: int) -> str:
    """Return the text of a round: its number over and over."""
    word = f"{number:07d}\n"
    return word * (LETTERS // len(word))


def number_of(data: bytes) -> int:
    """Return the round of a file; AssertionError if it is not the whole of one."""
    number = int(data[:7])
    assert data == content(number).encode("ascii"), "a file that is not whole"
    return number


def main(folder: Path) -> None:
    """Write for ever."""
    for number in itertools.count(1):
        text = content(number)
        save_sheet(Sheet(text.encode("ascii"), text), folder / "sheets", "b")
        save_pack(Pack(text, None, ()), folder / "pack.html")  # type: ignore[arg-type]
        ends = ("geojson", "kml", "gpx")
        write_together({folder / f"plan.{end}": text.encode("ascii") for end in ends})
        sys.stdout.write(f"{number}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))

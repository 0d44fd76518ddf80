"""The review of a recording of an hour against a bare reading of the same file by polars.

The file is that of ``benchmarks/review.py``: 100 Hz, 40 columns, four launches. The command runs in a
process of its own, start and compiled code from the cache included.
"""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path

from benchmarks.review import bare_read_s, command_s, write_hour
from benchmarks.rows import EXAMPLE, Row, in_words


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    minutes, launches = (10.0, 1) if quick else (60.0, 4)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "hour.csv"
        size = write_hour(path, launches, minutes)
        bare = statistics.median(bare_read_s(path) for _ in range(3))
        command_s(path, "--setup", str(EXAMPLE))  # compiled before it counts
        plain, _ = command_s(path)
        known, _ = command_s(path, "--setup", str(EXAMPLE))
    name = f"{minutes:g} min, {size / 1e6:.0f} MB"
    return [
        Row(f"{name}: read by polars alone", in_words(bare), f"{60.0 * minutes / bare:.0f} times real time"),
        Row("overarm review", in_words(plain), f"{plain / bare:.1f} bare readings"),
        Row("overarm review --setup", in_words(known), f"{known / bare:.1f} bare readings"),
    ]

"""One table of ratios in one run.

    python -m benchmarks.table [--parts peers,limit] [--quick] [--write docs/reference/benchmarks.md]

The parts run one after the other; what runs is told on the standard error stream. Machines are noisy: compare
the ratios, not the times. ``--write`` puts the table between the markers of a page.
"""

from __future__ import annotations

import argparse
import datetime as dt
import importlib
import os
import platform
import subprocess
import sys
import time
from pathlib import Path

import numba
import numpy as np

import overarm
from benchmarks.rows import ROOT, Row
from overarm.files import write_whole

PARTS = {
    "peers": "Launches against peers",
    "scaling": "From a thousand to a million launches",
    "limit": "The limit of the arithmetic",
    "arrays": "NumPy arrays, float32",
    "search": "The search for settings",
    "hour": "The review of an hour",
    "start": "The start of a command",
    "pages": "The workbench",
}
BEGIN, END = "<!-- table: written by make bench -->", "<!-- end of the table -->"


def processor() -> str:
    """Return the name of the processor."""
    told = Path("/proc/cpuinfo")
    if told.is_file():
        for line in told.read_text("utf-8").splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    return platform.processor() or platform.machine()


def commit() -> str:
    """Return the commit that is measured, with a word if files differ from it."""
    try:
        words = ["git", "describe", "--always", "--dirty=, files changed", "--exclude=*"]
        return subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return "unknown"


def heading(taken_s: float, quick: bool) -> str:
    """Return what was measured on what, and when."""
    day = dt.datetime.now(dt.UTC).date().isoformat()
    load = os.getloadavg()[1] if hasattr(os, "getloadavg") else 0.0
    return (
        f"{day}, Overarm {overarm.__version__}, commit {commit()}. {processor()}, {os.cpu_count()} cores, "
        f"{platform.system()}; Python {platform.python_version()}, "
        f"Numba {numba.__version__}, NumPy {np.__version__}. "
        f"Whole run {taken_s:.0f} s{' (quick)' if quick else ''}; load of the machine {load:.1f}."
    )


def table(found: dict[str, list[Row]]) -> str:
    """Return the table in Markdown."""
    lines = [("Part", "What", "Value", "Ratio"), ("---", "---", "---", "---")]
    for part, rows in found.items():
        lines += [(PARTS[part] if k == 0 else "", *row) for k, row in enumerate(rows)]
    widths = [max(len(line[k]) for line in lines) for k in range(4)]
    return "\n".join(
        "| " + " | ".join(cell.ljust(w) for cell, w in zip(line, widths, strict=True)) + " |"
        for line in lines
    )


def written(page: str, text: str) -> str:
    """Return the page with the text between its markers; ValueError if it has none."""
    before, rest = page.split(BEGIN, 1)
    return f"{before}{BEGIN}\n\n{text}\n\n{END}{rest.split(END, 1)[1]}"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--parts", default=",".join(PARTS), help=f"some of {', '.join(PARTS)}")
    parser.add_argument("--quick", action="store_true", help="fewer repeats, smaller campaigns")
    parser.add_argument("--write", type=Path, help="put the table between the markers of this page")
    asked = parser.parse_args()
    parts = asked.parts.split(",")
    unknown = [part for part in parts if part not in PARTS]
    if unknown:
        parser.error(f"no part {unknown[0]!r}; there are {', '.join(PARTS)}")
    found, start = {}, time.perf_counter()
    for k, part in enumerate(parts):
        begun = time.perf_counter()
        print(f"{k + 1} of {len(parts)}: {part} ...", end=" ", file=sys.stderr, flush=True)
        found[part] = importlib.import_module(f"benchmarks.parts.{part}").rows(asked.quick)
        print(f"{time.perf_counter() - begun:.0f} s", file=sys.stderr, flush=True)
    told = f"{heading(time.perf_counter() - start, asked.quick)}\n\n{table(found)}"
    print(told)
    if asked.write:
        write_whole(asked.write, written(asked.write.read_text("utf-8"), told).encode())


if __name__ == "__main__":
    main()

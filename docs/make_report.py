"""Write docs/reference/verification.md from the tests that compare with sources outside: `make site`."""

from __future__ import annotations

import ast
import os
import sys
from collections import defaultdict
from pathlib import Path

import pytest

PROJECT = Path(__file__).parent.parent
PAGE = Path(__file__).parent / "reference" / "verification.md"
sys.path.insert(0, str(PROJECT))

from tests.agreement import Row, rows_in  # noqa: E402

HEAD = """\
# Verification report

Written by `make site` from the tests in `tests/verification`; do not edit. Each row is a number of ours
beside one from outside: a table, a textbook, a standard, or a program that others made. The test fails when
they part further than its limit, so every row here has passed. *Digits* are the decimal digits that both
share, `-log10(|ours - theirs| / |theirs|)`, rounded down and 12 at most; a reference that is printed with
four digits can show no more than about four. Where a row stands for several values, it shows the pair that
agrees least.

{count} comparisons of {values} values. Half of them agree to {median} digits or more.
"""
TAIL = """\
## What is not in these tables

Tests that hold an order, a bound, a symmetry, a spectrum, a coverage or a conservation law have no digits to
count; they stand in the same files. Whole flights beside JSBSim and in closed form:
[The wing and the rigid body](../theory/flight.md). Recordings beside their truth:
[Synthetic recordings](../theory/specimens.md). Odds beside trends: [Trends](../theory/trends.md). What no
source exists for: [Limits and cautions](../limits.md).
"""


class Collector:
    """A plugin of pytest that gathers the rows; it works with tests on one core and on several."""

    def __init__(self) -> None:
        self.rows: dict[str, list[Row]] = defaultdict(list)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Take the rows of a test that has passed."""
        if report.when == "call" and report.passed:
            self.rows[report.nodeid.split("::")[0]] += rows_in(report.user_properties)


def files() -> list[str]:
    """Return the test files that compare in this way."""
    found = sorted((PROJECT / "tests" / "verification").glob("test_*.py"))
    return [file.relative_to(PROJECT).as_posix() for file in found if "agrees(" in file.read_text("utf-8")]


def about(file: str) -> str:
    """Return the first sentence of what a test file says of itself."""
    words = ast.get_docstring(ast.parse((PROJECT / file).read_text("utf-8"))) or file
    return words.split("\n\n")[0].replace("\n", " ").strip().rstrip(".")


def table(rows: list[Row]) -> str:
    """Return the rows as a table."""
    lines = ["| what | source | theirs | ours | digits |", "| --- | --- | ---: | ---: | ---: |"]
    for row in rows:
        name = row.name if row.values == 1 else f"{row.name} (of {row.values})"
        digits = "–" if row.digits is None else f"{int(row.digits)}"
        lines.append(f"| {name} | {row.source} | {row.theirs:.6g} | {row.ours:.6g} | {digits} |")
    return "\n".join(lines)


def page(rows: dict[str, list[Row]]) -> str:
    """Return the whole report, one section for each test file."""
    every = [row for found in rows.values() for row in set(found)]
    counted = sorted(int(row.digits) for row in every if row.digits is not None)
    values = sum(row.values for row in every)
    parts = [HEAD.format(count=len(every), values=f"{values:,}", median=counted[len(counted) // 2])]
    for file in sorted(rows):
        found = sorted(set(rows[file]), key=lambda row: (row.source, row.name, row.theirs, row.ours))
        parts.append(f"## {about(file)}\n\n`{file}`\n\n{table(found)}\n")
    return "\n".join([*parts, TAIL])


def main() -> int:
    """Run the tests and write the report if all of them pass."""
    os.chdir(PROJECT)
    collector = Collector()
    words = [
        *files(),
        "-q",
        "-n",
        "auto",
        "--no-header",
        "-o",
        "addopts=--import-mode=importlib",
    ]
    code = pytest.main(words, plugins=[collector])
    if code == 0:
        PAGE.write_text(page({file: found for file, found in collector.rows.items() if found}), "utf-8")
    return int(code)


if __name__ == "__main__":
    raise SystemExit(main())

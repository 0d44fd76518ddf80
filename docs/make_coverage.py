"""Write which branches the tests take, room by room, into docs/reference/faults.md, from `make cover`.

Ends with 1 where fewer than nine tenths of all branches are taken.
"""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections import defaultdict
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
REPORT = PROJECT / "build" / "coverage" / "report.json"
PAGE = PROJECT / "docs" / "reference" / "faults.md"
HEAD = "## Branches that the tests take\n"
WORDS = """
Written by `make cover`. Every process that the tests start is measured; one that is killed cannot tell.
Left out are the compiled loops, function by function (`pyproject.toml` says how): machine code has no lines.
"""
LEAST = 0.9


def room_of(file: str) -> str:
    """Return the room of a source file; files beside the rooms are the ground floor."""
    parts = file.replace("\\", "/").partition("overarm/")[2].split("/")
    return parts[0] if len(parts) > 1 else "ground floor"


def taken(report: dict[str, dict[str, dict[str, dict[str, int]]]]) -> dict[str, tuple[int, int]]:
    """Return (branches taken, all branches) of each room."""
    found: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for file, told in report["files"].items():
        room, summary = found[room_of(file)], told["summary"]
        room[0] += summary["covered_branches"]
        room[1] += summary["num_branches"]
    return {room: (done, count) for room, (done, count) in sorted(found.items())}


def table(rooms: dict[str, tuple[int, int]], day: str) -> str:
    """Return the lines of the page."""
    done, count = (sum(pair[k] for pair in rooms.values()) for k in (0, 1))
    lines = [
        f"{day}: **{100 * done / count:.1f} %** of all branches ({done} of {count}).",
        "",
        "| room | branches | taken |",
        "| --- | ---: | ---: |",
    ]
    lines += [f"| {room} | {n} | {100 * k / n:.1f} % |" for room, (k, n) in rooms.items() if n]
    return "\n".join(lines) + "\n"


def with_table(page: str, made: str) -> str:
    """Return a page with the section of the table, in its place or at the end."""
    before, found, rest = page.partition(HEAD)
    _, there, after = rest.partition("\n## ")
    made = f"{HEAD}{WORDS}\n{made}"
    return (
        f"{before if found else page.rstrip() + chr(10) * 2}{made}{chr(10) + '## ' + after if there else ''}"
    )


def main() -> int:
    """Write the table; return 1 if there is too little in it."""
    rooms = taken(json.loads(REPORT.read_text("utf-8")))
    made = table(rooms, dt.datetime.now(dt.UTC).date().isoformat())
    PAGE.write_text(with_table(PAGE.read_text("utf-8"), made), "utf-8")
    sys.stdout.write(made)
    done, count = (sum(pair[k] for pair in rooms.values()) for k in (0, 1))
    return 0 if done > LEAST * count else 1


if __name__ == "__main__":
    sys.exit(main())

"""Time and memory from a thousand to a million launches, on one core and on two.

Each campaign flies in a process of its own, as ``overarm odds`` would: chunk by chunk, with the summaries
kept. Memory is the largest resident size of that process, Python and compiled code included.
"""

from __future__ import annotations

import json
import resource
import sys
import time
from pathlib import Path

from benchmarks.rows import Row, child, example, in_words
from overarm.flight.campaign import run


def peak_mb() -> float:
    """Return the largest resident size of this process so far [MB].

    On Linux from /proc: there `getrusage` also counts what the process that started this one had.
    """
    status = Path("/proc/self/status")
    if status.is_file():
        line = next(line for line in status.read_text("ascii").splitlines() if line.startswith("VmHWM:"))
        return float(line.split()[1]) / 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def campaign(launches: int) -> tuple[float, float]:
    """Return the seconds of one campaign and the largest resident size [MB]."""
    _, inputs = example()
    next(iter(run(inputs, 10, 1)))
    start = time.perf_counter()
    kept = [chunk.table for chunk in run(inputs, launches, 1)]
    taken = time.perf_counter() - start
    assert sum(len(table) for table in kept) == launches
    return taken, peak_mb()


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    sizes = (1000, 10_000) if quick else (1000, 10_000, 100_000, 1_000_000)
    found, first, one = [], 0.0, 0.0
    for launches in sizes:
        number = f"{launches:,}".replace(",", " ")
        for cores in ("1", "2"):
            taken, memory = child(__spec__.name, str(launches), NUMBA_NUM_THREADS=cores)
            each = taken / launches
            if cores == "1":
                first, one = first or each, each
                what, against = "1 core", f"{each / first:.2f} of the first row"
            else:
                what, against = "2 cores", f"{one / each:.2f} times as fast as on 1 core"
            found.append(
                Row(f"{number} launches, {what}", f"{in_words(each)} a launch, {memory:.0f} MB", against)
            )
    return found


if __name__ == "__main__":
    print(json.dumps(campaign(int(sys.argv[1]))))

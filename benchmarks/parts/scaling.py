"""Time and memory from a thousand to a million launches, on one core and on two.

Each campaign flies in a process of its own, as ``overarm odds`` would: chunk by chunk, with the summaries
kept. Memory is the largest resident size of that process, Python and compiled code included.
"""

from __future__ import annotations

import json
import resource
import sys
import time

from benchmarks.rows import Row, child, example, in_words
from overarm.flight.campaign import run


def campaign(launches: int) -> tuple[float, float]:
    """Return the seconds of one campaign and the largest resident size [MB]."""
    _, inputs = example()
    next(iter(run(inputs, 10, 1)))
    start = time.perf_counter()
    kept = [chunk.table for chunk in run(inputs, launches, 1)]
    taken = time.perf_counter() - start
    assert sum(len(table) for table in kept) == launches
    return taken, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def rows(quick: bool) -> list[Row]:
    """Return the rows of this part."""
    sizes = (1000, 10_000) if quick else (1000, 10_000, 100_000, 1_000_000)
    found, first = [], 0.0
    for launches in sizes:
        one = 0.0
        for cores in ("1", "2"):
            taken, memory = child(__spec__.name, str(launches), NUMBA_NUM_THREADS=cores)
            each = taken / launches
            first = first or each
            one = one or each
            against = (
                f"{each / first:.2f} of the first row" if cores == "1" else f"{one / each:.2f} times as fast"
            )
            found.append(Row(f"{launches:,} launches, {cores} core{'s' * (cores == '2')}".replace(",", " "),
                             f"{in_words(each)} a launch, {memory:.0f} MB", against))  # fmt: skip
    return found


if __name__ == "__main__":
    print(json.dumps(campaign(int(sys.argv[1]))))

"""What it costs to tell how rare an outcome is, against launches drawn as they come.

    python benchmarks/rare.py [--seeds N]     the table: time, launches, ratio to plain launches
    python benchmarks/rare.py --brute         200,000 plain launches of A, for the tests, beside 20 seeds
    python benchmarks/rare.py --toy           error and interval against the normal distribution

Seconds are those of the processor, all cores together: two free cores take little more than half as long.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.stats import chi2, norm

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import overarm  # noqa: E402
from overarm.describe.change import changed  # noqa: E402
from overarm.describe.derived import derive  # noqa: E402
from overarm.flight.inputs import inputs_of  # noqa: E402
from overarm.flight.outcomes import Outcome  # noqa: E402
from overarm.odds.rare import Asked, count, space_of  # noqa: E402
from overarm.odds.rare_range import CHUNK, Range, Space  # noqa: E402
from tests.rare_toys import INPUTS, toy  # noqa: E402

WANTED = Asked(0.2, 60_000)
BRUTE_LAUNCHES, BRUTE_SEED = 200_000, 2026


class Case(NamedTuple):
    file: str
    outcome: Outcome
    changes: dict[str, str]


CASES = (
    Case("a-sparrow", Outcome.HAND_AT_RISK, {}),
    Case("a-sparrow", Outcome.HAND_AT_RISK, {"settings.start_wait": "0.60 s"}),
    Case("b-kestrel", Outcome.HAND_AT_RISK, {}),
    Case("e-looks-fine", Outcome.HAND_AT_RISK, {}),
    Case("e-looks-fine", Outcome.STRUCK_OBSTACLE, {}),
)


def space(case: Case, seed: int) -> Space:
    setup = overarm.load(ROOT / "examples" / f"{case.file}.yaml")
    setup = changed(setup, case.changes) if case.changes else setup
    return space_of(inputs_of(setup, derive(setup)), case.outcome, seed)


def plain(where: Space, launches: int) -> tuple[int, float]:
    """Return (events, seconds) of launches drawn as they come."""
    events, start = 0, time.process_time()
    for first in range(0, launches, CHUNK):
        numbers = first + np.arange(CHUNK)
        events += int(np.isneginf(where.near(where.plain(first, CHUNK), numbers)[0]).sum())
    return events, time.process_time() - start


def table(seeds: int) -> None:
    print(
        "| example | outcome | probability | error (asked 20 %) | launches | CPU s | plain, CPU s | ratio |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for case in CASES:
        plain(space(case, 1), CHUNK)  # compiled, and its memory touched
        seconds, found, launches = [], [], []
        for seed in range(1, seeds + 1):
            where, start = space(case, seed), time.process_time()
            counted = count(Range(where), WANTED)
            seconds.append(time.process_time() - start)
            found.append(counted.share)
            launches.append(counted.launches)
        rate = 5 * CHUNK / plain(space(case, 1), 5 * CHUNK)[1]
        p = statistics.fmean(item.probability for item in found)
        error = statistics.median(item.relative_error for item in found)
        slow = (1.0 - p) / (p * error**2) / rate
        fast = statistics.median(seconds)
        longest = max(seconds)
        what = ", ".join(f"{key.split('.')[1]} {value}" for key, value in case.changes.items())
        print(
            f"| {case.file[0].upper()}{', ' + what if what else ''} | {case.outcome.label} | {p:.2g} "
            f"| {100.0 * error:.0f} % | {statistics.median(launches):,.0f} | {fast:.1f} (most {longest:.1f}) "
            f"| {slow:,.0f} | {slow / fast:.2g} |",
            flush=True,
        )


def toys(seeds: int) -> None:
    """Print mean over truth, its error, and how often interval and bound hold the truth; for some toys."""
    lean, shell = np.array([0.8, 0.4, -0.4, 0.2]), chi2.isf(1e-4, INPUTS) ** 0.5
    cases = (
        ("one way", lambda z: 3.719 - z[:, :4] @ lean, norm.sf(3.719)),
        ("two ways", lambda z: np.minimum(3.8 - z[:, 2], 4.13 + z[:, 2]), norm.sf(3.8) + norm.sf(4.13)),
        ("seldom", lambda z: 4.611 - z[:, 0], norm.sf(4.611)),
        ("on all inputs alike", lambda z: 3.719 - z.sum(1) / INPUTS**0.5, norm.sf(3.719)),
        ("twenty ways", lambda z: 4.4 - z.max(1), -np.expm1(INPUTS * norm.logcdf(4.4))),
        ("every way: a shell", lambda z: shell - np.sqrt((z**2).sum(1)), 1e-4),
    )
    for name, happens, truth in cases:
        shares = [count(Range(toy(happens, seed)), WANTED).share for seed in range(1, seeds + 1)]
        each = np.array([item.probability for item in shares]) / truth
        told_of = [item for item in shares if item.told]
        held = sum(item.interval().low <= truth <= item.interval().high for item in told_of)
        bound = sum(item.at_most >= truth for item in shares)
        open_ones = sum(not item.settled for item in shares)
        spread, told = each.std(ddof=1), np.mean([item.standard_error for item in shares]) / truth
        print(
            f"{name}: truth {truth:.3g}, mean/truth {each.mean():.4f} +- {spread / seeds**0.5:.4f}, "
            f"spread {spread:.3f}, said {told:.3f}, interval holds it in {held} of {len(told_of)} with a "
            f"figure, at most in {bound} of {seeds}, not settled {open_ones}",
            flush=True,
        )


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    words.add_argument("--seeds", type=int, default=7)
    words.add_argument("--brute", action="store_true")
    words.add_argument("--toy", action="store_true")
    wanted = words.parse_args()
    if wanted.brute:
        events, seconds = plain(space(CASES[0], BRUTE_SEED), BRUTE_LAUNCHES)
        print(f"{events} of {BRUTE_LAUNCHES:,}, seed {BRUTE_SEED}, {seconds:.0f} s", flush=True)
        shares = [count(Range(space(CASES[0], seed)), WANTED).share for seed in range(1, 21)]
        each = np.array([item.probability for item in shares])
        print(f"20 seeds: mean {each.mean():.3e} +- {each.std(ddof=1) / 20**0.5:.1e}", flush=True)
    elif wanted.toy:
        toys(wanted.seeds)
    else:
        table(wanted.seeds)


if __name__ == "__main__":
    main()

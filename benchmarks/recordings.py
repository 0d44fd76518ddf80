"""How well recordings are read: hundreds of synthetic ones, with the truth beside them.

    python benchmarks/recordings.py accuracy --count 500 --worst
    python benchmarks/recordings.py write --number 17 --to folder

Each recording is written to a file, opened, divided into phases and measured, as ``overarm review`` does it.
Four tables: every figure and event against its truth, with the claimed error and its coverage; phases by
time; launches found, missed and invented, and how they ended; defects put in against defects told.
"""

from __future__ import annotations

import argparse
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

import overarm
from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.derived import Derived, derive
from overarm.flight.campaign import Inputs
from overarm.flight.inputs import inputs_of
from overarm.recordings.estimates import estimates_of, with_estimated_events
from overarm.recordings.launch import EVENTS, LaunchRecord, Phases
from overarm.recordings.phases import phases_of
from overarm.recordings.reading import opened
from overarm.recordings.recording import Recording
from overarm.specimens import make
from overarm.specimens.corpus import Found, Order, found_of, orders_of
from overarm.specimens.spoil import CLOCKS

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
FILES = {path.name[0]: path for path in sorted(EXAMPLES.glob("[a-e]-*.yaml"))}
LAUNCHES_EACH = 10
STEP_S = 0.05
# An attempt is found if the record's release (or stroke, or whole) is this near.
NEAR_S = 1.0
# These are in every recording that is made, or in every one with a motor.
ALWAYS_THERE = {"satellite lag", "aliasing"}
# What the trade says can be reached (common practice, no source); see docs/theory/specimens.md.
TRADE: dict[str, str] = {
    "throw_speed_mps": "0.4-0.6, 1.5 clipped",
    "release_path_rad": "0.05-0.09",
    "release_pitch_rad": "0.05-0.09",
    "event release": "0.01-0.03 at 100 Hz",
    "event detection": "a sample",
    "event first_spin": "0.05-0.10",
    "static_thrust_n": "10 %",
    "drag_zero": "15 %",
    "glide_ratio": "15 %",
    "low_speed_ratio": "0.13",
    "headwind_mps": "0.3-0.5",
    "throw_peak_mps2": "5 %",
    "carry_peak_mps2": "5 %",
    "sink_m": "0.3",
}


class Row(NamedTuple):
    """One figure or event of one launch: its truth, and what was said."""

    quantity: str
    truth: float
    value: float | None
    error: float
    bound: str
    rate_hz: float


class Result(NamedTuple):
    """What came of one recording."""

    rows: list[Row]
    phases: Counter[tuple[str, str]]  # (true, told): seconds
    launches: Counter[tuple[str, str]]  # (kind, found | missed | false)
    ends: Counter[tuple[str, str]]
    defects: list[tuple[str, bool]]  # put in, told
    told: tuple[str, ...]  # defects told of a recording without any
    trouble: str


@cache
def setup_of(letter: str) -> Setup:
    return overarm.load(FILES[letter])


@cache
def made_of(letter: str, changes: tuple[tuple[str, str], ...]) -> tuple[Setup, Derived, Inputs]:
    setup = changed(setup_of(letter), dict(changes)) if changes else setup_of(letter)
    derived = derive(setup)
    return setup, derived, inputs_of(setup, derived)


def true_moment(attempt: dict[str, Any]) -> float:
    events = attempt["events"]
    for name in ("release", "stroke"):
        if name in events:
            return float(events[name])
    return float(attempt["from_s"])


def told_moment(record: LaunchRecord) -> float:
    for name in ("release", "stroke"):
        if name in record.events:
            return record.events[name].t_s
    return record.from_s


def matched(
    truth: list[dict[str, Any]], told: tuple[LaunchRecord, ...]
) -> list[tuple[int | None, int | None]]:
    """Pair true attempts with records by their moment, nearest first; None: without a partner."""
    gaps = sorted(
        (abs(true_moment(one) - told_moment(record)), i, j)
        for i, one in enumerate(truth)
        for j, record in enumerate(told)
    )
    pairs: dict[int, int] = {}
    for gap, i, j in gaps:
        if gap <= NEAR_S and i not in pairs and j not in pairs.values():
            pairs[i] = j
    missed: list[tuple[int | None, int | None]] = [(i, pairs.get(i)) for i in range(len(truth))]
    return missed + [(None, j) for j in range(len(told)) if j not in pairs.values()]


def phase_at(spans: list[tuple[str, float, float]], t_s: np.ndarray) -> list[str]:
    told = ["none"] * t_s.size
    for phase, from_s, to_s in spans:
        for k in np.flatnonzero((t_s >= from_s) & (t_s < to_s)):
            told[int(k)] = phase
    return told


def confusion(truth: dict[str, Any], phases: Phases) -> Counter[tuple[str, str]]:
    """Return the seconds of each true phase that were told as each phase."""
    end_s = max((span[2] for span in truth["phases"]), default=0.0)
    t_s = np.arange(0.5 * STEP_S, end_s, STEP_S)
    true = phase_at([(str(p), a, b) for p, a, b in truth["phases"]], t_s)
    told = phase_at([(str(s.phase), s.from_s, s.to_s) for s in phases.spans], t_s)
    found: Counter[tuple[str, str]] = Counter()
    for pair in zip(true, told, strict=True):
        found[pair] += 1
    return Counter({pair: n * STEP_S for pair, n in found.items()})


def rows_of(
    attempt: dict[str, Any], record: LaunchRecord, recording: Recording, made: tuple[Setup, Derived]
) -> Iterator[Row]:
    record = with_estimated_events(recording, record, *made)
    rate = recording.channels["force_x_mps2"].rate_hz if "force_x_mps2" in recording.channels else 0.0
    for name in EVENTS:
        if name in attempt["events"]:
            event = record.events.get(name)
            value, error = (event.t_s, event.error_s) if event else (None, 0.0)
            yield Row(f"event {name}", attempt["events"][name], value, error, "", rate)
    said = estimates_of(recording, record, *made)
    for name, true in attempt.get("estimates", {}).items():
        one = said.get(name)
        if one is None:
            yield Row(name, true, None, 0.0, "", rate)
        else:
            yield Row(name, true, one.value, one.error, one.bound, rate)


def nothing(trouble: str = "") -> Result:
    return Result([], Counter(), Counter(), Counter(), [], (), trouble)


def work(order: Order) -> Result:
    """Make, read and score one recording."""
    setup, derived, inputs = made_of(order.setup, tuple(order.changes.items()))
    made = make(setup, derived, seed=order.seed, launch=order.launch, options=order.options, inputs=inputs)
    spoilt = [one["defect"] for one in made.truth["defects"]]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "recording.csv"
        file.write_bytes(made.csv)
        try:
            recording = opened(file)
        except overarm.errors.InputError as error:
            refused = nothing(f"refused: {error.problems[0].message}")
            return refused._replace(defects=[(name, True) for name in spoilt])
    try:
        return scored(order, made.truth, recording, (setup, derived))
    except Exception as error:
        where = traceback.extract_tb(error.__traceback__)[-1]
        return nothing(f"{type(error).__name__}: {error} ({Path(where.filename).name}:{where.lineno})")


def scored(order: Order, truth: dict[str, Any], recording: Recording, made: tuple[Setup, Derived]) -> Result:
    phases = phases_of(recording, made[0])
    told = {repair.defect for repair in recording.repairs}
    defects = [(one["defect"], one["defect"] in told) for one in truth["defects"]]
    if any(name in CLOCKS for name in order.options.defects):
        return nothing()._replace(defects=defects)  # times before and after cannot be compared
    rows: list[Row] = []
    launches: Counter[tuple[str, str]] = Counter()
    ends: Counter[tuple[str, str]] = Counter()
    attempts = [one for one in truth["launches"] if one["kind"] != "not thrown"]
    for i, j in matched(attempts, phases.launches):
        if i is None and j is not None:
            launches[str(phases.launches[j].kind), "false"] += 1
        elif i is not None and j is None:
            launches[attempts[i]["kind"], "missed"] += 1
        elif i is not None and j is not None:
            one, record = attempts[i], phases.launches[j]
            launches[one["kind"], "found" if one["kind"] == record.kind else f"as {record.kind}"] += 1
            ends[one["ended"], str(record.ended)] += 1
            if not defects:
                rows += rows_of(one, record, recording, made)
    if defects:
        return Result([], Counter(), Counter(), Counter(), defects, (), "")
    alarms = told - ALWAYS_THERE - ({"saturation"} if truth["clipped"] else set())
    return Result(rows, confusion(truth, phases), launches, ends, defects, tuple(sorted(alarms)), "")


def results_of(orders: list[Order], workers: int, progress: bool = True) -> list[Result]:
    """Score all orders, in their order, with some processes; 1: in this one."""
    if workers == 1:
        return [work(order) for order in orders]
    results, start = [], time.perf_counter()
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:  # a fork would not survive OpenMP
        for k, result in enumerate(pool.map(work, orders, chunksize=4), 1):
            results.append(result)
            if progress and k % 25 == 0:
                print(f"{k} of {len(orders)} recordings, {time.perf_counter() - start:.0f} s", flush=True)
    return results


class Line(NamedTuple):
    """One quantity over all launches."""

    quantity: str
    n: int
    told: int
    bias: float
    robust_sd: float
    rms: float
    claimed: float
    within_1: float
    within_95: float
    typical: float


def line_of(quantity: str, rows: list[Row]) -> Line:
    """Return bias (median), robust sd (1.4826 MAD), rms, claimed error (median), coverage, typical truth."""
    told = [row for row in rows if row.value is not None and not row.bound]
    off = np.array([row.value - row.truth for row in told if row.value is not None])
    claimed = np.array([row.error for row in told])
    if not told:
        return Line(quantity, len(rows), 0, *(float("nan"),) * 7)
    bias = float(np.median(off))
    return Line(
        quantity,
        len(rows),
        len(told),
        bias,
        float(1.4826 * np.median(np.abs(off - bias))),
        float(np.sqrt(np.mean(off**2))),
        float(np.median(claimed)),
        float(np.mean(np.abs(off) <= claimed)),
        float(np.mean(np.abs(off) <= 1.96 * claimed)),
        float(np.median(np.abs([row.truth for row in told]))),
    )


def accuracy_table(results: list[Result]) -> list[Line]:
    rows: dict[str, list[Row]] = {}
    for result in results:
        for row in result.rows:
            rows.setdefault(row.quantity, []).append(row)
    return [line_of(name, rows[name]) for name in sorted(rows)]


def print_accuracy(lines: list[Line]) -> None:
    head = "quantity|launches|cannot tell|bias|robust sd|rms|claimed|in 1 sd|in 95 %|typical|the trade says"
    print("\n|" + head + "|\n" + "|---" * 11 + "|")
    for line in lines:
        blank = 1.0 - line.told / line.n
        figures = [f"{x:.3g}" for x in (line.bias, line.robust_sd, line.rms, line.claimed)]
        shares = [f"{100 * x:.0f} %" if line.told else "" for x in (line.within_1, line.within_95)]
        cells = [line.quantity, str(line.n), f"{100 * blank:.0f} %", *figures, *shares, f"{line.typical:.3g}"]
        print("|" + "|".join([*cells, TRADE.get(line.quantity, "")]) + "|")


def print_pairs(title: str, pairs: Counter[tuple[str, str]], unit: str) -> None:
    """Print a table of true against told."""
    told = sorted({b for _, b in pairs})
    print(f"\n{title} ({unit}; rows: true, columns: told)\n")
    print("|true|" + "|".join(told) + "|right|\n" + "|---" * (len(told) + 2) + "|")
    for true in sorted({a for a, _ in pairs}):
        here = [pairs[true, name] for name in told]
        right = pairs[true, true] + pairs[true, "found"]
        share = f"{100.0 * right / sum(here):.1f} %" if sum(here) else ""
        print(f"|{true}|" + "|".join(f"{x:.0f}" for x in here) + f"|{share}|")


def total(results: list[Result], name: str) -> Counter[tuple[str, str]]:
    whole: Counter[tuple[str, str]] = Counter()
    for result in results:
        whole.update(getattr(result, name))
    return whole


def print_defects(results: list[Result]) -> None:
    put_in = Counter(name for result in results for name, _ in result.defects)
    told = Counter(name for result in results for name, found in result.defects if found)
    alarms = Counter(name for result in results for name in result.told)
    sound = sum(1 for result in results if not result.defects and not result.trouble)
    print("\n|defect|put in|told|told where none was put in|\n|---|---|---|---|")
    for name in sorted(put_in | alarms):
        print(f"|{name}|{put_in[name]}|{told[name]}|{alarms[name]} of {sound}|")


def print_worst(results: list[Result]) -> None:
    """Print where each quantity is furthest off, in claimed errors, with the number of the recording."""
    rows: dict[str, list[tuple[float, int, Row]]] = {}
    for number, result in enumerate(results):
        for row in result.rows:
            if row.value is not None and not row.bound:
                off = abs(row.value - row.truth) / max(row.error, 1e-9)
                rows.setdefault(row.quantity, []).append((off, number, row))
    print("\n|quantity|recording|truth|told|claimed|\n|---|---|---|---|---|")
    for name in sorted(rows):
        for _, number, row in sorted(rows[name], key=lambda one: -one[0])[:3]:
            print(f"|{name}|{number}|{row.truth:.4g}|{row.value:.4g}|{row.error:.2g}|")


def all_found(seed: int) -> dict[str, list[Found]]:
    return found_of({key: setup_of(key) for key in FILES}, seed, LAUNCHES_EACH)


def accuracy(count: int, seed: int, workers: int, worst: bool) -> None:
    start = time.perf_counter()
    found = all_found(seed)
    print(f"launches of every outcome found in {time.perf_counter() - start:.0f} s", flush=True)
    results = results_of(orders_of(found, count, seed), workers)
    print_accuracy(accuracy_table(results))
    print_pairs("Phases", total(results, "phases"), "seconds")
    print_pairs("Launches", total(results, "launches"), "number")
    print_pairs("How they ended", total(results, "ends"), "number")
    print_defects(results)
    if worst:
        print_worst(results)
    for trouble, times in Counter(result.trouble for result in results if result.trouble).most_common():
        print(f"{times} times: {trouble}")
    print(f"{count} recordings in {time.perf_counter() - start:.0f} s with {workers} processes")


def write(number: int, seed: int, to: Path) -> None:
    """Write one recording of the corpus and its truth into a folder."""
    order = orders_of(all_found(seed), number + 1, seed)[number]
    setup, derived, inputs = made_of(order.setup, tuple(order.changes.items()))
    made = make(setup, derived, seed=order.seed, launch=order.launch, options=order.options, inputs=inputs)
    to.mkdir(parents=True, exist_ok=True)
    (to / f"{number}.csv").write_bytes(made.csv)
    (to / f"{number}.json").write_bytes(made.truth_json)
    print(f"{to / str(number)}.csv and .json: {order}")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=["accuracy", "write"])
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--worst", action="store_true")
    parser.add_argument("--number", type=int, default=0)
    parser.add_argument("--to", type=Path, default=Path("specimens"))
    asked = parser.parse_args()
    if asked.what == "write":
        write(asked.number, asked.seed, asked.to)
    else:
        accuracy(asked.count, asked.seed, asked.workers, asked.worst)


if __name__ == "__main__":
    main()

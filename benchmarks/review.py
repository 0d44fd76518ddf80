"""Review an hour: a table of one hour at 100 Hz with 40 columns and some launches in it, stage by stage.

``python benchmarks/review.py [--launches 4] [--minutes 60] [--keep FILE]``

It makes the file once: the synthetic recordings of some launches of example B, one after the other, with
carries between them, and columns that are tied to nothing. Then it times each stage in this process, warm
and cold, and the whole command in a process of its own. Ratios: seconds of recording per second of work, and
bytes against a bare reading of the same file by polars.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

import overarm
from overarm.describe.cards import Setup
from overarm.describe.derived import Derived, derive
from overarm.specimens import make
from overarm.specimens.options import Options, Rates

SETUP = Path(__file__).resolve().parent.parent / "examples" / "b-kestrel.yaml"
RATE_HZ, COLUMNS, SEED = 100.0, 40, 1
LIMIT_S = 5.0
CARRY_S = 120.0


def launch_columns(setup: Setup, derived: Derived, launch: int) -> tuple[list[str], np.ndarray]:
    """Return heads and values (n, columns) of one launch on one clock of 100 Hz, without holes."""
    import polars as pl

    rates = Rates(
        inertial_hz=RATE_HZ, attitude_hz=RATE_HZ, satellite_hz=5.0, baro_hz=25.0, throttle_hz=25.0,
        power_hz=10.0, propeller_hz=10.0, airspeed_hz=10.0,
    )  # fmt: skip
    made = make(setup, derived, seed=SEED, launch=launch, options=Options(rates=rates))
    table = pl.read_csv(made.csv, infer_schema_length=None).drop("note")
    heads = [name for name in table.columns if name != "time_s"]
    t_s = table["time_s"].to_numpy()
    grid = np.arange(0.0, float(t_s[-1]), 1.0 / RATE_HZ)
    columns = []
    for name in heads:
        values = table[name].cast(pl.Float64).to_numpy()
        there = np.isfinite(values)
        columns.append(np.interp(grid, t_s[there], values[there]))
    return heads, np.array(columns).T


def carried(first: np.ndarray, seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Return a carry that starts from a row: steps at 1.9 Hz, noise, and everything else as it was."""
    count = round(seconds * RATE_HZ)
    t_s = np.arange(count) / RATE_HZ
    rows = np.tile(first, (count, 1))
    rows[:, :3] += rng.normal(0.0, 0.15, (count, 3))
    rows[:, 0] += 1.2 * np.sin(2.0 * np.pi * 1.9 * t_s)
    rows[:, 3:6] += rng.normal(0.0, 0.5, (count, 3))
    rows[:, 6:10] += rng.normal(0.0, 0.05, (count, 4))
    return rows


def write_hour(path: Path, launches: int, minutes: float) -> int:
    """Write the file; return its size in bytes."""
    import polars as pl

    setup = overarm.load(SETUP)
    derived, rng = derive(setup), np.random.default_rng(SEED)
    parts, heads = [], []
    for launch in range(launches):
        heads, rows = launch_columns(setup, derived, launch)
        parts += [carried(rows[0], CARRY_S, rng), rows]
    left_s = 60.0 * minutes - sum(len(part) for part in parts) / RATE_HZ
    parts.append(carried(parts[0][0], max(1.0, left_s), rng))
    values = np.concatenate(parts)[: round(60.0 * minutes * RATE_HZ)]
    table: dict[str, Any] = {"time_s": np.arange(len(values)) / RATE_HZ}
    table |= {name: values[:, k] for k, name in enumerate(heads)}
    spare = COLUMNS - len(table)
    table |= {f"spare_{k}": rng.normal(0.0, 1.0, len(values)) for k in range(spare)}
    pl.DataFrame(table).write_csv(path, float_precision=4)
    return path.stat().st_size


class Clock:
    """Stages and how long each took."""

    def __init__(self) -> None:
        self.stages: list[tuple[str, float]] = []

    def time(self, name: str, work: Callable[[], Any]) -> Any:
        begin = time.perf_counter()
        found = work()
        self.stages.append((name, time.perf_counter() - begin))
        return found


def stages_of(path: Path, setup: Setup, derived: Derived) -> Iterator[tuple[str, float]]:
    """Time reading, cleaning, dividing, and what is said of the launches."""
    from overarm.recordings.cleaning import clean
    from overarm.recordings.estimates import estimates_of, with_estimated_events
    from overarm.recordings.phases import phases_of
    from overarm.recordings.reading import read_recording
    from overarm.review.run import review

    clock = Clock()
    raw = clock.time("read", lambda: read_recording(path))
    cleaned = clock.time("clean", lambda: clean(raw))
    phases = clock.time("divide", lambda: phases_of(cleaned, setup))
    known = clock.time(
        "events", lambda: [with_estimated_events(cleaned, one, setup, derived) for one in phases.launches]
    )
    clock.time("estimates", lambda: [estimates_of(cleaned, one, setup, derived) for one in known])
    clock.time("review, dividing and estimating again", lambda: review(cleaned, setup, derived))
    yield f"{len(phases.launches)} launches", 0.0
    yield from clock.stages


def bare_read_s(path: Path) -> float:
    """Return how long polars takes for the same bytes [s]."""
    import polars as pl

    begin = time.perf_counter()
    pl.read_csv(path)
    return time.perf_counter() - begin


def spent_s() -> float:
    """Return what ended child processes took of all cores [s]: others on the machine change it less."""
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


def command_s(path: Path, *words: str) -> tuple[float, float]:
    """Return how long the whole command takes in a process of its own, and what it takes of all cores [s]."""
    begin, before = time.perf_counter(), spent_s()
    code = "import sys; from overarm.cli import main; sys.argv = ['overarm', *sys.argv[1:]]; main()"
    ended = subprocess.run(
        [sys.executable, "-c", code, "review", str(path), *words], capture_output=True, text=True, check=False
    )
    assert ended.returncode in (0, 3), ended.stderr
    return time.perf_counter() - begin, spent_s() - before


def report(path: Path, size: int) -> None:
    setup = overarm.load(SETUP)
    derived = derive(setup)
    for turn in ("cold", "warm"):
        print(f"\n{turn}, in this process")
        for name, taken in stages_of(path, setup, derived):
            print(f"  {name:<40} {taken:8.2f} s" if taken else f"  {name}")
    bare = bare_read_s(path)
    print(f"\n  {'bare reading by polars':<40} {bare:8.2f} s  ({size / 1e6 / bare:.0f} MB/s)")
    for name, words in (("without a setup", ()), ("with a setup", ("--setup", str(SETUP)))):
        taken, spent = command_s(path, *words)
        inside = f"{taken / LIMIT_S:.1f} of the {LIMIT_S:g} s allowed, {spent:.2f} s of all cores"
        print(f"  {'the command ' + name:<40} {taken:8.2f} s  ({inside}, {taken / bare:.1f} bare readings)")


def main() -> None:
    os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")  # as the command has it
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--launches", type=int, default=4)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--keep", type=Path, help="write the table here and keep it")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = asked.keep or Path(folder) / "hour.csv"
        size = path.stat().st_size if path.exists() else write_hour(path, asked.launches, asked.minutes)
        print(f"{path.name}: {asked.minutes:g} min at {RATE_HZ:g} Hz, {COLUMNS} columns, {size / 1e6:.0f} MB")
        report(path, size)


if __name__ == "__main__":
    main()

"""Launches on a graphics card against two cores of the processor of the same machine, in one run.

    python benchmarks/gpu.py [SETUP] [--launches 100000 1000000 10000000] [--compared N]
    python benchmarks/gpu.py --save FILE      (writes the inputs of the setup, for a machine without the
    python benchmarks/gpu.py --inputs FILE     packages that read one, and flies them there)

Machines are noisy: compare the ratios, not the times.
"""

from __future__ import annotations

import argparse
import time
import traceback
from pathlib import Path
from typing import Any

import numba
import numpy as np

from overarm.flight.campaign import Inputs, run
from overarm.flight.draw import Input, Rules
from overarm.flight.outcomes import SUMMARY, Outcome
from overarm.flight.record import LAUNCH
from overarm.gpu import run as gpu
from overarm.gpu.card import found_card
from overarm.gpu.precision import PRECISIONS, Precision

ROOT = Path(__file__).resolve().parent.parent
SEED = 1
CORES = 2


def save(inputs: Inputs, file: Path) -> None:
    rules = inputs.rules
    np.savez(
        file,
        base=inputs.base.view(np.float64),
        names=np.array([item.name for item in rules.inputs]),
        layers=np.array([item.layer for item in rules.inputs]),
        block=rules.block,
        layer=rules.layer,
        rules=rules.table,
        values=rules.values,
        table=inputs.table,
        obstacles=inputs.obstacles,
    )


def saved(file: Path) -> Inputs:
    kept = np.load(file)
    named: Any = zip(kept["names"], kept["layers"], strict=True)
    inputs = tuple(Input(str(name), "unknown" if layer == "unknown" else "varies") for name, layer in named)
    rules = Rules(inputs, kept["block"], kept["layer"], kept["rules"], kept["values"])
    return Inputs(kept["base"].view(LAUNCH), rules, kept["table"], kept["obstacles"])


def of_setup(setup: str) -> Inputs:
    import overarm
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of

    loaded = overarm.load(setup)
    return inputs_of(loaded, derive(loaded))


def on_processor(inputs: Inputs, launches: int) -> tuple[float, np.ndarray]:
    """Return (seconds a launch on two cores, summaries)."""
    numba.set_num_threads(min(CORES, numba.config.NUMBA_NUM_THREADS))
    next(iter(run(inputs, 100, SEED)))
    start = time.perf_counter()
    table = np.concatenate([chunk.table for chunk in run(inputs, launches, SEED)])
    return (time.perf_counter() - start) / launches, table


def told_apart(name: str, ours: np.ndarray, theirs: np.ndarray) -> None:
    """Print how far two tables of the same launches differ."""
    same = ours["outcome"] == theirs["outcome"]
    print(
        f"\n{name}: {len(ours)} launches, the same outcome in {100 * same.mean():.4f} %, "
        f"{int((~same).sum())} differ; rows equal bit for bit: {100 * (ours == theirs).mean():.2f} %"
    )
    counts = [
        (o.label, int((ours["outcome"] == o).sum()), int((theirs["outcome"] == o).sum())) for o in Outcome
    ]
    print("  outcomes (this / that): " + ", ".join(f"{n} {a} / {b}" for n, a, b in counts if a or b))
    print(f"  {'column':22s} {'median':>10s} {'99 %':>10s} {'99.9 %':>10s} {'most':>10s}   |difference|")
    for column in SUMMARY.names[2:]:
        gap = np.abs(ours[column] - theirs[column])[same]
        parts = np.percentile(gap, (50, 99, 99.9, 100))
        print(f"  {column:22s} " + " ".join(f"{part:10.2e}" for part in parts))


def held_against(inputs: Inputs, table: np.ndarray, precision: Precision) -> None:
    told_apart(
        f"card, {precision}, and processor", gpu.fly(inputs, len(table), SEED, precision=precision), table
    )


def on_card(inputs: Inputs, sizes: list[int], precision: Precision, core_s: float) -> None:
    start = time.perf_counter()
    gpu.fly(inputs, 32, SEED, precision=precision)
    print(f"\n{precision}: first call, kernel compiled: {time.perf_counter() - start:.1f} s")
    kernel = gpu.compiled_kernel(precision)
    for name in ("get_regs_per_thread", "get_local_mem_per_thread", "get_max_threads_per_block"):
        print(f"  {name[4:]}: {list(getattr(kernel, name)().values())}")
    for launches in sizes:
        times = []
        for _ in range(3):
            start = time.perf_counter()
            table = gpu.fly(inputs, launches, SEED, precision=precision)
            times.append(time.perf_counter() - start)
        rate = launches / sorted(times)[1]
        alone = kernel_alone(inputs, min(launches, 2**20), precision)
        print(f"  {min(launches, 2**20):>9d} launches: {alone:.3f} s in the kernel alone")
        clean = float((table["outcome"] == Outcome.CLEAN).mean())
        print(
            f"  {launches:>9d} launches: {', '.join(f'{t:.3f}' for t in times)} s, {rate:,.0f} a second, "
            f"{rate * core_s:.0f} times {CORES} cores; clean {100 * clean:.3f} %"
        )


def kernel_alone(inputs: Inputs, launches: int, precision: Precision, threads: int = gpu.THREADS) -> float:
    """Return the seconds of one chunk without the way to the card and back; the kernel is compiled."""
    from numba import cuda

    from overarm.gpu import memory

    size = -(-launches // threads) * threads
    same = memory.campaign_on_card(inputs, precision)
    room = memory.room_on_card(size, len(inputs.rules.inputs), precision)
    times = []
    for _ in range(3):
        cuda.synchronize()
        start = time.perf_counter()
        gpu.compiled_kernel(precision)[size // threads, threads](same, room, SEED, 0, launches)
        cuda.synchronize()
        times.append(time.perf_counter() - start)
    return sorted(times)[1]


def blocks_tried(inputs: Inputs, launches: int, precision: Precision) -> None:
    """Print the seconds of other sizes of blocks."""
    most = min(gpu.compiled_kernel(precision).get_max_threads_per_block().values())
    for threads in (32, 64, 128, 256, 384):
        if threads <= most:
            alone = kernel_alone(inputs, launches, precision, threads)
            print(f"  {precision}, {threads} threads a block: {launches} launches in {alone:.3f} s")


def attempt(what: Any, *given: Any) -> None:
    """Do one part of the benchmark; a part that fails says so and lets the others run."""
    try:
        what(*given)
    except Exception:
        traceback.print_exc()


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("setup", nargs="?", default=str(ROOT / "examples" / "b-kestrel.yaml"))
    parser.add_argument("--launches", type=int, nargs="+", default=[100_000, 1_000_000, 10_000_000])
    parser.add_argument("--compared", type=int, default=100_000, help="launches held against the processor's")
    parser.add_argument("--blocks", action="store_true", help="try other sizes of blocks")
    parser.add_argument("--save", type=Path)
    parser.add_argument("--inputs", type=Path)
    asked = parser.parse_args()
    inputs = saved(asked.inputs) if asked.inputs else of_setup(asked.setup)
    if asked.save:
        save(inputs, asked.save)
        return
    card = found_card()
    print(f"{card.name}, compute capability {card.capability}, {card.free_bytes / 2**30:.0f} GiB free")
    core_s, table = on_processor(inputs, asked.compared)
    print(f"processor, {CORES} cores: {asked.compared} launches, {1e6 * core_s:.1f} us a launch")
    for precision in PRECISIONS:
        attempt(on_card, inputs, asked.launches, precision, core_s)
    for precision in PRECISIONS:
        attempt(held_against, inputs, table, precision)
    if asked.blocks:
        for precision in PRECISIONS:
            attempt(blocks_tried, inputs, 2**20, precision)


if __name__ == "__main__":
    main()

"""What it costs to fly on a cluster: the same campaign here, on one worker with all cores, on one a core.

    python benchmarks/cluster.py [--launches 40000] [--rounds 3]

Scheduler and workers run on this machine. Seconds are those of the quietest round. Processor seconds are
those of this process (with the scheduler) and of the workers together, so they tell the cost on a busy
machine too. All campaigns must come to the same bytes.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any, NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")

from distributed import Client, LocalCluster

import overarm
from overarm.cluster.workers import Workers
from overarm.describe.derived import derive
from overarm.flight.campaign import CHUNK, Inputs
from overarm.flight.inputs import inputs_of
from overarm.odds.flyers import HERE, Flyers

ROOT = Path(__file__).resolve().parent.parent


class Took(NamedTuple):
    """What a campaign took."""

    wall_s: float
    processor_s: float


class Place(NamedTuple):
    """Where a campaign is flown, and how the processor time of its workers is asked for."""

    name: str
    flyers: Flyers
    workers_s: Callable[[], float]


def place_with(stack: ExitStack, workers: int, threads: int) -> Place:
    """Return a cluster on this machine that ends with the stack."""
    quiet: dict[str, Any] = {"dashboard_address": "127.0.0.1:0", "worker_dashboard_address": None}
    cluster = stack.enter_context(LocalCluster(n_workers=workers, threads_per_worker=threads, **quiet))
    client = stack.enter_context(Client(cluster, set_as_default=False))
    name = f"{workers} worker{'s' if workers > 1 else ''} of {threads} core{'s' if threads > 1 else ''}"
    return Place(name, Workers(client), lambda: sum(client.run(time.process_time).values()))


def fly(place: Place, inputs: Inputs, launches: int) -> tuple[Took, str]:
    """Return what a campaign took, and a hash of its summaries."""
    digest = hashlib.sha256()
    before_s = place.workers_s() + time.process_time()
    since_s = time.perf_counter()
    for chunk in place.flyers.chunks(inputs, launches, 1):
        digest.update(chunk.table.tobytes())
    wall_s = time.perf_counter() - since_s
    return Took(wall_s, place.workers_s() + time.process_time() - before_s), digest.hexdigest()


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    words.add_argument("--launches", type=int, default=40_000)
    words.add_argument("--rounds", type=int, default=3)
    words.add_argument("--cores", type=int, default=len(os.sched_getaffinity(0)))
    asked = words.parse_args()
    setup = overarm.load(ROOT / "examples/b-kestrel.yaml")
    inputs = inputs_of(setup, derive(setup))
    with ExitStack() as stack:
        places = [Place("here", HERE, lambda: 0.0), place_with(stack, 1, asked.cores)]
        places.append(place_with(stack, asked.cores, 1))
        took: dict[str, list[Took]] = {place.name: [] for place in places}
        hashes = {
            fly(place, inputs, CHUNK * asked.cores)[1] for place in places
        }  # all is compiled and loaded
        for _ in range(asked.rounds):
            for place in places:
                one, told = fly(place, inputs, asked.launches)
                took[place.name].append(one)
                hashes.add(told)
    print(f"the same bytes everywhere: {'yes' if len(hashes) == 2 else 'NO'}")
    report(took, asked.launches)


def report(took: dict[str, list[Took]], launches: int) -> None:
    """Print wall and processor seconds beside those of this machine, and the difference for each chunk."""
    chunks = -(-launches // CHUNK)
    least = {name: Took(*(min(column) for column in zip(*each, strict=True))) for name, each in took.items()}
    here = least["here"]
    print(f"{launches:,} launches of B in {chunks} chunks\n")
    print("where                 seconds  times  processor s  times  more a chunk, processor ms")
    for name, one in least.items():
        more_ms = 1e3 * (one.processor_s - here.processor_s) / chunks
        walls = f"{one.wall_s:7.2f}  {one.wall_s / here.wall_s:5.2f}"
        print(
            f"{name:20}  {walls}  {one.processor_s:11.2f}  {one.processor_s / here.processor_s:5.2f}  "
            f"{more_ms:5.1f}"
        )


if __name__ == "__main__":
    main()

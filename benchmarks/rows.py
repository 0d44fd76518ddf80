"""What the parts of the table share: a row, the example they fly, clocks, and children of their own."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import overarm
from overarm.describe.cards import Setup
from overarm.flight.campaign import Inputs

ROOT = Path(__file__).resolve().parent.parent
EXAMPLE = ROOT / "examples" / "b-kestrel.yaml"


class Row(NamedTuple):
    """One line of the table."""

    what: str
    value: str  # with its unit
    ratio: str = ""  # and to what


def example() -> tuple[Setup, Inputs]:
    """Return the setup that every part flies, and its inputs."""
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of

    setup = overarm.load(EXAMPLE)
    return setup, inputs_of(setup, derive(setup))


def spent(work: Callable[[], Any]) -> float:
    """Return how long the work takes [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def median_s(work: Callable[[], Any], repeats: int) -> float:
    """Return the median time of the work [s], after one run that does not count."""
    work()
    return statistics.median(spent(work) for _ in range(repeats))


def child(module: str, *words: str, **environment: str) -> Any:
    """Run a module of the benchmarks in a process of its own; return what it printed last, as JSON."""
    ended = subprocess.run(
        [sys.executable, "-m", module, *words],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if ended.returncode:
        raise RuntimeError(f"{module} failed:\n{ended.stderr}")
    return json.loads(ended.stdout.splitlines()[-1])


def in_words(seconds: float) -> str:
    """Return a time in a unit that suits it."""
    for size, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "µs")):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-9:.3g} ns"

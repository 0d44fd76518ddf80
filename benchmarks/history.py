"""The costs that should not creep up, kept from run to run by pytest-benchmark: ``make bench-history``.

Each run is saved under .benchmarks/ and compared with the one before on the same machine.
"""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from benchmarks.parts.arrays import STEP_S, Flown, compiled_steps, start
from benchmarks.parts.start import OVERARM, process_s
from benchmarks.rows import EXAMPLE, example
from overarm.describe.derived import derive
from overarm.flight.campaign import fly_records, trace_launch
from overarm.flight.draw import draw
from overarm.settings.find import find_settings
from overarm.settings.search import Effort

LAUNCHES, SEED = 500, 1
SETUP, INPUTS = example()
RECORDS, _ = draw(INPUTS.base, INPUTS.rules, LAUNCHES, SEED, 0)


def test_launches(benchmark: Any) -> None:
    assert len(benchmark(partial(fly_records, INPUTS, RECORDS, SEED))) == LAUNCHES


def test_draw(benchmark: Any) -> None:
    benchmark(partial(draw, INPUTS.base, INPUTS.rules, LAUNCHES, SEED, 0))


def test_compiled_steps(benchmark: Any) -> None:
    bodies, held = start(LAUNCHES)
    benchmark(lambda: compiled_steps(RECORDS, INPUTS.table, bodies.copy(), held, STEP_S, 10))


def test_array_steps(benchmark: Any) -> None:
    flown = Flown(RECORDS, INPUTS.table, np.float64)
    benchmark(partial(flown.after, 10))


def test_trace(benchmark: Any) -> None:
    benchmark(partial(trace_launch, INPUTS, SEED, 0))


def test_short_search(benchmark: Any) -> None:
    work = partial(find_settings, SETUP, derive(SETUP), effort=Effort(200, 1, 4, 200), launches=1000)
    benchmark.pedantic(work, rounds=3, warmup_rounds=1)


def test_start_of_check(benchmark: Any) -> None:
    benchmark.pedantic(partial(process_s, 1, "-c", OVERARM, "check", str(EXAMPLE)), rounds=3)

"""What a worker does: fly some launches, or one cell of a fleet study.

Dask may do a task twice if a worker is lost; both times it comes to the same bytes.
"""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from overarm.cluster.marks import ENGINE
from overarm.fleet.cell import Flown, Work, fly_cell
from overarm.flight.campaign import Inputs, run
from overarm.jit import compiled_before
from overarm.odds.source import source_hash

# Tasks of one process fly one after the other, each on all threads that the worker has: compiled loops of
# several threads at once take each other's cores, and not every kind of threads of Numba allows it.
_ENGINE = threading.Lock()


class OtherOverarmError(Exception):
    """A worker that came later has other code than the one who asks; it flies nothing."""


COMPILE = (sys.executable, "-c", "from overarm.cli import main; main()", "selfcheck")


@cache
def _compile_elsewhere() -> None:
    """Have another process compile the engine, if it is not kept on this machine yet.

    The process that compiles may add in another order than all that load what it kept, so its launches may
    differ from theirs in the last digits.
    """
    if not compiled_before(ENGINE):
        subprocess.run(COMPILE, stdin=subprocess.DEVNULL, capture_output=True, check=False)


@contextmanager
def _engine(sources: str) -> Iterator[None]:
    if sources != source_hash():
        raise OtherOverarmError(source_hash())
    from distributed import get_worker

    most: Any = numba.config

    with _ENGINE:
        _compile_elsewhere()
        numba.set_num_threads(min(get_worker().state.nthreads, most.NUMBA_NUM_THREADS))
        yield


def as_here(inputs: Inputs) -> Inputs:
    """Return inputs whose arrays can be written, or not, as those that a setup gives.

    An array that came over a wire may be read-only. For such a one Numba would compile the engine again, in
    this very process.
    """
    rules = inputs.rules
    arrays = {name: getattr(rules, name).copy() for name in ("block", "layer", "table", "values")}
    table = inputs.table.copy()
    table.flags.writeable = False
    return Inputs(inputs.base.copy(), replace(rules, **arrays), table, inputs.obstacles.copy())


def fly_chunk(
    sources: str, inputs: Inputs, launches: int, seed: int, first: int, scored: bool
) -> tuple[NDArray[np.void], NDArray[np.float64]]:
    """Return summaries and scores of ``launches`` in a row; no scores unless they are wanted."""
    with _engine(sources):
        (chunk,) = run(as_here(inputs), launches, seed, first=first, chunk=launches)
    return chunk.table, chunk.scores if scored else chunk.scores[:0]


def fly_work(sources: str, work: Work) -> Flown | None:
    """Return what one cell of a fleet study comes to; None, unseen by anybody, if it was called off."""
    called_off = _called_off()
    work = work._replace(inputs=as_here(work.inputs))
    with _engine(sources):
        return None if called_off() else fly_cell(work, called_off)


def _called_off() -> Callable[[], bool]:
    """Return what says whether the task of this thread is still wanted: a worker ends no running task."""
    from distributed import get_worker

    worker = get_worker()
    key = worker.get_current_task()

    def asked() -> bool:
        task = worker.state.tasks.get(key)
        return task is None or task.state == "cancelled"

    return asked

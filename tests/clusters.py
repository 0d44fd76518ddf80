"""Small Dask clusters for tests: processes of this machine, and workers that are killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

WAIT_S = 60.0
ONE_CORE = {"NUMBA_NUM_THREADS": "1"}


def until(true: Callable[[], Any], what: str) -> None:
    """Wait until something is true; fail if it does not come."""
    end_s = time.monotonic() + WAIT_S
    while not true():
        assert time.monotonic() < end_s, f"waited in vain for {what}"
        time.sleep(0.05)


@contextmanager
def local(workers: int, **how: Any) -> Iterator[Any]:
    """Yield a cluster of processes on this machine, one core each."""
    from distributed import LocalCluster

    nothing: dict[str, Any] = {"dashboard_address": "127.0.0.1:0", "worker_dashboard_address": None}
    with LocalCluster(n_workers=workers, threads_per_worker=1, processes=True, **nothing, **how) as cluster:
        yield cluster


@contextmanager
def _process(*words: str, **extra: str) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(
        [sys.executable, "-m", *words],
        env={**os.environ, **ONE_CORE, **extra},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield process
    finally:
        process.kill()
        process.wait()


@contextmanager
def scheduler(file: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Yield the process of a scheduler whose address stands in a file."""
    words = ["--port", "0", "--host", "127.0.0.1", "--no-dashboard", "--scheduler-file", str(file)]
    with _process("distributed.cli.dask_scheduler", *words) as process:
        until(file.is_file, "the scheduler")
        yield process


@contextmanager
def worker(scheduler_at: str, **extra: str) -> Iterator[subprocess.Popen[bytes]]:
    """Yield the process of a worker that nobody starts again."""
    place = "--scheduler-file" if Path(scheduler_at).is_file() else ""
    words = [*([place] if place else []), scheduler_at, "--no-nanny", "--no-dashboard", "--nthreads", "1"]
    with _process("distributed.cli.dask_worker", *words, **extra) as process:
        yield process


def kill(process: int) -> None:
    """End a process as a machine that loses its power does."""
    os.kill(process, signal.SIGKILL)

"""On a cluster the same bytes come out, whatever becomes of its workers."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from overarm.cluster import tasks
from overarm.cluster.connect import workers_at
from overarm.fleet.folder import opened
from overarm.fleet.run import fly_study
from overarm.fleet.study import load_study
from overarm.flight.campaign import CHUNK
from overarm.odds.run import Progress
from tests.clusters import WAIT_S, kill, local, until
from tests.examples import inputs_of
from tests.faults import cluster_child as child
from tests.fleets import CELLS, STUDY, study_in

pytest.importorskip("distributed")

LONGER = STUDY.replace("launches: 100", "launches: 3000")


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with what this machine says without a cluster."""
    folder = tmp_path_factory.mktemp("here")
    study_in(folder, LONGER)
    subprocess.run([sys.executable, child.__file__, str(folder)], check=True)
    return folder


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    with local(2) as found:
        yield found


@contextmanager
def crew(cluster: Any) -> Iterator[Any]:
    with workers_at(cluster.scheduler_address, lambda _: None) as found:
        yield found


def pids(cluster: Any) -> list[int]:
    from distributed import Client

    with Client(cluster.scheduler_address, set_as_default=False) as client:
        return sorted(client.run(os.getpid).values())


def idle(cluster: Any) -> bool:
    from distributed import Client

    with Client(cluster.scheduler_address, set_as_default=False) as client:
        return not any(client.processing().values())


def test_the_same_bytes_from_one_to_three_workers(cluster: Any, here: Path) -> None:
    try:
        for many in (3, 1, 2):
            cluster.scale(many)
            until(lambda many=many: len(cluster.scheduler_info["workers"]) == many, f"{many} workers")
            with crew(cluster) as workers:
                assert child.campaign(workers) == (here / "campaign.json").read_bytes()
    finally:
        cluster.scale(2)


def test_a_killed_worker_changes_no_byte(cluster: Any, here: Path) -> None:
    victim, *_ = pids(cluster)
    heard: list[int] = []

    def kill_one(so_far: Progress) -> None:
        if not heard:
            kill(victim)
        heard.append(so_far.done)

    with crew(cluster) as workers:
        assert child.campaign(workers, progress=kill_one) == (here / "campaign.json").read_bytes()
    assert heard[0] == CHUNK < child.LAUNCHES
    until(lambda: len(pids(cluster)) == 2, "the worker that starts again")
    assert victim not in pids(cluster)


def test_a_change_and_a_search_come_out_the_same(cluster: Any, here: Path) -> None:
    with crew(cluster) as workers:
        assert child.change(workers) == (here / "change.json").read_bytes()
        assert child.search(workers) == (here / "search.json").read_bytes()


def test_a_study_killed_on_the_cluster_goes_on_to_the_same_bytes(
    cluster: Any, here: Path, tmp_path: Path
) -> None:
    file, far = study_in(tmp_path, LONGER), tmp_path / "far"
    with command("fleet", file, "--out", far, "--cluster", cluster.scheduler_address) as process:
        until(lambda: kept(far), "the first cell")
        process.kill()
        process.communicate()
    begun = kept(far)
    assert 0 < begun < CELLS
    until(lambda: idle(cluster), "workers that nobody asks any more")
    flown: list[int] = []
    with opened(far) as folder, crew(cluster) as workers:

        def counted(works: Any, cancelled: Any) -> Any:
            for number, answer in workers.cells(works, cancelled):
                flown.append(number)
                yield number, answer

        after = fly_study(load_study(file), folder, fly=counted)
    assert len(flown) == CELLS - begun
    assert child.bytes_of(after) == (here / "study.json").read_bytes()
    names = [[file.name for file in sorted((place / "cells").iterdir())] for place in (far, here / "here")]
    assert names[0] == names[1]
    for name in names[0]:
        assert (far / "cells" / name).read_bytes() == (here / "here/cells" / name).read_bytes()


def test_a_worker_lets_another_process_compile(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(tasks.subprocess, "run", lambda words, **_: asked.append(words))
    for kept_already, times in ((True, 0), (False, 1)):
        monkeypatch.setattr(tasks, "compiled_before", lambda _, kept=kept_already: kept)
        tasks._compile_elsewhere.cache_clear()
        tasks._compile_elsewhere()
        tasks._compile_elsewhere()
        assert len(asked) == times
    tasks._compile_elsewhere.cache_clear()


def test_ctrl_c_ends_with_130_and_leaves_no_worker_busy(cluster: Any, tmp_path: Path) -> None:
    file = study_in(tmp_path, STUDY.replace("launches: 100", "launches: 2000000"))
    words = ("fleet", file, "--out", tmp_path / "out", "--cluster", cluster.scheduler_address)
    with command(*words) as process:
        until(lambda: not idle(cluster), "the first cell to be flown")
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=60)
    assert process.returncode == 130, said
    assert b"the same command goes on from there" in said
    until(lambda: idle(cluster), "workers that nobody asks any more")
    end_s = time.monotonic() + WAIT_S  # one that still flew two million launches would not come to others
    with crew(cluster) as workers:
        chunks = workers.chunks(inputs_of("b"), CHUNK + 1, 1, lambda: time.monotonic() > end_s)
        assert len(list(chunks)) == 2


def kept(place: Path) -> int:
    return len(list(place.glob("cells/*.json")))


@contextmanager
def command(*words: str | Path) -> Iterator[subprocess.Popen[bytes]]:
    code = "from overarm.cli import main; main()"
    process = subprocess.Popen(
        [sys.executable, "-c", code, *(str(word) for word in words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()

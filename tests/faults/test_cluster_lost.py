"""A cluster that is not there, goes away, or flies with something else: told soon, and in plain words."""

from __future__ import annotations

import importlib.util
import shutil
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from overarm import cli
from overarm.cluster import connect, marks, watch
from overarm.cluster.connect import workers_at
from overarm.cluster.marks import Mark, check_marks, mark_here, mark_of, remarks
from overarm.errors import InputError
from overarm.flight import campaign
from overarm.flight.campaign import CHUNK, Chunk
from tests.clusters import kill, scheduler, worker
from tests.examples import FILES, inputs_of

pytest.importorskip("distributed")

MANY = 400 * CHUNK
SOON_S = 60.0


def quiet(_text: str) -> None:
    pass


def refused(address: str) -> str:
    with pytest.raises(InputError) as told, workers_at(address, quiet):
        pass
    return str(told.value)


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Path]:
    """Yield the file of a scheduler that runs, without workers."""
    with scheduler(tmp_path / "scheduler.json"):
        yield tmp_path / "scheduler.json"


def closed_port() -> str:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return f"tcp://127.0.0.1:{door.getsockname()[1]}"


def test_without_the_extra_the_line_to_install_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: None)
    shown = CliRunner().invoke(cli.app, ["odds", str(FILES["b"]), "--cluster", "tcp://127.0.0.1:1"])
    assert isinstance(shown.exception, InputError)
    assert "pip install 'overarm[cluster]'" in str(shown.exception)


@pytest.mark.parametrize("address", ["", "tcp://", "carrier-pigeon://127.0.0.1:1", "no such file.json"])
def test_what_is_no_address_is_told(monkeypatch: pytest.MonkeyPatch, address: str) -> None:
    monkeypatch.setattr(connect, "CONNECT_S", 2.0)
    assert "No scheduler of a cluster answers there" in refused(address)


def test_a_dead_address_is_told_in_bounded_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "CONNECT_S", 2.0)
    monkeypatch.setattr(connect, "OPEN_S", 4.0)
    since_s = time.monotonic()
    assert "No scheduler of a cluster answers there" in refused(closed_port())
    with socket.socket() as mute:  # takes calls and says nothing
        mute.bind(("127.0.0.1", 0))
        mute.listen()
        assert "No scheduler" in refused(f"tcp://127.0.0.1:{mute.getsockname()[1]}")
    assert time.monotonic() - since_s < SOON_S


def test_an_address_with_tls_needs_certificates() -> None:
    said = refused(closed_port().replace("tcp", "tls"))
    assert "asks for certificates" in said
    assert "distributed.comm.tls" in said


def test_a_scheduler_without_workers_is_told(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "WORKER_S", 1.0)
    assert "The scheduler has no worker" in refused(str(place))


def test_a_lost_last_worker_is_told(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watch, "GONE_S", 2.0)
    with worker(str(place)) as process, workers_at(str(place), quiet) as workers:
        chunks = workers.chunks(inputs_of("b"), MANY, 1)
        assert next(chunks).first == 0
        kill(process.pid)
        since_s = time.monotonic()
        assert "has lost its last worker" in lost(chunks)
        assert time.monotonic() - since_s < SOON_S


def test_a_scheduler_that_is_killed_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connect, "CONNECT_S", 5.0)
    file = tmp_path / "scheduler.json"
    with scheduler(file) as head, worker(str(file)), workers_at(str(file), quiet) as workers:
        chunks = workers.chunks(inputs_of("b"), MANY, 1)
        assert next(chunks).first == 0
        kill(head.pid)
        since_s = time.monotonic()
        assert "The cluster no longer answers" in lost(chunks)
        assert time.monotonic() - since_s < SOON_S


def lost(chunks: Iterator[Chunk]) -> str:
    with pytest.raises(InputError) as told:
        for _ in chunks:
            pass
    return str(told.value)


def test_a_worker_with_other_code_is_refused(place: Path, tmp_path: Path, project: Path) -> None:
    other = tmp_path / "other"
    shutil.copytree(
        project / "src/overarm", other / "overarm", ignore=shutil.ignore_patterns("pages", "__pycache__")
    )
    with (other / "overarm/units.py").open("a") as file:
        file.write("\n# One more line.\n")
    with worker(str(place), PYTHONPATH=str(other)):
        said = refused(str(place))
    assert "flies with another Overarm" in said
    assert "Install the same Overarm on every worker" in said


def test_a_worker_without_overarm_is_refused(place: Path, tmp_path: Path) -> None:
    (tmp_path / "bare/overarm").mkdir(parents=True)
    (tmp_path / "bare/overarm/__init__.py").write_text("raise ImportError('not here')\n", "utf-8")
    with worker(str(place), PYTHONPATH=str(tmp_path / "bare")):
        assert "A worker cannot run Overarm" in refused(str(place))


def test_what_must_be_the_same_on_every_worker() -> None:
    here = mark_of(mark_here())
    assert hasattr(campaign, marks.ENGINE)
    check_marks(here, {"tcp://a": here, "tcp://b": here._replace(processor="another", compiled=False)})
    cases: list[tuple[dict[str, Any], str]] = [
        ({"version": "0.0.9"}, "flies with another Overarm"),
        ({"sources": "0" * 16}, "flies with another Overarm"),
        ({"compiler": "0.1, 0.2"}, "compiles with another Numba"),
    ]
    for change, words in cases:
        with pytest.raises(InputError, match=words) as told:
            check_marks(here, {"tcp://a": here, "tcp://b": here._replace(**change)})
        assert [item.key for item in told.value.problems] == ["tcp://b"]
    with pytest.raises(InputError, match="unknown"):
        check_marks(here, {"tcp://old": mark_of({"version": "0.0.1"})})


def test_what_a_person_is_told_who_waits() -> None:
    here = Mark("1", "a", "n", "zen", True)
    assert remarks(here, {"x": here}) == []
    cold, other = here._replace(compiled=False), here._replace(processor="oak")
    assert "It compiles the engine first" in remarks(here, {"x": cold})[0]
    assert "the last digits of a launch may differ" in remarks(here, {"x": other})[0]

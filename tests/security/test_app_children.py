"""What reads other people's files is bounded: by the clock, the processor, memory; and ends when it must."""

from __future__ import annotations

import gzip
import io
import os
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from overarm.app.child.child import Child, Fault, Task
from overarm.app.limits import LIMITS
from overarm.errors import Cancelled, InputError
from tests.examples import FILES
from tests.workbench import running

MEMORY = 1400 * 2**20  # a small table needs about 1 GB of address space, most of it never touched
ODDS = {"changes": {}, "launches": 1_000_000, "seed": 1, "until_width": None, "traces": 0, "files": {}}


@pytest.fixture(scope="module")
def child() -> Iterator[Child]:
    made = Child(LIMITS.reading)
    yield made
    made.end()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "setup.yaml").write_bytes(FILES["b"].read_bytes())
    return tmp_path


def pid_of(child: Child) -> int:
    return int(child._process.pid)


def is_there(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def test_an_answer_then_a_cancel_then_the_clock(child: Child, folder: Path) -> None:
    check = Task("describe.check", {"files": {}}, folder, 60.0, 60.0)
    assert b'"good": true' in child.ask(check).data
    pid = pid_of(child)

    heard: list[float] = []
    with pytest.raises(Cancelled):
        child.ask(
            Task("odds.odds", ODDS, folder, 60.0, 60.0),
            tell=lambda _what, share: heard.append(share),
            cancelled=lambda: bool(heard),
        )
    assert pid_of(child) == pid  # it ended the work by itself and takes the next
    assert child.ask(check).data

    with pytest.raises(InputError, match="takes longer than"):
        child.ask(Task("odds.odds", ODDS, folder, 0.3, 60.0))
    assert not is_there(pid)


def test_processor_time_has_an_end(child: Child, folder: Path) -> None:
    begun = time.monotonic()
    with pytest.raises(InputError, match="processor time"):
        child.ask(Task("odds.odds", ODDS, folder, 60.0, 0.1))
    assert time.monotonic() - begun < 20.0


def test_memory_has_an_end(tmp_path: Path) -> None:
    """A table of 64 MB that is far larger in memory; a small one is read under the same bound."""
    (tmp_path / "0").mkdir()
    text = "Time (s),c,d,e,f,g,h,i\n" + "".join(f"{k / 50},1,2,3,4,5,6,7\n" for k in range(400))
    (tmp_path / "0/small.csv").write_text(text)
    (tmp_path / "0/big.csv").write_text(text + "9,1,2,3,4,5,6,7\n" * 4_000_000)
    small, big = (
        Task("review.columns", {"files": {"recording": [f"0/{name}.csv"]}}, tmp_path, 60.0, 60.0)
        for name in ("small", "big")
    )
    child = Child(LIMITS.reading._replace(memory_bytes=MEMORY))
    try:
        assert b"proposals" in child.ask(small).data
        with pytest.raises(InputError, match="memory"):
            child.ask(big)
        assert b"proposals" in child.ask(small).data
    finally:
        child.end()


def test_a_fault_of_ours_is_no_answer(child: Child, folder: Path, caplog: pytest.LogCaptureFixture) -> None:
    with pytest.raises(Fault):
        child.ask(Task("odds.odds", {}, folder, 60.0, 60.0))
    assert "KeyError" in caplog.text  # for the terminal; nothing of it goes to the browser
    with pytest.raises(Fault):
        child.ask(Task("describe.nothing", {}, folder, 60.0, 60.0))


def bomb(megabytes: int) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in ("manifest.json", "recordings.jsonl"):
            with archive.open(name, "w") as entry:
                for _ in range(megabytes // 2):
                    entry.write(b"\0" * 2**20)
    return out.getvalue()


def test_bombs_and_what_is_no_recording_get_a_plain_refusal() -> None:
    server = running()
    letters = [(chr(98 + k), chr(97 + k)) for k in range(20)]
    laughs = "a: &a [x, x]\n" + "".join(f"{new}: &{new} [*{old}, *{old}]\n" for new, old in letters)
    tag = "!!python/object/apply:os.system [id]\n"
    for text in (laughs, "[" * 5000, "\0", tag, "%YAML 9.9\n---\na: 1\n", "- " * 3000):
        answer = server.post("/api/describe/check", {"setup": {"text": text}})
        assert answer.status_code == 200
        assert answer.json()["good"] is False
        assert answer.json()["problems"][0]["file"] == "setup.yaml"

    zipped = server.upload("book.zip", bomb(200))
    job = server.post("/api/logbook/import", {"archive": zipped}).json()
    assert server.ended(job["id"])["state"] == "failed"

    others = {
        "a.csv.gz": gzip.compress(b"\0" * 2**24),
        "b.csv": bomb(20),
        "c.csv": b"\0" * 2**20,
        "d.csv": b"",
        "e.parquet": b"PAR1" + b"\xff" * 64 + b"PAR1",
        "f.igc": b"A" * 2**20,
        "g.gpx": b"<a>" * 10_000,
    }
    for name, data in others.items():
        job = server.post("/api/review/jobs", {"recording": server.upload(name, data)}).json()
        ended = server.ended(job["id"])
        assert ended["state"] == "failed", name
        assert ended["problems"][0]["file"] == name
        assert ended["problems"][0]["message"]

"""kill -9 at moments of chance: files of sheets, packs and plans, and the import of a logbook by its command.

What was told done is there, every file is whole, and the next run goes on as if nothing had been.
`test_logbook_kill.py` and `test_failing_writes.py` kill at every single step.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from overarm.logbook.carry import export_book
from tests.faults.logbook_child import look, put_small
from tests.faults.writing_child import number_of
from tests.logbooks import sqlite_book

OVERARM = Path(sys.executable).parent / "overarm"
SEED = 20_261_126  # of the moments
KILLS = 5
LASTS_S = 0.6
FILES = ("sheets/b.pdf", "sheets/b.html", "pack.html", "plan.geojson", "plan.kml", "plan.gpx")
TOGETHER = (FILES[:2], FILES[2:3], FILES[3:])


def test_sheets_packs_and_plans(tmp_path: Path, project: Path) -> None:
    luck, rounds = random.Random(SEED), 0
    words = [sys.executable, "-m", "tests.faults.writing_child", str(tmp_path)]
    for _ in range(KILLS):
        with subprocess.Popen(words, cwd=project, stdout=subprocess.PIPE, text=True) as child:
            assert child.stdout is not None
            told = [child.stdout.readline()]  # one round is done; from here on it may end at any moment
            time.sleep(luck.uniform(0.0, LASTS_S))
            child.send_signal(signal.SIGKILL)
            told += child.stdout.readlines()
        assert child.returncode == -signal.SIGKILL
        done = max(int(line) for line in told if line.endswith("\n"))
        for together in TOGETHER:
            there = [number_of((tmp_path / name).read_bytes()) for name in together]
            assert set(there) <= {done, done + 1}, "what was told done is not there"
            assert there == sorted(there, reverse=True), "not in the order in which they move in"
        rounds += done
    assert rounds > KILLS


@pytest.fixture
def books(tmp_path: Path) -> Path:
    """Return a folder with the archive of a book of three flights."""
    (tmp_path / "other").mkdir()
    with sqlite_book(tmp_path / "other") as other:
        for number in (2, 3, 4):
            put_small(other, number)
        export_book(other, tmp_path / "other.zip")
    return tmp_path


def test_an_import_by_the_command(books: Path) -> None:
    luck = random.Random(SEED)
    with sqlite_book(books) as book:
        put_small(book, 1)
    words = [str(OVERARM), "logbook", "import", str(books / "other.zip"), "--book"]

    def copied(name: str) -> Path:
        folder = books / name
        folder.mkdir()
        with sqlite_book(folder) as book:
            put_small(book, 1)
        return folder

    def begun(folder: Path) -> subprocess.Popen[bytes]:
        return subprocess.Popen([*words, str(folder / "logbook.sqlite")], stdout=subprocess.DEVNULL)

    whole = copied("whole")
    before, since = look(whole), time.monotonic()
    assert begun(whole).wait(120) == 0
    took_s, after = time.monotonic() - since, look(whole)
    assert before != after
    killed = 0
    for number in range(KILLS):
        folder = copied(str(number))
        process = begun(folder)
        try:
            process.wait(luck.uniform(0.5, 1.0) * took_s)  # before that it loads its code
        except subprocess.TimeoutExpired:
            os.kill(process.pid, signal.SIGKILL)
            killed += process.wait() == -signal.SIGKILL
        assert look(folder) in (before, after), "a part of the archive is in the book"
        assert begun(folder).wait(120) == 0
        assert look(folder) == after
    assert killed > 0

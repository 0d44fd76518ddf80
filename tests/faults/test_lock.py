"""One process at a time: two exclude each other, a kill -9 lets go, a folder without locks is told of."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from overarm.app.folders import Folders, folders_in, kept_alone
from overarm.errors import InputError
from overarm.fleet.folder import opened
from overarm.lock import lock

HOLDS = """
import sys, time
from pathlib import Path
from overarm.lock import lock
held = lock(Path(sys.argv[1]))
print(held is not None, flush=True)
time.sleep(60)
"""


def test_two_processes_exclude_each_other_and_a_kill_lets_go(tmp_path: Path) -> None:
    file = tmp_path / "in-use"
    other = subprocess.Popen([sys.executable, "-c", HOLDS, str(file)], stdout=subprocess.PIPE, text=True)
    assert other.stdout is not None
    with other.stdout:
        assert other.stdout.readline() == "True\n"
        assert lock(file) is None
        other.send_signal(signal.SIGKILL)
        other.wait()
    held = lock(file)
    assert held is not None
    assert lock(file) is None  # in one process too
    assert file.stat().st_mode & 0o077 == 0
    held.release()
    again = lock(file)
    assert again is not None
    again.release()


@pytest.fixture
def folders(tmp_path: Path) -> Folders:
    return folders_in(tmp_path / "workbench")


def test_a_second_workbench_hears_where_the_first_is(folders: Folders) -> None:
    (folders.scratch / "old").mkdir()
    with kept_alone(folders, "http://127.0.0.1:8246"):
        assert not list(folders.scratch.iterdir())
        with pytest.raises(InputError, match=r"open already\. Use that one, at http://127\.0\.0\.1:8246, or"):
            kept_alone(folders, "http://127.0.0.1:9").__enter__()
    (folders.root / "address").write_text("http://127.0.0.1:9", "utf-8")  # as a kill would leave it
    with kept_alone(folders, "http://127.0.0.1:8246"):
        (folders.root / "address").unlink()
        with pytest.raises(InputError, match=r"open already\. Use that one, or end it"):
            kept_alone(folders, "http://127.0.0.1:9").__enter__()


def test_a_folder_where_nothing_can_be_locked(
    folders: Folders, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on some network disks (flock(2), ENOSYS and ENOLCK): said in words, and nothing goes on unlocked."""
    import fcntl

    def none(_handle: int, _how: int) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(fcntl, "flock", none)
    for place in (kept_alone(folders, "http://127.0.0.1:1"), opened(tmp_path / "out")):
        with pytest.raises(InputError, match="No locks available") as told:
            place.__enter__()
        assert told.value.problems[0].cure

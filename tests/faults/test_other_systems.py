"""What a system without the calls of POSIX would see, played on this one: no such system was tried."""

from __future__ import annotations

import importlib
import json
import os
import subprocess
import sys
import types
from pathlib import Path

import pytest

from overarm.app.child import bounds, child
from overarm.app.limits import Bounds
from overarm.app.serve import Wanted, serve
from overarm.errors import InputError
from tests.examples import FILES

# The Python of Windows lacks these: "Availability: Unix" in the library reference, modules and signal.
LACKING = """
import signal, sys
for name in ("fcntl", "grp", "pwd", "resource", "termios", "tty"):
    sys.modules[name] = None
for name in ("SIGBUS", "SIGKILL", "SIGXCPU", "pthread_sigmask"):
    delattr(signal, name)
"""
EVERY = """
import importlib, pkgutil
import overarm
for found in pkgutil.walk_packages(overarm.__path__, "overarm."):
    if not found.name.startswith(("overarm.gpu", "overarm.logbook.migrations")):
        importlib.import_module(found.name)
"""
CHECK = """
import sys
sys.argv = ["overarm", "check", sys.argv[1], "--json"]
from overarm.cli import main
main()
"""


def lacking(program: str, *words: str) -> subprocess.CompletedProcess[str]:
    ran = [sys.executable, "-c", LACKING + program, *words]
    return subprocess.run(ran, capture_output=True, text=True, timeout=300, check=False)


def test_every_room_opens_without_them() -> None:
    """The migrations run inside alembic alone, and the graphics card has packages of its own."""
    ended = lacking(EVERY)
    assert (ended.returncode, ended.stderr) == (0, "")


def test_a_command_answers_without_them() -> None:
    ended = lacking(CHECK, str(FILES["b"]))
    assert ended.returncode == 0, ended.stderr
    assert json.loads(ended.stdout)["good"] is True


def test_a_process_goes_unbounded_where_nothing_can_bound_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is lowered, and nobody is told that it was."""
    assert bounds.bounded() == (sys.platform == "linux")
    monkeypatch.setattr(bounds, "resource", None)
    bounds.hold_to(Bounds(1, 1))
    bounds.more_processor_time(0.0)
    assert not bounds.bounded()
    assert len(os.urandom(2**20)) == 2**20  # neither the memory nor the time has an end


def test_a_limit_that_the_system_will_not_take(monkeypatch: pytest.MonkeyPatch) -> None:
    """Elsewhere than on Linux a process may not be held to less memory than it has mapped: it goes on."""

    def no(_kind: int, _limits: tuple[int, int]) -> None:
        raise ValueError("current limit exceeds maximum limit")

    system = types.SimpleNamespace(
        RLIMIT_AS=1,
        RLIMIT_FSIZE=2,
        RLIMIT_CORE=3,
        RLIM_INFINITY=-1,
        getrlimit=lambda _: (-1, -1),
        setrlimit=no,
    )
    monkeypatch.setattr(bounds, "resource", system)
    with pytest.raises(ValueError, match="limit"):  # here it is a fault: no work goes on unbounded
        bounds.hold_to(Bounds(1, 1))
    monkeypatch.setattr(bounds, "LINUX", False)
    bounds.hold_to(Bounds(1, 1))


def test_no_network_where_nothing_bounds_the_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "LINUX", False)
    with pytest.raises(InputError, match="does not bound the memory") as told:
        serve(Wanted(0, True, None), lambda _started: None)
    assert told.value.problems[0].key == "--lan"


def test_ctrl_c_where_signals_cannot_be_held_back(monkeypatch: pytest.MonkeyPatch) -> None:
    held: list[int] = []
    monkeypatch.setattr(child.signal, "pthread_sigmask", lambda how, _which: held.append(how))
    with child._deaf_to_ctrl_c():
        assert len(held) == 1
    assert len(held) == 2
    monkeypatch.delattr(child.signal, "pthread_sigmask")
    with child._deaf_to_ctrl_c():
        assert len(held) == 2


def test_a_workbench_says_that_nothing_is_bounded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from overarm.app import serve as served
    from overarm.app.guard.token import Keys
    from overarm.app.guard.wall import Address

    app = importlib.import_module("overarm.cli.app")  # the package has a command of this name
    here = served.Started(Address("http", ("127.0.0.1",), 1), Keys(1, secure=False), None)
    monkeypatch.setattr(served, "serve", lambda _wanted, tell: tell(here))
    monkeypatch.setattr(bounds, "LINUX", False)
    app.app(no_browser=True)
    assert "open only those that you trust" in capsys.readouterr().out
    monkeypatch.undo()
    monkeypatch.setattr(served, "serve", lambda _wanted, tell: tell(here))
    app.app(no_browser=True)
    assert ("trust" in capsys.readouterr().out) == (sys.platform != "linux")

"""One process that does the work, as the server sees it."""

from __future__ import annotations

import contextlib
import json
import logging
import multiprocessing
import signal
import threading
import time
from collections.abc import Callable, Iterator
from multiprocessing import resource_tracker
from pathlib import Path
from typing import Any, NamedTuple

from overarm.app.child.main import run
from overarm.app.child.words import ANSWER, CANCELLED, FAULT, NO_MEMORY, PROGRESS, REFUSED, no_memory
from overarm.app.limits import Bounds
from overarm.errors import Cancelled, InputError, Problem

LOG = logging.getLogger("overarm.app")
ASK_EVERY_S = 0.05
PATIENCE_S = 3.0  # after it was asked to leave its work, before it is ended
GOING_S = 0.5  # after it was asked to go, before it is killed
MOST_TASKS = 200  # of one process; then a fresh one takes over
MOST_WORD = 512 * 2**20
CANCEL, GO = b'{"cancel": true}', b'{"go": true}'
# How a process ends that gets no more memory: not every system has every signal.
STARVED = [
    -getattr(signal, name) for name in ("SIGKILL", "SIGABRT", "SIGSEGV", "SIGBUS") if hasattr(signal, name)
]


class Task(NamedTuple):
    """Something to do: its name, options (JSON), folder, and how long it may take."""

    name: str
    options: dict[str, Any]
    folder: Path
    seconds: float  # by the clock
    cpu_s: float


class Said(NamedTuple):
    """An answer: JSON as bytes, and whether it says stop."""

    data: bytes
    stop: bool


class Fault(Exception):
    """The work failed for a reason that is not the input's; it has been written to the log."""


class Child:
    """A process, started when it is first asked and again after it was ended."""

    def __init__(self, bounds: Bounds, most_word: int = MOST_WORD) -> None:
        self._bounds, self._most_word, self._tasks = bounds, most_word, 0
        self._process: Any = None
        self._line: Any = None
        self._gate, self._stopped = threading.Lock(), False

    def ask(
        self,
        task: Task,
        tell: Callable[[str, float], None] | None = None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> Said:
        """Return the answer of a task.

        Raises InputError with the problems of the input (too long and too large among them), Cancelled if
        it is not wanted any more or the server ends, Fault for anything else.
        """
        if self._process is None or not self._process.is_alive() or self._tasks >= MOST_TASKS:
            self.end()
            self._start()
        self._tasks += 1
        said = {"task": task.name, "options": task.options, "folder": str(task.folder), "cpu_s": task.cpu_s}
        try:
            self._say(json.dumps(said).encode("utf-8"))
            return self._answer(task, tell, cancelled)
        except (EOFError, OSError):
            raise self._ended(task) from None

    def end(self) -> None:
        """End the process, if there is one: one that does not go at once is killed."""
        with self._gate:
            if self._process is not None:
                self._send_away()
                self._process.join()
                self._line.close()
                if not self._stopped:  # at the end of the server multiprocessing still looks at it
                    self._process.close()
            self._process = self._line = None

    def stop(self) -> None:
        """End the process for good, from another thread than the one that asks; that one hears Cancelled."""
        with self._gate:
            self._stopped = True
            if self._process is not None:
                self._send_away()

    def _send_away(self) -> None:
        """Ask the process to go, which it does at once if it can listen; then kill it."""
        with contextlib.suppress(OSError):
            self._line.send_bytes(GO)
            self._process.join(GOING_S)
        self._process.kill()

    def _say(self, word: bytes) -> None:
        """Send a word whole, whatever another thread sends. Raises OSError if the process is gone."""
        with self._gate:
            self._line.send_bytes(word)

    def _start(self) -> None:
        """Start a process that Ctrl-C does not reach; the server ends it. Raises Cancelled after `stop`."""
        with self._gate:
            if self._stopped:
                raise Cancelled
            context = multiprocessing.get_context("spawn")
            self._line, other = context.Pipe()
            self._process = context.Process(target=run, args=(other, self._bounds), daemon=True)
            resource_tracker.ensure_running()  # to start it would let Ctrl-C through again
            with _deaf_to_ctrl_c():
                self._process.start()
            other.close()
            self._tasks = 0

    def _answer(
        self, task: Task, tell: Callable[[str, float], None] | None, cancelled: Callable[[], bool]
    ) -> Said:
        end = time.monotonic() + task.seconds
        asked = False
        while True:
            if self._line.poll(ASK_EVERY_S):
                word = self._line.recv_bytes(self._most_word)
                if word == NO_MEMORY:
                    self.end()  # what it could not get it will not get for the next task either
                    raise InputError([no_memory()])
                if word[:1] != PROGRESS:
                    return _meant(word)
                if tell is not None:
                    tell(*json.loads(word[1:]))
            now = time.monotonic()
            if cancelled() and not asked:
                asked, end = True, min(end, now + PATIENCE_S)
                self._say(CANCEL)
            if now > end:
                self.end()
                if asked:
                    raise Cancelled
                cure = "Give a smaller one, or use the command"
                raise InputError([Problem(f"takes longer than {task.seconds:.0f} s", cure)])

    def _ended(self, task: Task) -> Exception:
        """Return why a process that ended by itself did."""
        if self._stopped:
            return Cancelled()
        self._process.join(PATIENCE_S)
        code = self._process.exitcode
        self.end()
        if hasattr(signal, "SIGXCPU") and code == -signal.SIGXCPU:
            cure = "Give a smaller one, or use the command"
            return InputError([Problem(f"takes more than {task.cpu_s:.0f} s of processor time", cure)])
        if code in STARVED:
            return InputError([no_memory()])
        LOG.error("%s: the process ended with %s", task.name, code)
        return Fault(task.name)


@contextlib.contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Keep Ctrl-C from what is started meanwhile; a system that cannot leaves that to its first lines."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _meant(word: bytes) -> Said:
    """Return an answer, or raise what was said instead of one."""
    kind, rest = word[:1], word[1:]
    if kind == ANSWER:
        return Said(rest[1:], rest[:1] == b"1")
    if kind == CANCELLED:
        raise Cancelled
    if kind == REFUSED:
        raise InputError([Problem(**item) for item in json.loads(rest)])
    assert kind == FAULT, kind
    LOG.error("%s", rest.decode("utf-8", "replace"))
    raise Fault

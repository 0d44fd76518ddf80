"""The inside of a process that does the work: one task after the other, each in a folder of its own."""

from __future__ import annotations

import json
import os
import queue
import signal
import threading
import time
import traceback
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from overarm.app.child.bounds import hold_to, more_processor_time
from overarm.app.child.words import ANSWER, CANCELLED, FAULT, NO_MEMORY, PROGRESS, REFUSED, told
from overarm.app.limits import Bounds
from overarm.errors import Cancelled, InputError

TELL_EVERY_S = 0.1


class Heard:
    """What the server says: tasks to do, and that the one that is being done is not wanted any more."""

    def __init__(self, line: Connection) -> None:
        self.line = line
        self.tasks: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
        self.cancelled = threading.Event()

    def listen(self) -> None:
        """Listen until the server is gone or says go; then end this process, whatever it does."""
        while True:
            try:
                said = json.loads(self.line.recv_bytes())
            except (EOFError, OSError):
                said = {"go": True}
            if "go" in said:
                os._exit(0)
            if "task" in said:
                self.tasks.put(said)
            else:
                self.cancelled.set()


class Desk:
    """What a task has: its folder, a way to tell how far it is, and whether it is still wanted."""

    def __init__(self, line: Connection, cancelled: threading.Event) -> None:
        self._line, self._cancelled, self._last = line, cancelled, 0.0
        self.out = Path("out")

    def cancelled(self) -> bool:
        """Return whether nobody wants the answer any more."""
        return self._cancelled.is_set()

    def tell(self, what: str, share: float) -> None:
        """Tell what is being done and which share of all is done. Raises Cancelled if it is not wanted."""
        if self.cancelled():
            raise Cancelled
        now = time.monotonic()
        if now - self._last >= TELL_EVERY_S:
            self._last = now
            self._line.send_bytes(PROGRESS + json.dumps([what, min(1.0, max(0.0, share))]).encode())

    def write(self, name: str, data: bytes) -> None:
        """Keep a file beside the answer, to be downloaded."""
        self.out.mkdir(exist_ok=True)
        (self.out / name).write_bytes(data)


def run(line: Connection, bounds: Bounds) -> None:
    """Do tasks until the server is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    hold_to(bounds)
    heard = Heard(line)
    threading.Thread(target=heard.listen, daemon=True).start()
    while True:
        said = heard.tasks.get()
        heard.cancelled.clear()
        line.send_bytes(_done(said, Desk(line, heard.cancelled)))


def _done(said: dict[str, Any], desk: Desk) -> bytes:
    """Return the last word on a task."""
    from overarm.app.rooms.tasks import task_of

    folder = str(said["folder"])
    try:
        more_processor_time(float(said["cpu_s"]))
        os.chdir(folder)
        answer = task_of(str(said["task"]))(desk, said["options"])
        text = json.dumps(answer.data, allow_nan=False).replace(f"{folder}/", "").replace(folder, "")
        return ANSWER + (b"1" if answer.stop else b"0") + text.encode("utf-8")
    except Cancelled:
        return CANCELLED
    except InputError as error:
        return REFUSED + json.dumps(told(error.problems, folder)).encode("utf-8")
    except MemoryError:
        return NO_MEMORY
    except Exception:  # a fault of ours: the server says so and prints it, the process goes on
        return FAULT + traceback.format_exc().encode("utf-8", "replace")

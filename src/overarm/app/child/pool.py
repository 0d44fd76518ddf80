"""A few processes that take short questions in turn."""

from __future__ import annotations

import contextlib
import queue
import threading

from overarm.app.child.child import Child, Fault, Said, Task
from overarm.app.limits import Bounds
from overarm.app.problems import Refused
from overarm.errors import Cancelled, InputError

BUSY = 503


class Pool:
    """Processes of one kind; a question waits for one of them to be free."""

    def __init__(self, size: int, bounds: Bounds, most_waiting: int) -> None:
        self._free: queue.LifoQueue[Child] = queue.LifoQueue()
        self._all = [Child(bounds) for _ in range(size)]
        self._places = threading.BoundedSemaphore(size + most_waiting)
        for child in self._all:
            self._free.put(child)

    def ask(self, task: Task) -> Said:
        """Return the answer; raises as `Child.ask`, and Refused if too many wait."""
        if not self._places.acquire(blocking=False):
            raise Refused(BUSY, "too many questions wait", "Ask again in a moment")
        try:
            child = self._free.get()
            try:
                return child.ask(task)
            finally:
                self._free.put(child)
        finally:
            self._places.release()

    def warm(self, task: Task) -> None:
        """Let one process do a task before anybody asks, so that the first question need not wait."""
        with contextlib.suppress(Refused, InputError, Cancelled, Fault):
            self.ask(task)

    def end(self) -> None:
        """End every process."""
        for child in self._all:
            child.stop()

"""All that a running workbench has: folders, uploads, drafts, jobs, and the processes for quick questions."""

from __future__ import annotations

import asyncio
import dataclasses
import threading
from typing import Annotated

from fastapi import Depends, Request
from starlette.responses import Response

from overarm.app.child.child import Fault, Task
from overarm.app.child.pool import Pool
from overarm.app.folders import Folders
from overarm.app.jobs.queue import OURS, Jobs
from overarm.app.limits import Limits
from overarm.app.problems import Refused
from overarm.app.store.drafts import Drafts
from overarm.app.store.orders import Order, laid_out
from overarm.app.store.uploads import Uploads
from overarm.errors import Cancelled, InputError

UNUSABLE, OUR_FAULT = 422, 500
READERS = 2


class Workbench:
    """A running workbench. ``book`` is the place of its logbook, None for the usual one."""

    def __init__(self, folders: Folders, limits: Limits, book: str | None) -> None:
        self.folders, self.limits, self.book = folders, limits, book
        self.uploads = Uploads(folders.uploads, limits)
        self.drafts = Drafts(folders.drafts, limits)
        self.jobs = Jobs(folders, self.uploads, limits)
        self.streams = asyncio.BoundedSemaphore(limits.streams)
        self._readers = Pool(READERS, limits.reading, limits.quick_waiting)
        self._flier = Pool(1, limits.reading, limits.quick_waiting)

    def ask(self, order: Order) -> Response:
        """Answer a quick question at once. Raises Refused with what is wrong with it."""
        return self._asked(order, self._readers, self.limits.quick_s)

    def fly(self, order: Order) -> Response:
        """Answer a question of the fan, in the process that remembers what it flew."""
        return self._asked(order, self._flier, self.limits.fan_s)

    def ask_book(self, task: str, options: dict[str, object], order: Order | None = None) -> Response:
        """Answer a question about the logbook."""
        plain = order or Order(task, {})
        return self.ask(dataclasses.replace(plain, task=task, options={**options, "book": self.book}))

    def warm(self) -> None:
        """Start the processes for quick questions in the background."""
        for pool, task in ((self._readers, "describe.cards"), (self._flier, "fan.ready")):
            threading.Thread(target=self._warm, args=(pool, task), daemon=True).start()

    def _warm(self, pool: Pool, task: str) -> None:
        with laid_out(Order(task, {}), self.uploads, self.folders.scratch) as laid:
            pool.warm(Task(task, laid.options, laid.folder, self.limits.fan_s, self.limits.fan_s))

    def close(self) -> None:
        """End every process."""
        self.jobs.close()
        self._readers.end()
        self._flier.end()

    def _asked(self, order: Order, pool: Pool, seconds: float) -> Response:
        with laid_out(order, self.uploads, self.folders.scratch) as laid:
            task = Task(order.task, laid.options, laid.folder, seconds, 2.0 * seconds)
            try:
                said = pool.ask(task)
            except InputError as error:
                raise Refused(UNUSABLE, error.problems) from error
            except (Fault, Cancelled) as error:
                raise Refused(OUR_FAULT, [OURS]) from error
        return Response(said.data, media_type="application/json")


def workbench_of(request: Request) -> Workbench:
    """Return the workbench that a request came to."""
    found: Workbench = request.app.state.workbench
    return found


Here = Annotated[Workbench, Depends(workbench_of)]

"""The queue of jobs and the workers that take from it."""

from __future__ import annotations

import queue
import secrets
import shutil
import threading
from dataclasses import asdict
from pathlib import Path
from typing import Any

from overarm.app.child.child import Child, Fault, Task
from overarm.app.folders import Folders
from overarm.app.jobs.keep import Kept
from overarm.app.jobs.names import name_of
from overarm.app.jobs.record import Job, JobProblem, JobUpload, next_event, now_utc
from overarm.app.limits import Limits
from overarm.app.problems import Refused
from overarm.app.store.orders import Order, key_of, laid_out, setup_of
from overarm.app.store.uploads import Upload, Uploads
from overarm.errors import Cancelled, InputError, Problem

NOT_FOUND, CONFLICT, BUSY, NO_ROOM = 404, 409, 503, 507
FULL = Problem("cannot be kept", "Make room on the disk, and start it again")
OURS = Problem(
    "failed for a reason that is not your input", "The terminal of the workbench shows it; report it"
)


def _needed(upload: Upload, job: Job) -> Problem:
    what = f'"{job.words}"' + (f" of {job.setup_name}" if job.setup_name else "")
    message = f"is needed by a job that is {job.state}: {what}"
    cure = "End that job in the room of jobs, or wait until it is done; then remove the file"
    return Problem(message, cure, upload.name)


class Jobs:
    """The jobs of a workbench. Every method may be called from any thread."""

    def __init__(self, folders: Folders, uploads: Uploads, limits: Limits) -> None:
        self._folders, self._uploads, self._limits = folders, uploads, limits
        self._kept = Kept(folders.jobs)
        self._jobs = self._kept.read()
        self._last = max((job.event for job in self._jobs.values()), default=0)
        self._orders: dict[str, Order] = {}
        self._unwanted: set[str] = set()
        self._lock = threading.RLock()
        self._queue: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._children = [Child(limits.working, limits.answer_bytes) for _ in range(limits.jobs_running)]
        self._closing = False
        for child in self._children:
            threading.Thread(target=self._work, args=(child,), daemon=True).start()

    def start(
        self, order: Order, asked: dict[str, Any] | None = None, *, once: bool = False
    ) -> tuple[Job, bool]:
        """Return the job of an order and whether it is new; the same order has the same job.

        Parameters: the order; ``asked``, what the browser sent, kept to be shown again; ``once`` for what is
        done anew each time it is asked for. Raises Refused if too many wait or an upload is missing.
        """
        id_ = secrets.token_hex(16) if once else key_of(order, self._uploads)
        with self._lock:
            old = self._jobs.get(id_)
            if old is not None and id_ not in self._unwanted and (old.state == "done" or not old.ended):
                return old, False
            if len(self._orders) >= self._limits.jobs_waiting + self._limits.jobs_running:
                raise Refused(BUSY, "too many jobs wait", "Wait for some, or cancel them")
            if id_ in self._unwanted:
                raise Refused(BUSY, "the same work is just being cancelled", "Ask again in a moment")
            needs = order.needs(self._uploads)  # from here on none of them can be removed
            if shutil.disk_usage(self._folders.jobs).free < self._limits.spare_disk_bytes:
                raise Refused(NO_ROOM, "the disk is nearly full", "Make room on the disk")
            job = self._made(id_, order, needs)
            try:
                self._kept.begin(job, asked or {})
            except OSError as error:
                raise Refused(NO_ROOM, f"cannot be kept: {error.strerror}", FULL.cure) from error
            self._jobs[id_], self._orders[id_] = job, order
            self._queue.put(id_)
            self._forget_oldest()
            return job, True

    def _made(self, id_: str, order: Order, needs: dict[str, Upload]) -> Job:
        name, key = setup_of(order, self._uploads)
        options, now, event = order.options, now_utc(), self._event()
        return Job(
            id=id_, task=order.task, words=name_of(order.task), setup_name=name, setup_key=key,
            uploads=[JobUpload(id=one.id, name=one.name) for one in needs.values()],
            seed=options.get("seed"), launches=options.get("launches"), state="waiting", made_utc=now,
            event=event,
        )  # fmt: skip

    def remove_upload(self, id_: str) -> None:
        """Remove an upload. Raises Refused if there is none, or a job that waits or runs needs it.

        Under the lock under which `start` takes its order: a job that is told to a browser has its files.
        """
        with self._lock:
            upload = self._uploads.find(id_)
            for job in (self._jobs[one] for one in self._orders):
                if id_ in (one.id for one in job.uploads):
                    raise Refused(CONFLICT, [_needed(upload, job)])
            self._uploads.remove(id_)

    def every(self) -> list[Job]:
        """Return all, the newest first."""
        with self._lock:
            return sorted(self._jobs.values(), key=lambda job: job.made_utc, reverse=True)

    def find(self, id_: str) -> Job:
        """Return one by its id. Raises Refused if there is none."""
        found = self._jobs.get(id_)
        if found is None:
            raise Refused(NOT_FOUND, "there is no such job", "Start it again")
        return found

    def asked(self, id_: str) -> Path:
        """Return the file of what was asked. Raises Refused if there is no such job, or it is not known."""
        found = self._kept.asked(self.find(id_).id)
        if not found.exists():
            raise Refused(
                NOT_FOUND, "what was asked is not known: the job is of an older version", "Ask again"
            )
        return found

    def result(self, id_: str) -> Path:
        """Return the file of an answer. Raises Refused if there is none, or not yet."""
        job = self.find(id_)
        if job.state != "done":
            raise Refused(CONFLICT, f"there is no answer: the job is {job.state}", "Wait until it is done")
        return self._kept.result(job.id)

    def file(self, id_: str, name: str) -> Path:
        """Return a file beside an answer. Raises Refused if there is none of that name."""
        job = self.find(id_)
        for item in job.files:
            if item.name == name:
                return self._kept.file(job.id, item.name)
        raise Refused(NOT_FOUND, "the job has no such file", "Take a name from its list of files")

    def cancel(self, id_: str) -> Job:
        """Ask a job to end; one that has ended stays as it is. Raises Refused if there is none."""
        with self._lock:
            job = self.find(id_)
            if job.state == "waiting":
                self._orders.pop(id_, None)
                return self._change(id_, state="cancelled", ended_utc=now_utc())
            if job.state == "running":
                self._unwanted.add(id_)
            return job

    def remove(self, id_: str) -> None:
        """Remove a job with its answer. Raises Refused if there is none, or it has not ended."""
        with self._lock:
            job = self.find(id_)
            if not job.ended:
                raise Refused(CONFLICT, f"the job is {job.state}", "Cancel it first")
            self._jobs.pop(id_, None)
            self._kept.remove(id_)

    def close(self) -> None:
        """End all work; what runs is marked by the next start."""
        self._closing = True
        for child in self._children:
            self._queue.put(None)
            child.stop()

    def _forget_oldest(self) -> None:
        ended = sorted((job for job in self._jobs.values() if job.ended), key=lambda job: job.event)
        for job in ended[: max(0, len(self._jobs) - self._limits.jobs_kept)]:
            self.remove(job.id)

    def _event(self) -> int:
        """Return a number above that of every change before, whatever the clock says."""
        self._last = next_event(self._last)
        return self._last

    def _change(self, id_: str, **changes: Any) -> Job:
        """Change a record, keep it, and return it; done work whose record cannot be kept has failed."""
        with self._lock:
            job = self._jobs[id_].model_copy(update={**changes, "event": self._event()})
            try:
                self._kept.write(job)
            except OSError:
                if job.state == "done":
                    self._kept.drop_answer(id_)
                    failed = {"state": "failed", "files": [], "problems": [JobProblem(**asdict(FULL))]}
                    job = job.model_copy(update=failed)
            self._jobs[id_] = job
            return job

    def _heard(self, id_: str, what: str, share: float) -> None:
        """Take how far a job is; that is not worth the disk."""
        with self._lock:
            job = self._jobs[id_]
            changes = {"what": what, "share": share, "event": self._event()}
            self._jobs[id_] = job.model_copy(update=changes)

    def _work(self, child: Child) -> None:
        """Take jobs from the queue until the server ends."""
        while (id_ := self._queue.get()) is not None:
            with self._lock:
                order = self._orders.get(id_)
                if order is None or self._jobs[id_].state != "waiting":
                    continue
                self._change(id_, state="running")
            ended = self._done(child, id_, order)
            if self._closing:
                return
            with self._lock:
                self._orders.pop(id_, None)
                self._unwanted.discard(id_)
                self._change(id_, ended_utc=now_utc(), **ended)

    def _done(self, child: Child, id_: str, order: Order) -> dict[str, Any]:
        """Do a job and return how it ended."""
        limits = self._limits
        try:
            with laid_out(order, self._uploads, self._folders.scratch) as laid:
                said = child.ask(
                    Task(order.task, laid.options, laid.folder, limits.job_s, limits.job_cpu_s),
                    tell=lambda what, share: self._heard(id_, what, share),
                    cancelled=lambda: id_ in self._unwanted,
                )
                files = self._kept.put_answer(id_, said.data, laid.folder / "out")
        except Cancelled:
            return {"state": "cancelled"}
        except (InputError, Refused) as error:
            return {"state": "failed", "problems": [JobProblem(**asdict(item)) for item in error.problems]}
        except OSError:
            return {"state": "failed", "problems": [JobProblem(**asdict(FULL))]}
        except Fault:
            return {"state": "failed", "problems": [JobProblem(**asdict(OURS))]}
        return {"state": "done", "share": 1.0, "what": "", "stop": said.stop, "files": files}

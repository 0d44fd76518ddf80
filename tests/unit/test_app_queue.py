"""The queue of jobs without a server: when it turns one away, what it keeps, what a full disk does to it."""

from __future__ import annotations

import errno
import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from overarm.app.child.child import Fault, Said, Task
from overarm.app.folders import Folders, folders_in
from overarm.app.jobs import keep, queue
from overarm.app.jobs.queue import Jobs
from overarm.app.jobs.record import Job
from overarm.app.limits import LIMITS, Limits
from overarm.app.problems import Refused
from overarm.app.store.orders import Order
from overarm.app.store.uploads import Uploads
from overarm.errors import Cancelled, InputError, Problem

WAITING = LIMITS._replace(jobs_running=0, jobs_waiting=2)  # nobody takes them: they wait
ONE = LIMITS._replace(jobs_running=1)


class Toy:
    """Stands for the process that does the work: does what the options say, and can be held."""

    go = threading.Event()

    def __init__(self, *_bounds: Any) -> None:
        self.stopped = threading.Event()

    def ask(self, task: Task, tell: Callable[[str, float], None], cancelled: Callable[[], bool]) -> Said:
        tell("flying", 0.5)
        does = task.options["does"]
        while does == "waits" and not (self.go.is_set() or cancelled() or self.stopped.is_set()):
            time.sleep(0.005)
        if cancelled() or self.stopped.is_set():
            raise Cancelled
        if does == "is refused":
            raise InputError([Problem("is too heavy", "Give a lighter one", key="airframe.mass")])
        if does == "breaks":
            raise Fault
        (task.folder / "out").mkdir()
        (task.folder / "out" / "sheet.pdf").write_bytes(b"%PDF")
        return Said(b'{"good": true}', stop=does == "says stop")

    def stop(self) -> None:
        self.stopped.set()


class Made(NamedTuple):
    """Makes a queue; every one is over the same folders, as after a new start."""

    folders: Folders
    of: Callable[[Limits], Jobs]


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Made]:
    monkeypatch.setattr(queue, "Child", Toy)
    Toy.go.clear()
    folders, every = folders_in(tmp_path), []

    def of(limits: Limits) -> Jobs:
        every.append(Jobs(folders, Uploads(folders.uploads, limits), limits))
        return every[-1]

    yield Made(folders, of)
    for jobs in every:
        jobs.close()


def begun(jobs: Jobs, does: str = "waits", **more: Any) -> Job:
    return jobs.start(Order("odds.odds", {"does": does, "seed": 1, **more}))[0]


def ended(jobs: Jobs, job: Job) -> Job:
    until = time.monotonic() + 30.0
    while not jobs.find(job.id).ended:
        assert time.monotonic() < until
        time.sleep(0.005)
    return jobs.find(job.id)


def refused(do: Callable[[], Any]) -> tuple[int, str]:
    with pytest.raises(Refused) as told:
        do()
    assert told.value.problems[0].cure
    return told.value.status_code, told.value.problems[0].message


def test_too_many_wait(made: Made) -> None:
    jobs = made.of(WAITING)
    first, _ = begun(jobs), begun(jobs, seed=2)
    assert refused(lambda: begun(jobs, seed=3)) == (503, "too many jobs wait")
    assert jobs.start(Order("odds.odds", {"does": "waits", "seed": 1})) == (first, False)  # no further job
    assert refused(lambda: jobs.remove(first.id)) == (409, "the job is waiting")
    assert refused(lambda: jobs.result(first.id)) == (409, "there is no answer: the job is waiting")
    assert jobs.cancel(first.id).state == "cancelled"
    assert begun(jobs, seed=3).state == "waiting"  # its place is free


def test_a_full_disk_turns_work_away(made: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    jobs = made.of(WAITING)

    def full(*_given: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(keep, "write_whole", full)
        assert refused(lambda: begun(jobs)) == (507, "cannot be kept: No space left on device")
    usage = shutil.disk_usage(made.folders.jobs)._replace(free=1)
    monkeypatch.setattr(queue.shutil, "disk_usage", lambda _place: usage)
    assert refused(lambda: begun(jobs)) == (507, "the disk is nearly full")
    assert jobs.every() == []


@pytest.mark.parametrize(
    ("does", "state", "said"),
    [
        ("answers", "done", ""),
        ("says stop", "done", ""),
        ("is refused", "failed", "is too heavy"),
        ("breaks", "failed", "failed for a reason that is not your input"),
    ],
)
def test_how_work_ends(made: Made, does: str, state: str, said: str) -> None:
    jobs = made.of(ONE)
    job = ended(jobs, begun(jobs, does))
    assert (job.state, job.stop) == (state, does == "says stop")
    assert [problem.message for problem in job.problems] == ([said] if said else [])
    if state == "done":
        assert jobs.result(job.id).read_bytes() == b'{"good": true}'
        assert jobs.file(job.id, "sheet.pdf").read_bytes() == b"%PDF"
        assert refused(lambda: jobs.file(job.id, "job.json"))[0] == 404  # the record is no file of the answer
    assert refused(lambda: jobs.asked("0" * 32)) == (404, "there is no such job")
    jobs.asked(job.id).unlink()
    assert refused(lambda: jobs.asked(job.id))[1].startswith("what was asked is not known")


def test_the_same_work_while_it_is_being_cancelled(made: Made) -> None:
    jobs = made.of(ONE)
    job = begun(jobs)
    while jobs.find(job.id).share < 0.5:
        time.sleep(0.005)
    jobs._unwanted.add(job.id)
    assert refused(lambda: begun(jobs)) == (503, "the same work is just being cancelled")
    assert ended(jobs, job).state == "cancelled"
    Toy.go.set()
    assert ended(jobs, begun(jobs)).state == "done"  # it is done anew


@pytest.mark.parametrize("step", ["job.json", "answer.json"])
def test_done_work_that_cannot_be_kept_has_failed(
    made: Made, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody is told *done* whose answer is not on the disk."""
    jobs, plain = made.of(ONE), keep.write_whole
    job = begun(jobs)

    def full(path: Path, data: bytes) -> None:
        if path.name == step and (step == "answer.json" or b'"done"' in data):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        plain(path, data)

    monkeypatch.setattr(keep, "write_whole", full)
    Toy.go.set()
    job = ended(jobs, job)
    assert (job.state, job.files, job.problems[0].message) == ("failed", [], "cannot be kept")
    assert not (made.folders.jobs / job.id / "answer.json").exists()
    assert not (made.folders.jobs / job.id / "files").exists()


def test_the_oldest_go_when_there_are_too_many(made: Made) -> None:
    jobs = made.of(ONE._replace(jobs_kept=2))
    ids = [ended(jobs, begun(jobs, "answers", seed=k)).id for k in range(4)]
    assert {job.id for job in jobs.every()} == set(ids[2:])  # the new one comes before the oldest goes
    assert {place.name for place in made.folders.jobs.iterdir()} == set(ids[2:])


def test_a_new_start_marks_what_ran_and_drops_what_is_torn(made: Made) -> None:
    jobs = made.of(ONE)
    done = ended(jobs, begun(jobs, "answers"))
    runs = begun(jobs)
    while jobs.find(runs.id).state == "waiting":
        time.sleep(0.005)
    jobs.close()
    (made.folders.jobs / "torn").mkdir()
    (made.folders.jobs / "torn" / "job.json").write_text('{"id": "to', "utf-8")
    again = made.of(WAITING)
    assert {job.id: job.state for job in again.every()} == {done.id: "done", runs.id: "ended with the server"}
    assert not (made.folders.jobs / "torn").exists()
    assert again.find(runs.id).event > done.event

"""The clock of the computer is set back a year, ahead, to summer time: nothing that counts goes by it."""

from __future__ import annotations

import ast
import datetime as dt
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from overarm.app.folders import folders_in
from overarm.app.jobs import record
from overarm.app.jobs.queue import Jobs
from overarm.app.lan import certificate
from overarm.app.limits import LIMITS
from overarm.app.problems import Refused
from overarm.app.store.drafts import Drafts
from overarm.app.store.orders import Order
from overarm.app.store.uploads import Uploads
from overarm.logbook import batch, ids
from overarm.logbook.look import Wanted
from tests.examples import setup_of
from tests.failing import Full, files_counted
from tests.logbooks import original_of, recording_of, review_of, sqlite_book

YEAR_S = 365 * 86_400
# Who may ask what time it is: for a name, a stamp or a date that a person reads; never for a duration.
WALL_CLOCK = {
    "app/api/learn.py", "app/jobs/record.py", "app/lan/certificate.py", "cli/learn.py", "cli/sheet.py",
    "jit.py", "logbook/ids.py",
}  # fmt: skip
ASKS = {"time.time", "time.time_ns", "datetime.now", "dt.datetime.now", "datetime.today", "date.today"}


@pytest.fixture
def jobs(tmp_path: Path) -> Iterator[Jobs]:
    """Return a queue of two kept jobs that nobody works on."""
    limits = LIMITS._replace(jobs_running=0, jobs_kept=2)
    folders = folders_in(tmp_path)
    queue = Jobs(folders, Uploads(folders.uploads, limits), limits)
    yield queue
    queue.close()


@pytest.fixture
def set_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """Return how the clock of the computer is set, by so many seconds from what it says."""

    def put(by_s: float) -> None:
        clock = dt.datetime
        when = (clock.now(dt.UTC) + dt.timedelta(seconds=by_s)).isoformat(timespec="milliseconds")
        told = when.replace("+00:00", "Z")
        for module in (record, batch):
            monkeypatch.setattr(f"{module.__name__}.now_utc", lambda: told)
        monkeypatch.setattr("overarm.app.jobs.queue.now_utc", lambda: told)
        now_ns = time.time_ns
        monkeypatch.setattr(record.time, "time_ns", lambda: now_ns() + int(by_s * 1e9))

    return put


def ended(jobs: Jobs, number: int) -> str:
    job, fresh = jobs.start(Order("describe.cards", {"number": number}))
    assert fresh
    return jobs.cancel(job.id).id


@pytest.mark.parametrize("by_s", [-YEAR_S, YEAR_S, -3600.0, 3600.0])
def test_the_oldest_job_is_forgotten_whatever_the_clock_says(
    jobs: Jobs, set_clock: Callable[[float], None], by_s: float
) -> None:
    first, second = ended(jobs, 1), ended(jobs, 2)
    set_clock(by_s)
    third = ended(jobs, 3)
    assert {job.id for job in jobs.every()} == {second, third}
    assert first not in {job.id for job in jobs.every()}


def test_every_change_has_a_higher_number_than_the_one_before(
    jobs: Jobs, set_clock: Callable[[float], None]
) -> None:
    """A browser that has seen a change asks for what came after it."""
    events = []
    for number, by_s in enumerate((0.0, -YEAR_S, YEAR_S, -2 * YEAR_S)):
        set_clock(by_s)
        job, _ = jobs.start(Order("describe.cards", {"number": number}))
        events += [job.event, jobs.cancel(job.id).event]
    assert events == sorted(set(events))


def test_a_job_that_cannot_be_kept_is_not_begun_and_done_work_that_cannot_be_kept_has_failed(
    jobs: Jobs,
) -> None:
    order = Order("describe.cards", {})
    with files_counted(Full(1)), pytest.raises(Refused, match="No space left"):
        jobs.start(order)
    assert jobs.every() == []
    job, _ = jobs.start(order)
    with files_counted(Full(1)):
        assert jobs._change(job.id, state="running").state == "running"
        failed = jobs._change(job.id, state="done", share=1.0)
    assert failed.state == "failed"
    assert "room on the disk" in failed.problems[0].cure
    with pytest.raises(Refused, match="there is no answer"):
        jobs.result(job.id)


def test_the_last_review_counts_though_the_clock_was_set_back(
    tmp_path: Path, set_clock: Callable[[float], None]
) -> None:
    with sqlite_book(tmp_path) as book:
        recording = recording_of(1)
        book.add_recording(recording, original_of(1))
        said = ((0.0, "clean"), (-YEAR_S, "dipped"), (-2 * YEAR_S, "clean"), (YEAR_S, "dipped"))
        for number, (by_s, outcome) in enumerate(said):
            set_clock(by_s)
            told = {**review_of(1, outcome), "version": f"0.1.{number}"}
            book.add_review(told, recording.sha256, setup_of("b"))
            found = [row["outcome"] for row in book.search(Wanted()) if row["kind"] == "launch"]
            assert found == [outcome]
        assert [book.undo().number for _ in range(5)] == [5, 4, 3, 2, 1]


@pytest.mark.parametrize(
    ("utc", "after"),
    [
        ("2031-05-20T18:30:00.000Z", "2031-05-20T18:30:00.001Z"),
        ("2031-12-31T23:59:59.999Z", "2032-01-01T00:00:00.000Z"),
        ("9999-12-31T23:59:59.999Z", "9999-12-31T23:59:59.999Z"),
    ],
)
def test_just_after(utc: str, after: str) -> None:
    assert ids.just_after(utc) == after


def test_a_draft_is_saved_over_by_revision_not_by_time(tmp_path: Path) -> None:
    store = Drafts(tmp_path, LIMITS)
    draft = store.make("a", "one", {}, "2031-05-20T18:30:00.000Z")
    saved = store.save(draft._replace(text="two", saved_utc="2030-05-20T18:30:00.000Z"))
    assert (saved.revision, store.find(draft.id).text) == (2, "two")
    with pytest.raises(Refused, match="saved elsewhere"):
        store.save(draft._replace(text="three", saved_utc="2039-01-01T00:00:00.000Z"))
    assert Drafts(tmp_path, LIMITS).find(draft.id).text == "two"


def test_a_certificate_from_the_future_is_made_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "certificate.pem"
    certificate._write_private(file, certificate._made(["192.0.2.1"]))
    assert certificate._serves(file, ["192.0.2.1"])
    real = dt.datetime

    class Shifted(dt.datetime):
        by = dt.timedelta()

        @classmethod
        def now(cls, tz: dt.tzinfo | None = None) -> dt.datetime:  # type: ignore[override]
            return real.now(tz) + cls.by

    monkeypatch.setattr(certificate.dt, "datetime", Shifted)
    for by_s in (-YEAR_S, 30 * YEAR_S):
        Shifted.by = dt.timedelta(seconds=by_s)
        assert not certificate._serves(file, ["192.0.2.1"])


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Pacific/Kiritimati", "UTC"])
def test_stamps_do_not_know_zones_or_summer_time(zone: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        for told in (ids.now_utc(), record.now_utc()):
            apart = dt.datetime.now(dt.UTC) - dt.datetime.fromisoformat(told)
            assert abs(apart.total_seconds()) < 5.0
            assert told.endswith("Z")
    finally:
        monkeypatch.undo()
        time.tzset()


def test_nobody_else_asks_what_time_it_is(project: Path) -> None:
    """Durations are taken from clocks that nobody can set: `time.monotonic`, `time.perf_counter`."""
    root = project / "src" / "overarm"
    found = set()
    for file in root.rglob("*.py"):
        calls = (node for node in ast.walk(ast.parse(file.read_text("utf-8"))) if isinstance(node, ast.Call))
        if any(ast.unparse(call.func) in ASKS for call in calls):
            found.add(file.relative_to(root).as_posix())
    assert found <= WALL_CLOCK, found - WALL_CLOCK

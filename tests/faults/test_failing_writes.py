"""Every door that writes: whichever step fails, the old stays or all of the new is there, and it says so.

The calls of Python that change files are made to fail: the n-th alone (EIO), and all that need room from the
n-th on (ENOSPC), for every n until none is left. Before each step the folder is looked at too: that is what a
kill at this moment leaves.
"""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from overarm.app.jobs.keep import Kept
from overarm.app.jobs.record import Job
from overarm.app.lan.certificate import _write_private
from overarm.app.limits import LIMITS
from overarm.app.problems import Refused
from overarm.app.store.drafts import Drafts
from overarm.app.store.uploads import Uploads
from overarm.cli.new_file import put
from overarm.cli.picture_file import write_picture
from overarm.describe.derived import cache
from overarm.describe.rewrite import write_new
from overarm.errors import InputError
from overarm.files import write_new as write_new_file
from overarm.files import write_together, write_whole
from overarm.logbook.carry import export_book
from overarm.plan.exports.files import write_all
from overarm.sheets.field_pack import Pack, save_pack
from overarm.sheets.write import Sheet, save_sheet
from tests import logbooks
from tests.failing import Broken, Full, Watched, files_counted, files_in
from tests.plans import plan_of

Deed = Callable[[Path], object]
OLD = b"old " * 50
NEW = "new " * 60
OURS = ".overarm-"  # how files begin that are on their way
PLAN = plan_of()
JOB = Job(id="a" * 32, task="odds.odds", state="running", made_utc="2031-05-20T18:30:00.000Z", event=1)


class Door(NamedTuple):
    """What writes, which files are there before, and what it may raise."""

    deed: Deed
    before: tuple[str, ...] = ()
    told: tuple[type[Exception], ...] = (OSError,)
    together: bool = False  # several files: a kill may come between two of them
    silent: bool = False  # a cache: it never fails


def _draft(folder: Path) -> None:
    Drafts(folder, LIMITS).make("a", NEW, {}, "2031-05-20T18:30:00.000Z")


def _draft_again(folder: Path) -> None:
    store = Drafts(folder, LIMITS)
    (draft,) = store.every()
    store.save(draft._replace(text=NEW))


async def _body() -> AsyncIterator[bytes]:
    yield NEW.encode()
    yield NEW.encode()


def _upload(folder: Path) -> None:
    asyncio.run(Uploads(folder, LIMITS).take("log.csv", _body(), "2031-05-20T18:30:00.000Z"))


def _answer(folder: Path) -> None:
    out = folder / "out"
    out.mkdir(exist_ok=True)
    (out / "sheet.pdf").write_bytes(OLD)
    try:
        Kept(folder / "jobs").put_answer(JOB.id, NEW.encode(), out)
    finally:
        shutil.rmtree(out, ignore_errors=True)


def _export(folder: Path, *, force: bool) -> None:
    with logbooks.sqlite_book(folder) as book:
        export_book(book, folder / "out" / "book.zip", force=force)


DOORS: dict[str, Door] = {
    "one file over another": Door(lambda at: write_whole(at / "a.bin", NEW.encode()), ("a.bin",)),
    "one new file": Door(lambda at: write_new_file(at / "a.bin", NEW.encode())),
    "three files": Door(
        lambda at: write_together(dict.fromkeys((at / "1", at / "2", at / "3"), NEW.encode())),
        ("1", "3"),
        together=True,
    ),
    "sheet": Door(lambda at: save_sheet(Sheet(NEW.encode(), NEW), at / "new" / "sheets", "b"), together=True),
    "sheet over another": Door(
        lambda at: save_sheet(Sheet(NEW.encode(), NEW), at, "b"), ("b.pdf", "b.html"), together=True
    ),
    "plan files": Door(lambda at: write_all(PLAN, at / "plan"), told=(InputError,), together=True),
    "field pack": Door(lambda at: save_pack(Pack(NEW, None, ()), at / "p.html"), ("p.html",)),  # type: ignore[arg-type]
    "picture": Door(lambda at: write_picture(at / "p.svg", NEW.encode()), ("p.svg",), (InputError,)),
    "new setup": Door(lambda at: put(NEW, at / "a.yaml", over=False), told=(InputError,)),
    "new setup over another": Door(lambda at: put(NEW, at / "a.yaml", over=True), ("a.yaml",), (InputError,)),
    "settings --write": Door(
        lambda at: write_new(at / "b.yaml", at / "b-new.yaml", NEW), ("b.yaml",), (InputError,)
    ),
    "draft": Door(_draft, told=(Refused,)),
    "draft saved again": Door(_draft_again, told=(Refused,)),
    "upload": Door(_upload, told=(Refused,), together=True),
    "record of a job": Door(lambda at: Kept(at).write(JOB)),
    "answer of a job": Door(_answer, together=True),
    "certificate": Door(lambda at: _write_private(at / "c.pem", NEW.encode()), ("c.pem",)),
    "cache of figures": Door(lambda at: cache._write(at / "c.json", {"a": 1.0}), silent=True),
    "archive": Door(lambda at: _export(at, force=False), told=(InputError,)),
    "archive over another": Door(lambda at: _export(at, force=True), ("out/book.zip",), (InputError,)),
}
WITH_BOOK = {"archive", "archive over another"}
IDS_OF_CHANCE = {"draft", "upload"}  # the new file has another name each time


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a book with a flight in it."""
    folder = tmp_path_factory.mktemp("book")
    with logbooks.sqlite_book(folder) as made:
        logbooks.put(made)
    return folder


@pytest.fixture
def ready(tmp_path: Path, book: Path, request: pytest.FixtureRequest) -> Callable[[str], Path]:
    """Return how a folder is made as it is before a deed."""
    count = iter(range(1_000_000))

    def make(name: str) -> Path:
        folder = tmp_path / str(next(count))
        shutil.copytree(book, folder) if name in WITH_BOOK else folder.mkdir()
        (folder / "out").mkdir() if name in WITH_BOOK else None
        for file in DOORS[name].before:
            (folder / file).write_bytes(OLD)
        if name == "draft saved again":
            Drafts(folder, LIMITS).make("a", "old", {}, "2031-05-20T18:30:00.000Z")
        if name == "answer of a job":
            (folder / "jobs").mkdir()
            Kept(folder / "jobs").write(JOB)
        return folder

    return make


def contents(folder: Path, name: str) -> object:
    """Return what is in a folder; without names that are made up each time, and the database's own files."""
    found = {path: data for path, data in files_in(folder).items() if not path.endswith(("-wal", "-shm"))}
    if name in IDS_OF_CHANCE or name == "draft saved again":
        return sorted(len(data) for data in found.values())
    return found


@pytest.mark.parametrize("name", DOORS)
@pytest.mark.parametrize("disk", [Broken, Full])
def test_as_before_or_as_after(
    name: str,
    disk: type[Broken | Full],
    ready: Callable[[str], Path],
    record_property: Callable[[str, object], None],
) -> None:
    door = DOORS[name]
    before = contents(ready(name), name)
    done = ready(name)
    door.deed(done)
    after = contents(done, name)
    assert before != after
    states = []
    for number in range(1, 400):
        folder, steps = ready(name), disk(number)
        said: Exception | None = None
        with files_counted(steps):
            try:
                door.deed(folder)
            except Exception as error:
                said = error
        now = contents(folder, name)
        assert now in (before, after), f"step {number} left something else"
        assert not list(folder.rglob(f"{OURS}*")), f"step {number} left a part behind"
        states.append(now == after)
        if not steps.failed and steps.count < number:
            break
        hold_error(said, door, steps.failed, now == after)
        shutil.rmtree(folder)
    assert states[-1], "the last one was not failed"
    assert len(states) > 4
    record_property("steps", len(states) - 1)


def hold_error(said: Exception | None, door: Door, failed: bool, done: bool) -> None:
    """Hold what a failure said: a clear error with the reason if it was not done."""
    if said is None:
        assert done or door.silent, "it said nothing and did nothing"
        return
    assert failed
    assert not door.silent
    assert isinstance(said, door.told), repr(said)
    told = " ".join(map(str, said.problems)) if isinstance(said, Refused) else str(said)
    assert "No space left" in told or "Input/output error" in told


@pytest.mark.parametrize("name", DOORS)
def test_whatever_a_kill_leaves_is_whole(name: str, ready: Callable[[str], Path]) -> None:
    door = DOORS[name]
    folder = ready(name)
    before = files_in(folder)
    steps = Watched(folder)
    with files_counted(steps):
        door.deed(folder)
    after = files_in(folder)
    assert steps.seen
    for seen in steps.seen:
        whole = {path: data for path, data in seen.items() if not hidden(path)}
        for path, data in whole.items():
            assert data in (before.get(path), after.get(path)) or data == OLD, path
        if not door.together:
            there = {path: data for path, data in after.items() if not hidden(path)}
            assert whole in ({path: data for path, data in before.items() if not hidden(path)}, there)


def hidden(path: str) -> bool:
    """Return whether a file is on its way, or one of the database's own."""
    return path.rpartition("/")[2].startswith(".") or path.endswith(("-wal", "-shm"))

"""A SQLite file that is damaged, foreign, newer, full or shared ends in a clear error or does not matter."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from overarm.errors import InputError
from overarm.logbook.book import Book
from overarm.logbook.carry import export_book
from tests.logbooks import content_of, put, sqlite_book


def execute(file: Path, *lines: str) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        for line in lines:
            connection.execute(line)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return the file of a book with one flight."""
    with sqlite_book(tmp_path) as book:
        put(book)
    return tmp_path / "logbook.sqlite"


def refused(file: Path) -> str:
    """Open a book that must be refused; it must stay byte for byte what it was."""
    before = file.read_bytes()
    with pytest.raises(InputError) as caught:
        Book.open(file)
    assert file.read_bytes() == before
    assert str(file) in str(caught.value)
    return str(caught.value)


def test_a_foreign_file(tmp_path: Path) -> None:
    file = tmp_path / "mine.txt"
    file.write_text("a shopping list\n", "utf-8")
    assert "is no SQLite file" in refused(file)


def test_a_foreign_database(tmp_path: Path) -> None:
    file = tmp_path / "mine.sqlite"
    execute(file, "CREATE TABLE apples (kind TEXT)")
    assert "holds the tables of another program (got apples)" in refused(file)


def test_a_newer_book(file: Path) -> None:
    execute(file, "UPDATE overarm_logbook_version SET version_num = '0099'")
    said = refused(file)
    assert "was written by a newer Overarm (got form 0099)" in said
    assert "nothing was changed" in said


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_file_that_is_cut_off(share: float, file: Path) -> None:
    data = file.read_bytes()
    file.write_bytes(data[: int(share * len(data))])
    assert "damaged" in refused(file)


def test_a_file_with_a_page_of_noise(file: Path) -> None:
    data = bytearray(file.read_bytes())
    data[8192:12288] = b"\xa5" * 4096
    file.write_bytes(bytes(data))
    assert "damaged" in refused(file)


def test_an_empty_file_becomes_a_book(tmp_path: Path) -> None:
    """What a kill may leave before anything was written."""
    (tmp_path / "logbook.sqlite").touch()
    with sqlite_book(tmp_path) as book:
        put(book)


def test_a_database_that_can_grow_no_more(file: Path) -> None:
    """SQLite itself says that it is full: its limit of pages stands for that of the disk."""
    with Book.open(file) as book:
        before = content_of(book, batches=True)

        def add() -> None:
            with book.batch("add") as batch:
                pages = batch._connection.exec_driver_sql("PRAGMA page_count").scalar()
                batch._connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
                batch.note("x" * 90_000)

        with pytest.raises(InputError, match="there is no room left on the disk"):
            add()
        assert content_of(book, batches=True) == before
        assert book.tidy().sound


def test_a_folder_that_takes_nothing(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An archive that cannot be written is told with its name, and leaves nothing."""
    with Book.open(file) as book:
        with pytest.raises(InputError, match=r"none/book\.zip"):
            export_book(book, file.parent / "none" / "book.zip")
        before = sorted(file.parent.iterdir())

        def full(_handle: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("os.fsync", full)
        with pytest.raises(InputError, match=r"book.zip: cannot be written: No space left"):
            export_book(book, file.parent / "book.zip")
        assert sorted(file.parent.iterdir()) == before


def test_an_export_writes_over_nothing(file: Path) -> None:
    target = file.parent / "book.zip"
    target.write_bytes(b"mine")
    with Book.open(file) as book:
        with pytest.raises(InputError, match="is there already"):
            export_book(book, target)
        assert target.read_bytes() == b"mine"
        export_book(book, target, force=True)


WORK = """
import sys
from overarm.logbook.book import Book
with Book.open(sys.argv[1]) as book:
    for k in range(8):
        with book.batch("note") as batch:
            batch.note(f"{sys.argv[2]} {k}")
            book.store.put(sys.argv[2].encode() * k)
        book.tidy(remove=True)
"""


def test_two_programs_at_once(tmp_path: Path) -> None:
    """Both make the book, write, and tidy up, at the same time."""
    file = tmp_path / "logbook.sqlite"
    programs = [
        subprocess.Popen([sys.executable, "-c", WORK, str(file), name], stderr=subprocess.PIPE)
        for name in ("one", "two")
    ]
    for program in programs:
        assert program.communicate(timeout=120)[1] == b""
    with Book.open(file) as book:
        assert book.counts()["notes"] == 16
        assert sorted(row["number"] for row in book.newest("imports", 100)) == list(range(1, 17))
        assert book.tidy().sound

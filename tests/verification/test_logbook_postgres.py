"""The logbook in a real PostgreSQL server, which the tests start for themselves."""

from __future__ import annotations

import itertools
import os
import pwd
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from overarm.errors import InputError
from overarm.logbook import migrate
from overarm.logbook.book import Book
from overarm.logbook.carry import export_book, import_file
from overarm.logbook.tables import metadata
from tests.logbook_checks import CHECKS, Check
from tests.logbooks import content_of, put, sqlite_book

PROGRAMS = Path("/usr/lib/postgresql")
HINT = "PostgreSQL is not installed: apt-get install postgresql (its programs are not looked for in PATH)"


def _unprivileged() -> list[str]:
    """Return what stands before a command so that it does not run as root, which the server refuses."""
    if os.geteuid() != 0:
        return []
    return ["runuser", "-u", "postgres", "--"]  # the Debian package makes this user


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    """Return the URL of an empty database, on a server that listens on a socket in its own folder alone.

    It sorts texts as people do, signs before digits and letters, as most servers are set up.
    """
    found = sorted(PROGRAMS.glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    if not found:
        pytest.fail(HINT)
    programs, first = found[-1].parent, _unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="overarm-pg-", dir="/tmp"))  # a socket's path must be short
    if first:
        user = pwd.getpwnam("postgres")
        os.chown(folder, user.pw_uid, user.pw_gid)
    folder.chmod(0o755)
    data = folder / "data"

    def run(*words: str) -> None:
        done = subprocess.run([*first, *words], cwd="/", capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr

    run(str(programs / "initdb"), "-D", str(data), "-A", "trust", "-U", "overarm", "-E", "UTF8", "--no-sync",
        "--locale=C.UTF-8", "--locale-provider=icu", "--icu-locale=en-US")  # fmt: skip
    options = f"-c listen_addresses='' -c fsync=off -k {folder}"
    log = str(folder / "log")
    run(str(programs / "pg_ctl"), "-D", str(data), "-l", log, "-o", options, "-w", "-t", "60", "start")
    try:
        yield f"postgresql://overarm@/postgres?host={quote(str(folder))}"
    finally:
        run(str(programs / "pg_ctl"), "-D", str(data), "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder)


@pytest.fixture
def maker(server: str, tmp_path: Path) -> Callable[[], Book]:
    """Return a maker of empty books, each in a schema of its own."""
    return lambda: Book.open(new_schema(server), files=tmp_path / f"files-{next(NUMBERS)}")


NUMBERS = itertools.count()


def new_schema(server: str) -> str:
    """Make a schema, and return the URL at which it is the only one."""
    name = f"book_{next(NUMBERS)}"
    with psycopg.connect(server) as connection:
        connection.execute(f"CREATE SCHEMA {name}")  # type: ignore[call-overload]
    return f"{server}&options={quote(f'-csearch_path={name}')}"


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_postgres(check: Check, maker: Callable[[], Book], tmp_path: Path) -> None:
    (tmp_path / "work").mkdir()
    check(maker, tmp_path / "work")


def test_a_book_moves_between_the_databases(maker: Callable[[], Book], tmp_path: Path) -> None:
    """From SQLite to PostgreSQL and back: the same rows, the same files, the same bytes of the archive."""
    with sqlite_book(tmp_path) as book, maker() as other, sqlite_book(tmp_path, "back.sqlite") as back:
        put(book, 1)
        put(book, 2, "dipped", 7.9)
        there = export_book(book, tmp_path / "there.zip")
        import_file(other, tmp_path / "there.zip")
        assert export_book(other, tmp_path / "back.zip") == there
        import_file(back, tmp_path / "back.zip")
        assert content_of(back) == content_of(other) == content_of(book)


def test_the_migrations_make_the_tables(maker: Callable[[], Book]) -> None:
    with maker() as book, book.reading() as connection:
        options = {"version_table": migrate.VERSION_TABLE, "compare_type": True}
        assert compare_metadata(MigrationContext.configure(connection, opts=options), metadata) == []


def test_files_have_a_folder_of_their_own(
    server: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("OVERARM_BOOK_FILES", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    with Book.open(new_schema(server)) as book:
        assert book.store.folder == tmp_path / "overarm" / f"logbook-files-{book.id}"


def test_two_programs_write_at_once(server: str, tmp_path: Path) -> None:
    url = new_schema(server)
    work = (
        "import sys; from overarm.logbook.book import Book\n"
        "with Book.open(sys.argv[1], files=sys.argv[2]) as book:\n"
        "    for k in range(20): book.add_note(f'{sys.argv[3]} {k}')"
    )
    programs = [
        subprocess.Popen([sys.executable, "-c", work, url, str(tmp_path), name], stderr=subprocess.PIPE)
        for name in ("one", "two")
    ]
    for program in programs:
        assert program.communicate(timeout=60)[1] == b""
    with Book.open(url, files=tmp_path) as book:
        assert book.counts()["notes"] == 40
        assert sorted(row["number"] for row in book.newest("imports")) == list(range(1, 41))


def test_what_is_said_when_it_cannot_be_used(server: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the database does not answer"):
        Book.open(f"postgresql://overarm@/postgres?host={tmp_path}")
    url = new_schema(server)
    with psycopg.connect(url) as connection:
        connection.execute("CREATE TABLE notes (mine text)")
    with pytest.raises(InputError, match=r"holds the tables of another program \(got notes\)"):
        Book.open(url)
    newer = new_schema(server)
    Book.open(newer, files=tmp_path).close()
    with psycopg.connect(newer) as connection:
        connection.execute("UPDATE overarm_logbook_version SET version_num = '9999'")
    with pytest.raises(InputError, match="written by a newer Overarm"):
        Book.open(newer)
    with pytest.raises(InputError, match="no logbook here yet"):
        Book.open(new_schema(server), make=False)

"""`overarm logbook`: each command in words and as JSON, and its exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result
from typer.testing import CliRunner

from overarm.cli.logbook import logbook
from overarm.errors import InputError
from overarm.logbook.book import Book
from tests.examples import FILES
from tests.logbooks import put, review_of

FLIGHT = "time_s,force_x_mps2,airspeed_mps\n" + "".join(
    f"{k / 50:.2f},{k % 7}.5,{k / 10}\n" for k in range(100)
)


@pytest.fixture(scope="module")
def schema(project: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((project / "docs/reference/logbook.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(found)
    return found


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return an empty folder in which the book of OVERARM_BOOK is."""
    monkeypatch.setenv("OVERARM_BOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.delenv("OVERARM_BOOK_FILES", raising=False)
    monkeypatch.setenv("COLUMNS", "200")
    return tmp_path


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(logbook, [str(word) for word in words])


def said(*words: str | Path, code: int = 0) -> str:
    shown = run(*words)
    assert shown.exit_code == code, (shown.output, shown.exception)
    return shown.output


def answer(schema: dict[str, Any], *words: str | Path, code: int = 0) -> dict[str, Any]:
    """Return the JSON of a command, held against its schema."""
    found: dict[str, Any] = json.loads(said(*words, "--json", code=code))
    jsonschema.validate(found, schema)
    assert found["command"] == words[0]
    return found


def test_a_whole_season(home: Path, schema: dict[str, Any]) -> None:
    recording, review = home / "flight.csv", home / "review.json"
    recording.write_text(FLIGHT, "utf-8")
    review.write_text(json.dumps(review_of(1)), "utf-8")
    options = ("--setup", FILES["b"], "--review", review, "--note", "gusty")
    added = answer(schema, "add", recording, *options)
    assert added["added"]["new"] == {
        "setups": 1,
        "recordings": 1,
        "launches": 2,
        "evidence": 2,
        "notes": 1,
    }
    assert "nothing new; 1 setup, 1 recording" in said("add", recording, "--setup", FILES["b"])
    with Book.open() as book:
        put(book, 2, "dipped")
        assert book.original(added["recording"]) == FLIGHT.encode()

    listed = answer(schema, "list")
    assert [row["kind"] for row in listed["rows"]].count("launch") == 2
    for what in ("recordings", "setups", "predictions", "evidence", "notes", "imports"):
        assert len(answer(schema, "list", "--what", what)["rows"]) == listed["counts"][what]
        assert "in all: 1 setup, 2 recordings" in said("list", "--what", what)
    first = listed["rows"][0]["id"]
    assert answer(schema, "show", first)["row"]["id"] == first
    assert "recordings:" in said("show", first[:10])
    assert "airframe:" in said("show", listed["rows"][0]["setup"])
    assert [row["outcome"] for row in answer(schema, "search", "--outcome", "dipped")["rows"]] == ["dipped"]
    assert "flight-2.csv" in said("search", "gusty", "throw", "--thrower", "tall", "--from", "2031-01-01")
    assert said("search", "nothing-like-it").strip() == "no launch is like that"
    assert answer(schema, "trends")["all"]["launches"] == 2
    assert "Of 1 foretold launches 0 % were clean; the odds said 91 % on average." in said("trends")

    exported = answer(schema, "export", home / "book.zip")["exported"]
    assert exported["files"] == 4
    assert "4 files" in said("export", home / "book.zip", "--force")
    other = ("--book", home / "other.sqlite")
    assert answer(schema, "import", home / "book.zip", *other)["added"]["new"] == exported["counts"]
    assert "nothing new" in said("import", home / "book.zip", *other)
    assert "batch 1 taken back: 2 notes" in said("undo", *other)

    undone = answer(schema, "undo", "1")["undone"]
    assert undone["removed"] == {"notes": 1, "evidence": 2, "launches": 2, "recordings": 1}
    assert [item["batch"] for item in undone["kept"]] == [2]  # the setup flew again
    assert answer(schema, "tidy")["sound"]
    with Book.open() as book:
        book.store.path(book.newest("recordings")[0]["id"]).unlink()
    assert "STOP   missing file" in said("tidy", code=3)
    assert not answer(schema, "tidy", "--remove", code=3)["sound"]
    assert answer(schema, "where")["files"] == str(home / "book-files")
    assert str(home / "book.sqlite") in said("where")


def test_bad_input(home: Path) -> None:
    def refused(*words: str | Path) -> str:
        shown = run(*words)
        assert isinstance(shown.exception, InputError), shown.output
        return str(shown.exception)

    assert "there is no logbook here yet" in refused("list")
    assert not (home / "book.sqlite").exists()
    recording = home / "flight.csv"
    recording.write_text(FLIGHT, "utf-8")
    review = home / "review.json"
    for text, wrong in (
        ("{", "is no JSON"),
        ("[]", "is no answer of a review"),
        ("{}", "no list of launches"),
    ):
        review.write_text(text, "utf-8")
        assert wrong in refused("add", recording, "--review", review)
    with Book.open() as book:
        assert book.counts()["recordings"] == 0  # the batch was taken back
    assert "is no id in this book" in refused("show", "zz")
    assert "no such batch" in refused("undo", "7")
    assert "cannot be read" in refused("import", home / "none.zip")


def test_looking_things_up_starts_fast(home: Path) -> None:
    """What reads a table of samples, or draws, or brings a book forward, is not imported to list one."""
    Book.open().close()
    look = (
        "import sys; from overarm.cli.logbook import logbook; logbook(['list'], standalone_mode=False);"
        "heavy = {'polars', 'alembic', 'matplotlib', 'numba', 'aerosandbox'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]", done.stdout

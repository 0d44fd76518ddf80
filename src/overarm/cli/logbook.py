"""`overarm logbook`: keep recordings, launches, odds and notes; look them up, carry them, take them back."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from overarm.cli.exits import STOP_EXIT

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.learn.evidence import Evidence
    from overarm.logbook.book import Book
    from overarm.recordings.recording import Recording

FORM = 1
MOST_REVIEW_BYTES = 64 * 2**20

logbook = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Keep recordings, launches, odds and notes. Look them up, carry them elsewhere, take them back.",
)

BookOption = Annotated[
    str | None,
    typer.Option(
        "--book",
        help="File of the book, or a PostgreSQL URL; else OVERARM_BOOK, else in your data folder.",
        show_default=False,
    ),
]
FilesOption = Annotated[
    Path | None,
    typer.Option(
        "--files", help="Folder of the recordings; else OVERARM_BOOK_FILES, else beside.", show_default=False
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]


@contextmanager
def _opened(place: str | None, files: Path | None, *, make: bool) -> Iterator[Book]:
    from overarm.logbook.book import Book

    with Book.open(place, files=files, make=make) as book:
        yield book


def _say(book: Book, command: str, answer: Mapping[str, Any], words: str, *, as_json: bool) -> None:
    if not as_json:
        typer.echo(words)
        return
    import overarm

    head = {
        "overarm_logbook": FORM,
        "command": command,
        "version": overarm.__version__,
        "book": book.place.shown,
        "book_id": book.id,
    }
    typer.echo(json.dumps({**head, **answer}, indent=2, allow_nan=False))


@logbook.command()
def add(
    recording: Annotated[
        Path, typer.Argument(help="Recording, in any form that is read.", show_default=False)
    ],
    setup: Annotated[
        Path | None, typer.Option(help="Setup that was flown (YAML).", show_default=False)
    ] = None,
    mapping: Annotated[
        Path | None, typer.Option("--map", help="Mapping of its columns to ours (YAML).", show_default=False)
    ] = None,
    review: Annotated[
        Path | None,
        typer.Option(
            help="Answer of overarm review --json; with a setup it is made if left out.", show_default=False
        ),
    ] = None,
    note: Annotated[str, typer.Option(help="A note about the recording.", show_default=False)] = "",
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put in a recording, with the setup that was flown, its review and a note."""
    from overarm.describe.reader import load
    from overarm.logbook import words
    from overarm.recordings.reading import opened

    found = opened(recording, mapping)
    original = recording.read_bytes()
    told = mapping.read_text("utf-8-sig") if mapping is not None else ""
    card = load(setup) if setup is not None else None
    answer = _review_in(review) if review is not None else _reviewed(found, card)
    with _opened(place, files, make=True) as book:
        with book.batch("add", recording.name) as batch:
            if card is not None:
                batch.setup(card)
            batch.recording(found, original, told)
            if answer is not None:
                batch.review(answer, found.sha256, card)
                batch.evidence(_evidence_in(answer, found))
            if note:
                batch.note(note, found.sha256)
        told_as = {"recording": found.sha256, "added": batch.added._asdict()}
        _say(book, "add", told_as, words.added(batch.added), as_json=as_json)


def _reviewed(recording: Recording, setup: Setup | None) -> Mapping[str, Any] | None:
    """Return the review of a recording with the setup that was flown; None without one."""
    if setup is None:
        return None
    from overarm.cli.brake import braking, end_cancelled
    from overarm.cli.first import tell_if_first
    from overarm.errors import Cancelled
    from overarm.review.run import review as run_review

    tell_if_first(setup.style, samples=True)
    try:
        with braking() as brake:
            brake.flying = True
            done = run_review(recording, setup, cancelled=lambda: brake.pulled)
    except Cancelled:
        end_cancelled()
    told: Mapping[str, Any] = done.to_dict()
    return told


def _evidence_in(answer: Mapping[str, Any], recording: Recording) -> list[Evidence]:
    """Return what the launches of a review teach."""
    from overarm.learn.answers import figures_of
    from overarm.learn.evidence import evidence_of

    day = recording.start_utc[:10]
    launches = figures_of(answer, recording.name, (recording.sha256, day))
    return [item for launch in launches for item in evidence_of(launch)[0]]


def _review_in(file: Path) -> Mapping[str, Any]:
    """Return the answer of a review; raises InputError for what is none."""
    from overarm.errors import InputError, Problem

    cure = "Give the answer of overarm review --json"
    try:
        with file.open("rb") as stream:
            data = stream.read(MOST_REVIEW_BYTES + 1)
        found = json.loads(data.decode("utf-8-sig")) if len(data) <= MOST_REVIEW_BYTES else None
    except OSError as error:
        raise InputError([Problem(f"cannot be read: {error.strerror}", cure, str(file))]) from error
    except json.JSONDecodeError as error:
        where = (str(file), error.lineno, error.colno)
        raise InputError([Problem(f"is no JSON: {error.msg}", cure, *where)]) from error
    except (ValueError, RecursionError) as error:
        raise InputError([Problem("is no JSON in UTF-8", cure, str(file))]) from error
    if not isinstance(found, dict):
        raise InputError([Problem("is no answer of a review", cure, str(file))])
    return found


@logbook.command(name="list")
def list_(
    what: Annotated[
        str, typer.Option(help="launches, recordings, setups, predictions, evidence, notes or imports.")
    ] = "launches",
    last: Annotated[int, typer.Option(help="How many, the newest.", min=1, max=1_000_000)] = 50,
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what is in the book, newest first."""
    from overarm.logbook import words

    with _opened(place, files, make=False) as book:
        rows, counts = book.newest(what, last), book.counts()
        said = f"{words.listing(what, rows)}\n\nin all: {words.counted(counts)}"
        _say(book, "list", {"what": what, "counts": counts, "rows": rows}, said, as_json=as_json)


@logbook.command()
def show(
    id_: Annotated[str, typer.Argument(metavar="ID", help="Id, or its first letters.", show_default=False)],
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one thing with all that belongs to it."""
    from overarm.logbook import words

    with _opened(place, files, make=False) as book:
        found = book.show(id_)
        _say(book, "show", found, words.one(found), as_json=as_json)


@logbook.command()
def search(
    text: Annotated[
        list[str] | None, typer.Argument(help="Words that must all be there.", show_default=False)
    ] = None,
    setup: Annotated[str, typer.Option(help="Hash or name of a setup.", show_default=False)] = "",
    outcome: Annotated[str, typer.Option(help="Such as clean or dipped.", show_default=False)] = "",
    thrower: Annotated[str, typer.Option(help="Who threw.", show_default=False)] = "",
    from_day: Annotated[str, typer.Option("--from", help="First day.", show_default=False)] = "",
    to_day: Annotated[str, typer.Option("--to", help="Last day.", show_default=False)] = "",
    place: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find launches by words, setup, outcome, thrower and day."""
    from overarm.logbook import words
    from overarm.logbook.look import Wanted

    wanted = Wanted(" ".join(text or ()), setup, outcome, thrower, from_day, to_day)
    with _opened(place, None, make=False) as book:
        rows = book.search(wanted)
        said = words.listing("launches", rows) if rows else "no launch is like that"
        _say(book, "search", {"wanted": wanted._asdict(), "rows": rows}, said, as_json=as_json)


@logbook.command()
def trends(place: BookOption = None, files: FilesOption = None, as_json: JsonOption = False) -> None:
    """Show throw speed, start delay, and odds foretold against what happened, day by day."""
    from overarm.logbook import words
    from overarm.logbook.trends import trends_dict

    with _opened(place, files, make=False) as book:
        days, whole = book.trends()
        _say(book, "trends", trends_dict(days, whole), words.trend_table(days, whole), as_json=as_json)


@logbook.command()
def export(
    file: Annotated[Path, typer.Argument(help="Archive to write (ZIP).", show_default=False)],
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the whole book, recordings too, into one archive."""
    from overarm.logbook import words
    from overarm.logbook.carry import export_book

    with _opened(place, files, make=False) as book, _watched() as progress:
        done = export_book(book, file, force=force, progress=progress)
        said = f"{file}: {words.counted(done.counts)}, {done.files} files, {done.bytes:,} bytes"
        _say(book, "export", {"file": str(file), "exported": done._asdict()}, said, as_json=as_json)


@logbook.command(name="import")
def import_(
    file: Annotated[Path, typer.Argument(help="Archive, or notes as JSON.", show_default=False)],
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put an archive or a file of notes into the book; what is there already stays."""
    from overarm.logbook import words
    from overarm.logbook.carry import import_file

    with _opened(place, files, make=True) as book, _watched() as progress:
        done = import_file(book, file, progress=progress)
        answer = {"file": str(file), "added": done._asdict()}
        _say(book, "import", answer, words.added(done), as_json=as_json)


@logbook.command()
def undo(
    batch: Annotated[
        str,
        typer.Argument(
            metavar="[ID]", help="Number or id of a batch; the last if left out.", show_default=False
        ),
    ] = "",
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back what one batch added, unless something else uses it."""
    from overarm.logbook import words

    with _opened(place, files, make=False) as book:
        done = book.undo(batch)
        answer = {**done._asdict(), "kept": [item._asdict() for item in done.kept]}
        _say(book, "undo", {"undone": answer}, words.undone(done), as_json=as_json)


@logbook.command()
def tidy(
    remove: Annotated[bool, typer.Option("--remove", help="Remove files that nothing names.")] = False,
    place: BookOption = None,
    files: FilesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Look the book over: every file against its hash, and files that nothing names."""
    from overarm.logbook import words

    with _opened(place, files, make=False) as book:
        found = book.tidy(remove=remove)
        answer = {"sound": found.sound, **found._asdict()}
        _say(book, "tidy", answer, words.tidied(found), as_json=as_json)
    if not found.sound:
        raise typer.Exit(STOP_EXIT)


@logbook.command()
def where(place: BookOption = None, files: FilesOption = None, as_json: JsonOption = False) -> None:
    """Say where the book and its recordings are."""
    from overarm.logbook import words

    with _opened(place, files, make=False) as book:
        counts = book.counts()
        said = f"book   {book.place.shown}\nfiles  {book.store.folder}\nholds  {words.counted(counts)}"
        answer = {"files": str(book.store.folder), "kind": book.place.kind, "counts": counts}
        _say(book, "where", answer, said, as_json=as_json)


@contextmanager
def _watched() -> Iterator[Callable[[str, float], None]]:
    """Yield what shows a bar and lets Ctrl-C end the work before anything of it is kept."""
    from overarm.cli.bar import share_bar
    from overarm.cli.brake import braking, end_cancelled, heeding
    from overarm.errors import Cancelled

    try:
        with braking() as brake, share_bar(brake) as show:
            yield heeding(brake, show)
    except Cancelled:
        end_cancelled()

"""One batch of what is put into a book: everything that it adds is kept together, or nothing is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import Connection, Table, func, select

import overarm
from overarm.errors import InputError, Problem
from overarm.logbook import setup_form
from overarm.logbook.ids import canonical, just_after, now_utc, time_id
from overarm.logbook.plain import clean_text, plain, text_in
from overarm.logbook.recording_form import parquet_of, row_of
from overarm.logbook.review_form import launch_row, launches_in, prediction_row
from overarm.logbook.store import Store
from overarm.logbook.tables import (
    CONTENT,
    Row,
    evidence,
    id_of,
    imports,
    launches,
    notes,
    predictions,
    recordings,
    setups,
    whole_row,
)
from overarm.logbook.used import used_files

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.learn.evidence import Evidence
    from overarm.recordings.recording import Recording

LONGEST_NOTE = 100_000


class Added(NamedTuple):
    """What a batch did: its id and number (None and 0 if there was nothing new), and counts by table."""

    id: str | None
    number: int
    new: dict[str, int]
    already: dict[str, int]


class Batch:
    """Puts things into a book within one transaction; `Book.batch` makes it and ends it.

    Files are written before the rows that name them. What is there already is left as it is.
    """

    def __init__(self, connection: Connection, store: Store) -> None:
        self._connection, self._store = connection, store
        self._new: dict[str, list[str]] = {}
        self._already: dict[str, set[str]] = {}
        self._now = now_utc()
        self.added = Added(None, 0, {}, {})

    def setup(self, card: Setup) -> str:
        """Put in a setup and return its hash. Raises InputError if its files cannot be read."""
        found = card.hash()
        if self._is_there(setups, found):
            return found
        form = setup_form.form_of(card)
        row = {
            "id": found,
            "name": clean_text(card.name),
            "style": card.style,
            "thrower": clean_text(setup_form.thrower_of(card)),
            "yaml": clean_text(form.yaml),
            "parts": {name: self._store.put(data) for name, data in form.parts.items()},
        }
        return self.row(setups, row)

    def recording(self, recording: Recording, original: bytes, mapping: str = "") -> str:
        """Put in a recording with its original bytes and return their SHA-256.

        Raises InputError if the bytes are not those of the recording.
        """
        if self._is_there(recordings, recording.sha256):
            return recording.sha256
        row_of(recording, original, "")  # refuses before anything is written
        cleaned = self._store.put(parquet_of(recording))
        row = row_of(recording, original, cleaned, mapping)
        self._store.put(original)
        return self.row(recordings, row)

    def prediction(self, answer: Mapping[str, Any], day: Mapping[str, float] | None = None) -> str:
        """Put in odds as `overarm odds --json` tells them, with the day's conditions in SI; return the id.

        Raises InputError if something is missing, or the setup is not in the book.
        """
        row = prediction_row(answer, day or {})
        self._need(setups, row["setup"], "Put in the setup of the odds first")
        return self.row(predictions, row)

    def review(
        self, review: Mapping[str, Any], recording: str, setup: Setup | None = None
    ) -> tuple[str, ...]:
        """Put in the launches of a review and return their ids.

        Parameters
        ----------
        review : mapping
            As `overarm review --json`: ``launches`` with the fields of `LaunchRecord`, ``estimates``,
            ``verdict`` and ``outcome``; ``prediction`` as in `prediction`, for all or in a launch.
        recording : str
            SHA-256 of a recording that is in the book.
        setup : Setup, optional
            It is put in as well.

        Raises
        ------
        InputError
            With the key of what is missing or wrong.
        """
        place = self._need(recordings, recording, "Put in the recording first")
        version = text_in(review, "version", overarm.__version__)
        told = [(item, launch_row(item, place, version)) for item in launches_in(review)]
        setup_hash = None if setup is None else self.setup(setup)
        day = {} if setup is None else setup_form.day_of(setup)
        found = []
        for launch, row in told:
            row["setup"] = setup_hash
            row["thrower"] = "" if setup is None else clean_text(setup_form.thrower_of(setup))
            answer = launch.get("prediction") or review.get("prediction")
            if answer is not None:
                context = {key: review[key] for key in ("setup_hash", "seed", "version") if key in review}
                row["prediction"] = self.prediction({**context, **answer}, day)
            found.append(self.row(launches, {**row, **self._last_said(row)}))
        return tuple(found)

    def _last_said(self, row: Row) -> dict[str, str]:
        """Return when a review came, if the clock says no later than of another one of its launch.

        Of reviews of one launch the last one counts; the clock may have been set back in between.
        """
        same = (launches.c.recording == row["recording"], launches.c.number == row["number"])
        ask = select(func.max(launches.c.added_utc)).where(*same)
        last = self._connection.execute(ask).scalar()
        return {} if last is None or last < self._now else {"added_utc": just_after(last)}

    def evidence(self, items: Iterable[Evidence]) -> tuple[str, ...]:
        """Put in evidence and return the ids; equal readings of one call are kept as so many readings."""
        seen: dict[str, int] = {}
        found = []
        for item in items:
            fields = plain(item._asdict())
            key = canonical(fields)
            seen[key] = seen.get(key, 0) + 1
            row = {
                **fields,
                "value": float(fields["value"]),
                "error": float(fields["error"]),
                "nth": seen[key],
            }
            found.append(self.row(evidence, row))
        return tuple(found)

    def note(self, text: str, about: str = "", written_utc: str | None = None) -> str:
        """Put in a note about the thing of an id, or about the book, and return its id.

        ``written_utc``: when it was written; now if left out, empty if nobody knows.
        Raises InputError for an empty text or one of more than 100 000 letters.
        """
        if not text.strip() or len(text) > LONGEST_NOTE:
            message = "a note needs text" if not text.strip() else f"is longer than {LONGEST_NOTE:,} letters"
            raise InputError([Problem(message, "Write what you saw, in a few sentences", key="text")])
        written = self._now if written_utc is None else written_utc
        return self.row(notes, {"text": clean_text(text), "about": about, "written_utc": written})

    def row(self, table: Table, row: Mapping[str, Any]) -> str:
        """Put in a row with the columns that are given, unless it is there, and return its id."""
        found = str(row.get("id") or id_of(table, row))
        if not self._is_there(table, found):
            whole = whole_row(table, {"added_utc": self._now, **row, "id": found})
            self._connection.execute(table.insert().values(whole))
            self._new.setdefault(table.name, []).append(found)
        return found

    def fresh(self, rows: Mapping[str, Iterable[Row]]) -> dict[str, list[Row]]:
        """Return those rows, by table, that are not in the book."""
        return {name: [row for row in those if not self.has(name, row["id"])] for name, those in rows.items()}

    def has(self, name: str, found: str) -> bool:
        """Return True if a table has a row of this id."""
        table = CONTENT[name]
        return self._connection.execute(select(table.c.id).where(table.c.id == found)).first() is not None

    def used_files(self) -> set[str]:
        """Return the hash of every file that a row of the book names."""
        return used_files(self._connection)

    def end(self, what: str, source: str) -> None:
        """Write down what was added, if anything was."""
        new = {name: len(ids) for name, ids in self._new.items()}
        already = {name: len(ids) for name, ids in self._already.items()}
        if not new:
            self.added = Added(None, 0, {}, already)
            return
        highest = self._connection.execute(select(func.max(imports.c.number))).scalar()
        id_, number = time_id(), (highest or 0) + 1
        row = {
            "id": id_,
            "number": number,
            "made_utc": self._now,
            "what": what,
            "source": clean_text(source),
            "version": overarm.__version__,
            "added": self._new,
            "already": {name: sorted(ids) for name, ids in self._already.items()},
        }
        self._connection.execute(imports.insert().values(row))
        self.added = Added(id_, number, new, already)

    def _is_there(self, table: Table, found: str) -> bool:
        if found in self._new.get(table.name, ()):
            return True
        there = self.has(table.name, found)
        if there:
            self._already.setdefault(table.name, set()).add(found)
        return there

    def _need(self, table: Table, found: str, cure: str) -> Mapping[str, Any]:
        row = self._connection.execute(select(table).where(table.c.id == found)).mappings().first()
        if row is None:
            raise InputError([Problem(f"is not among the {table.name} of the book", cure, value=found[:64])])
        return dict(row)

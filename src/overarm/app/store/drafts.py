"""Drafts: setups that are being written, saved as often as the browser likes; each save is whole."""

from __future__ import annotations

import json
import secrets
import threading
from pathlib import Path
from typing import NamedTuple

from overarm.app.limits import Limits
from overarm.app.problems import Refused
from overarm.files import write_whole

NOT_FOUND, CONFLICT, NO_ROOM = 404, 409, 507
ID_BYTES = 16


class Draft(NamedTuple):
    """A text with the files beside it (name to id of an upload); each save has the next revision."""

    id: str
    name: str
    text: str
    files: dict[str, str]
    revision: int
    saved_utc: str


class Drafts:
    """The drafts of a workbench."""

    def __init__(self, folder: Path, limits: Limits) -> None:
        self._folder, self._limits = folder, limits
        self._lock = threading.Lock()
        self._known = {one.id: one for one in self._read()}

    def _read(self) -> list[Draft]:
        found = []
        for file in self._folder.glob("*.json"):
            try:
                found.append(Draft(**json.loads(file.read_text("utf-8"))))
            except (OSError, ValueError, TypeError):
                continue  # written by something else; it stays where it is
        return found

    def every(self) -> list[Draft]:
        """Return all, the last saved first."""
        return sorted(self._known.values(), key=lambda one: one.saved_utc, reverse=True)

    def find(self, id_: str) -> Draft:
        """Return one by its id. Raises Refused if there is none."""
        found = self._known.get(id_)
        if found is None:
            raise Refused(NOT_FOUND, "there is no such draft", "Open the list of drafts again")
        return found

    def make(self, name: str, text: str, files: dict[str, str], now_utc: str) -> Draft:
        """Keep a new draft. Raises Refused if there are too many."""
        with self._lock:
            if len(self._known) >= self._limits.drafts:
                raise Refused(NO_ROOM, "there are too many drafts", "Remove old drafts first")
            return self._save(Draft(secrets.token_hex(ID_BYTES), name, text, files, 1, now_utc))

    def save(self, draft: Draft) -> Draft:
        """Save over a draft; ``revision`` is the one that was read.

        Raises Refused if there is none, or somebody else has saved since.
        """
        with self._lock:
            kept = self.find(draft.id)
            if kept.revision != draft.revision:
                message = f"was saved elsewhere meanwhile: revision {kept.revision}, not {draft.revision}"
                raise Refused(CONFLICT, message, "Read it again, or save yours as a new draft")
            return self._save(draft._replace(revision=draft.revision + 1))

    def remove(self, id_: str) -> None:
        """Remove one. Raises Refused if there is none."""
        with self._lock:
            found = self.find(id_)
            (self._folder / f"{found.id}.json").unlink(missing_ok=True)
            self._known.pop(found.id, None)

    def _save(self, draft: Draft) -> Draft:
        try:
            write_whole(self._folder / f"{draft.id}.json", json.dumps(draft._asdict()).encode("utf-8"))
        except OSError as error:
            raise Refused(NO_ROOM, f"cannot be saved: {error.strerror}", "Make room on the disk") from error
        self._known[draft.id] = draft
        return draft

"""The folder of a study: each finished cell in a file of its own, so that a study goes on where it was.

A cell's file is named by all that its answer depends on, so what is found there is the answer, whoever
flew it and whatever the study calls it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import overarm
from overarm.errors import InputError, Problem
from overarm.files import write_together, write_whole
from overarm.fleet.cell import Flown, Work
from overarm.lock import lock
from overarm.odds.source import source_hash

FORM = 1
CELLS = "cells"
LOCK = ".lock"
PARTS = ".overarm-*"
LETTERS = 16


def cell_id(work: Work) -> str:
    """Return the name of a cell: a hash of its setup, launches, seed, and the code that flies it."""
    named = [FORM, overarm.__version__, source_hash(), work.setup_hash, work.launches, work.seed]
    return hashlib.sha256(json.dumps(named).encode()).hexdigest()[:LETTERS]


class Folder:
    """Finished cells, and the answer at the end. Raises InputError if something cannot be written."""

    def __init__(self, place: Path) -> None:
        self.place = place

    def kept(self, work: Work) -> Flown | None:
        """Return the outcome of a cell that is there already; None if it is not, or not whole."""
        file = self._file(cell_id(work))
        try:
            found: Any = json.loads(file.read_text("utf-8"))
        except (OSError, ValueError):
            return None
        if not isinstance(found, dict) or {key: found.get(key) for key in _head(work)} != _head(work):
            return None
        flown = found.get("odds")
        return flown if isinstance(flown, dict) else None

    def keep(self, work: Work, flown: Flown) -> None:
        """Write the outcome of a cell, whole and down to the disk."""
        data = {**_head(work), "odds": flown}
        try:
            write_whole(self._file(cell_id(work)), _json(data))
        except OSError as error:
            raise _unwritable(self.place, error) from error

    def write(self, answer: dict[str, Any], table: str) -> tuple[Path, Path]:
        """Write the answer as JSON and as a table; return both files."""
        files = self.place / "fleet.json", self.place / "fleet.csv"
        try:
            write_together({files[0]: _json(answer), files[1]: table.encode("utf-8")})
        except OSError as error:
            raise _unwritable(self.place, error) from error
        return files

    def _file(self, name: str) -> Path:
        return self.place / CELLS / f"{name}.json"


def _head(work: Work) -> dict[str, Any]:
    return {
        "overarm_fleet_cell": FORM,
        "cell": cell_id(work),
        "version": overarm.__version__,
        "setup_hash": work.setup_hash,
        "launches": work.launches,
        "seed": work.seed,
    }


def _json(data: dict[str, Any]) -> bytes:
    return (json.dumps(data, indent=2, allow_nan=False) + "\n").encode("utf-8")


@contextmanager
def opened(place: Path) -> Iterator[Folder]:
    """Yield the folder of a study, made if it is new, for this process alone.

    What a process that was killed left half written is cleared away. Raises InputError if the folder
    cannot be written, or another process works in it.
    """
    try:
        (place / CELLS).mkdir(parents=True, exist_ok=True)
        held = lock(place / LOCK)
    except OSError as error:
        raise _unwritable(place, error) from error
    if held is None:
        cure = "Wait for it, or choose another --out"
        raise InputError([Problem("another study is being flown into it", cure, str(place))])
    try:
        for part in (*place.glob(PARTS), *(place / CELLS).glob(PARTS)):
            part.unlink(missing_ok=True)
        yield Folder(place)
    finally:
        held.release()


def _unwritable(place: Path, error: OSError) -> InputError:
    return InputError(
        [Problem(f"the study cannot be written: {error.strerror}", "Choose another --out", str(place))]
    )

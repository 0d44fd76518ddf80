"""The folder of the jobs: a record, an answer and files for each, whole after a kill at any moment."""

from __future__ import annotations

import contextlib
import json
import shutil
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from overarm.app.jobs.record import Job, JobFile, next_event, now_utc
from overarm.files import make_folder, write_whole

RECORD, ASKED, RESULT, FILES = "job.json", "asked.json", "answer.json", "files"


class Kept:
    """The jobs on the disk."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def read(self) -> dict[str, Job]:
        """Return all jobs; those that ran when the server ended are marked so."""
        found = {}
        for place in self._folder.iterdir():
            try:
                job = Job(**json.loads((place / RECORD).read_text("utf-8")))
            except (OSError, ValueError, TypeError, ValidationError):
                shutil.rmtree(place, ignore_errors=True)
                continue
            if not job.ended:
                change = {"state": "ended with the server", "ended_utc": now_utc()}
                job = job.model_copy(update={**change, "event": next_event(job.event)})
                self.write(job)
            found[job.id] = job
        return found

    def write(self, job: Job) -> None:
        """Keep the record of a job."""
        place = self._folder / job.id
        make_folder(place, 0o700)
        write_whole(place / RECORD, job.model_dump_json().encode("utf-8"))

    def begin(self, job: Job, asked: dict[str, Any]) -> None:
        """Keep the record of a new job and what was asked."""
        place = self._folder / job.id
        make_folder(place, 0o700)
        write_whole(place / ASKED, json.dumps(asked).encode("utf-8"))
        self.write(job)

    def put_answer(self, id_: str, answer: bytes, out: Path) -> list[JobFile]:
        """Keep an answer and the files that were written beside it; return what these are.

        OSError if that fails; then nothing of it is kept.
        """
        place = self._folder / id_
        self.drop_answer(id_)
        try:
            if out.is_dir():
                out.rename(place / FILES)
            write_whole(place / RESULT, answer)
        except BaseException:
            self.drop_answer(id_)
            raise
        there = sorted((place / FILES).iterdir()) if (place / FILES).is_dir() else []
        return [JobFile(name=file.name, bytes=file.stat().st_size) for file in there]

    def drop_answer(self, id_: str) -> None:
        """Remove an answer and its files; what is not there, or does not go, is no error."""
        shutil.rmtree(self._folder / id_ / FILES, ignore_errors=True)
        with contextlib.suppress(OSError):
            self.result(id_).unlink(missing_ok=True)

    def asked(self, id_: str) -> Path:
        """Return the file of what was asked; jobs of older versions have none."""
        return self._folder / id_ / ASKED

    def result(self, id_: str) -> Path:
        """Return the file of an answer."""
        return self._folder / id_ / RESULT

    def file(self, id_: str, name: str) -> Path:
        """Return a file beside the answer; the name is one of the record's, never of the browser."""
        return self._folder / id_ / FILES / name

    def remove(self, id_: str) -> None:
        """Remove a job."""
        shutil.rmtree(self._folder / id_, ignore_errors=True)

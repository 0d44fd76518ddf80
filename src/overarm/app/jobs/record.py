"""What is known of a job; kept as JSON beside its answer."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict

State = Literal["waiting", "running", "done", "failed", "cancelled", "ended with the server"]
ENDED: tuple[State, ...] = ("done", "failed", "cancelled", "ended with the server")


class JobProblem(BaseModel):
    """One thing that is wrong with the input of a job."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    message: str
    cure: str
    file: str = ""
    line: int = 0
    column: int = 0
    key: str = ""
    value: str = ""


class JobFile(BaseModel):
    """A file beside the answer, to be downloaded by its name."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    name: str
    bytes: int


class JobUpload(BaseModel):
    """An upload that a job is done with: its id, and the name that it had."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    id: str
    name: str


class Job(BaseModel):
    """A job: what it is, how far it is, how it ended. ``event`` rises with every change."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    id: str
    task: str
    words: str = ""  # the task as a person calls it
    uploads: list[JobUpload] = []
    setup_name: str = ""  # as the text of the setup has it
    setup_key: str = ""  # the same text and files beside it have the same key
    seed: int | None = None
    launches: int | None = None  # that were asked for; None where the task decides
    state: State
    what: str = ""  # is being done
    share: float = 0.0  # of all that is done
    stop: bool = False  # a finding says stop
    problems: list[JobProblem] = []
    files: list[JobFile] = []
    made_utc: str
    ended_utc: str = ""
    event: int

    @property
    def ended(self) -> bool:
        """Return whether it will change no more."""
        return self.state in ENDED


def now_utc() -> str:
    """Return the time as ISO 8601 in UTC, to the millisecond."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def next_event(last: int) -> int:
    """Return a number above the last one, above all of earlier starts of the server too."""
    return max(last + 1, time.time_ns() // 1_000_000)

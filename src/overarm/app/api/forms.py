"""What the browser sends: texts, numbers, and ids that the workbench gave out; never a path."""

from __future__ import annotations

import unicodedata
from typing import Annotated, Any

from fastapi import Response
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from overarm.app.bench import Workbench
from overarm.app.jobs.record import Job
from overarm.app.store.orders import Order

LONGEST_TEXT = 200_000
MOST_CHANGES = 40
ACCEPTED, HAD_ALREADY = 202, 200


def _no_name(text: str) -> str:
    """Return a name of a file; ValueError for what could be a path or leave the screen."""
    if any(unicodedata.category(letter).startswith("C") for letter in text):
        raise ValueError("holds letters that cannot be printed")
    if len(text.encode("utf-8", "replace")) > 200:
        raise ValueError("is longer than 200 bytes")
    return text


def _whole_text(text: str) -> str:
    """Return a text; ValueError for one with halves of characters."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("holds half of a character") from None
    return text


Id = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
FileName = Annotated[
    str,
    StringConstraints(min_length=1, max_length=120, pattern=r"^[^./\\:][^/\\:]*$"),
    AfterValidator(_no_name),
]
Text = Annotated[str, StringConstraints(max_length=LONGEST_TEXT), AfterValidator(_whole_text)]
Line = Annotated[str, StringConstraints(max_length=300), AfterValidator(_whole_text)]
Path_ = Annotated[str, StringConstraints(min_length=1, max_length=120, pattern=r"^[a-z0-9_.]+$")]
Seed = Annotated[int, Field(ge=0, le=2**53 - 1, description="The same seed gives the same answer.")]
Changes = Annotated[
    dict[Path_, Line],
    Field(
        max_length=MOST_CHANGES,
        description='Such as {"settings.start_wait": "0.7 s"}; "none" takes a key out.',
    ),
]


class Form(BaseModel):
    """A body without unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class SetupText(Form):
    """The text of a setup, and the uploads that lie beside it under the names that it uses."""

    text: Text
    files: Annotated[dict[FileName, Id], Field(max_length=20)] = Field(default={})

    @property
    def pair(self) -> tuple[str, dict[str, str]]:
        """Return text and files."""
        return self.text, dict(self.files)


class WithSetup(Form):
    """A setup, changed if that is asked for."""

    setup: SetupText
    changes: Changes = Field(default={})

    def order(self, task: str, **more: Any) -> Order:
        """Return the order of a task with the setup and all other fields as its options."""
        options = self.model_dump(mode="json", exclude={"setup"})
        return Order(task, {**options, **more}, setup=self.setup.pair)


def begun(
    bench: Workbench, response: Response, form: Form | None, order: Order, *, once: bool = False
) -> Job:
    """Start the job of an order and return it; 202 if it is new, 200 if it was there already.

    The form is kept beside the job as it was sent, so that a room can show again what was asked.
    """
    asked = {} if form is None else form.model_dump(mode="json", exclude_unset=True)
    job, fresh = bench.jobs.start(order, asked, once=once)
    response.status_code = ACCEPTED if fresh else HAD_ALREADY
    response.headers["location"] = f"/api/jobs/{job.id}"
    return job

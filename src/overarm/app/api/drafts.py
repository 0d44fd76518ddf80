"""Drafts: setups that are being written, saved while they are typed."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from overarm.app.api.forms import FileName, Form, Id, Line, Text
from overarm.app.bench import Here
from overarm.app.jobs.record import now_utc
from overarm.app.store.drafts import Draft

router = APIRouter(prefix="/api/drafts", tags=["drafts"])

CREATED, REMOVED = 201, 204


class DraftForm(Form):
    """The name and text of a setup, and the uploads beside it by their names."""

    name: Line
    text: Text
    files: Annotated[dict[FileName, Id], Field(max_length=20)] = Field(default={})


class SaveForm(DraftForm):
    """A draft over the revision that was read."""

    revision: Annotated[int, Field(ge=1, le=2**53 - 1)]


class DraftSaid(BaseModel):
    """A draft as it is kept."""

    id: Id
    name: str
    text: str
    files: dict[str, str]
    revision: int
    saved_utc: str


class DraftLine(BaseModel):
    """A draft in the list."""

    id: Id
    name: str
    revision: int
    saved_utc: str


@router.get("")
def list_(here: Here) -> list[DraftLine]:
    """List the drafts, the last saved first."""
    return [DraftLine(**one._asdict()) for one in here.drafts.every()]


@router.post("", status_code=CREATED)
def make(here: Here, form: DraftForm) -> DraftSaid:
    """Keep a new draft."""
    made = here.drafts.make(form.name, form.text, dict(form.files), now_utc())
    return DraftSaid(**made._asdict())


@router.get("/{id_}")
def show(here: Here, id_: Id) -> DraftSaid:
    """Give a draft."""
    return DraftSaid(**here.drafts.find(id_)._asdict())


@router.put("/{id_}")
def save(here: Here, id_: Id, form: SaveForm) -> DraftSaid:
    """Save over a draft; it is whole on the disk before the answer comes."""
    saved = Draft(id_, form.name, form.text, dict(form.files), form.revision, now_utc())
    return DraftSaid(**here.drafts.save(saved)._asdict())


@router.delete("/{id_}", status_code=REMOVED)
def remove(here: Here, id_: Id) -> None:
    """Remove a draft."""
    here.drafts.remove(id_)

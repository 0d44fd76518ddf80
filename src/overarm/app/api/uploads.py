"""Uploads: files that the browser sends, as the bare body of a request; known by id from then on."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel
from starlette.requests import ClientDisconnect

from overarm.app.api.forms import FileName, Id
from overarm.app.bench import Here, Workbench
from overarm.app.jobs.record import State, now_utc
from overarm.app.problems import Refused
from overarm.app.store.uploads import Upload

router = APIRouter(prefix="/api/uploads", tags=["uploads"])

CREATED, REMOVED, CUT_OFF = 201, 204, 400
BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class UsingJob(BaseModel):
    """A job that was, is or will be done with an upload."""

    id: Id
    words: str
    setup_name: str
    state: State
    made_utc: str


class UsingSetup(BaseModel):
    """A kept setup that has an upload beside itself."""

    id: Id
    name: str


class UploadSaid(BaseModel):
    """A file that the workbench has, and what uses it."""

    id: Id
    name: str
    bytes: int
    sha256: str
    made_utc: str
    jobs: list[UsingJob]
    setups: list[UsingSetup]


@router.get("")
def list_(here: Here) -> list[UploadSaid]:
    """List the uploads, the newest first."""
    return _said(here, here.uploads.every())


@router.post("", status_code=CREATED, openapi_extra=BODY)
async def take(here: Here, request: Request, name: Annotated[FileName, Query()]) -> UploadSaid:
    """Keep a file under its name."""
    try:
        found = await here.uploads.take(name, request.stream(), now_utc())
    except ClientDisconnect:
        raise Refused(CUT_OFF, "the body was cut off", "Send it again") from None
    return UploadSaid(**found._asdict(), jobs=[], setups=[])


@router.get("/{id_}")
def show(here: Here, id_: Id) -> UploadSaid:
    """Say what an upload is."""
    return _said(here, [here.uploads.find(id_)])[0]


@router.delete("/{id_}", status_code=REMOVED)
def remove(here: Here, id_: Id) -> None:
    """Remove an upload; not while a job that waits or runs needs it."""
    here.jobs.remove_upload(id_)


def _said(here: Workbench, uploads: list[Upload]) -> list[UploadSaid]:
    """Return uploads with what uses each."""
    jobs: dict[str, list[UsingJob]] = {}
    for job in here.jobs.every():
        one = UsingJob(**job.model_dump(include=set(UsingJob.model_fields)))
        for upload in job.uploads:
            jobs.setdefault(upload.id, []).append(one)
    setups: dict[str, list[UsingSetup]] = {}
    for draft in here.drafts.every():
        for id_ in set(draft.files.values()):
            setups.setdefault(id_, []).append(UsingSetup(id=draft.id, name=draft.name))
    return [
        UploadSaid(**one._asdict(), jobs=jobs.get(one.id, []), setups=setups.get(one.id, []))
        for one in uploads
    ]

"""Uploads: files that the browser sends, as the bare body of a request; known by id from then on."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel
from starlette.requests import ClientDisconnect

from overarm.app.api.forms import FileName, Id
from overarm.app.bench import Here
from overarm.app.jobs.record import now_utc
from overarm.app.problems import Refused

router = APIRouter(prefix="/api/uploads", tags=["uploads"])

CREATED, REMOVED, CUT_OFF = 201, 204, 400
BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class UploadSaid(BaseModel):
    """A file that the workbench has."""

    id: Id
    name: str
    bytes: int
    sha256: str
    made_utc: str


@router.get("")
def list_(here: Here) -> list[UploadSaid]:
    """List the uploads, the newest first."""
    return [UploadSaid(**one._asdict()) for one in here.uploads.every()]


@router.post("", status_code=CREATED, openapi_extra=BODY)
async def take(here: Here, request: Request, name: Annotated[FileName, Query()]) -> UploadSaid:
    """Keep a file under its name."""
    try:
        found = await here.uploads.take(name, request.stream(), now_utc())
    except ClientDisconnect:
        raise Refused(CUT_OFF, "the body was cut off", "Send it again") from None
    return UploadSaid(**found._asdict())


@router.get("/{id_}")
def show(here: Here, id_: Id) -> UploadSaid:
    """Say what an upload is."""
    return UploadSaid(**here.uploads.find(id_)._asdict())


@router.delete("/{id_}", status_code=REMOVED)
def remove(here: Here, id_: Id) -> None:
    """Remove an upload."""
    here.uploads.remove(id_)

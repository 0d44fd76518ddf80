"""Jobs: how far they are, what they gave, and how to end them."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Annotated, Any

from fastapi import APIRouter, Header, Response
from starlette.responses import FileResponse, StreamingResponse

from overarm.app.api.described import Said, answer, download
from overarm.app.api.forms import FileName, Id
from overarm.app.bench import Here, Workbench
from overarm.app.jobs.events import last_seen, stream
from overarm.app.jobs.record import Job
from overarm.app.problems import Refused

router = APIRouter(prefix="/api/jobs", tags=["jobs"])

REMOVED, NOTHING_MORE, BUSY = 204, 204, 503
STREAM: Said = {
    200: {
        "description": "Each change as an event.",
        "content": {"text/event-stream": {"schema": {"type": "string"}}},
    },
    204: {"description": "The browser has seen the end."},
}


@router.get("")
def list_(here: Here) -> list[Job]:
    """List the jobs, the newest first."""
    return here.jobs.every()


@router.get("/{id_}")
def show(here: Here, id_: Id) -> Job:
    """Say how far a job is, or how it ended."""
    return here.jobs.find(id_)


@router.get("/{id_}/events", responses=STREAM, response_class=Response)
async def events(here: Here, id_: Id, last_event_id: Annotated[str | None, Header()] = None) -> Response:
    """Tell each change as a server-sent event; with Last-Event-ID only what is new."""
    job, seen = here.jobs.find(id_), last_seen(last_event_id)
    if job.ended and job.event <= seen:
        return Response(status_code=NOTHING_MORE)
    if here.streams.locked():
        raise Refused(BUSY, "too many streams are open", "Close other pages of the workbench")
    return StreamingResponse(_counted(here, id_, seen), media_type="text/event-stream")


async def _counted(here: Workbench, id_: str, seen: int) -> AsyncIterator[str]:
    async with here.streams:
        async for event in stream(here.jobs, id_, seen):
            yield event


@router.get("/{id_}/answer", responses=answer("AnyAnswer"), response_class=Response)
def result(here: Here, id_: Id) -> Any:
    """Give the answer of a job that is done, the same JSON as the command's."""
    return FileResponse(here.jobs.result(id_), media_type="application/json")


@router.get("/{id_}/asked", responses=answer("Asked", "The form."), response_class=Response)
def asked(here: Here, id_: Id) -> Any:
    """Give the form that started a job, as it was sent."""
    return FileResponse(here.jobs.asked(id_), media_type="application/json")


@router.get("/{id_}/files/{name}", responses=download(), response_class=Response)
def file(here: Here, id_: Id, name: FileName) -> Any:
    """Give a file beside the answer, to be saved."""
    return FileResponse(here.jobs.file(id_, name), media_type="application/octet-stream", filename=name)


@router.post("/{id_}/cancel")
def cancel(here: Here, id_: Id) -> Job:
    """Ask a job to end; one that has ended stays as it is."""
    return here.jobs.cancel(id_)


@router.delete("/{id_}", status_code=REMOVED)
def remove(here: Here, id_: Id) -> None:
    """Remove a job that has ended, with its answer."""
    here.jobs.remove(id_)

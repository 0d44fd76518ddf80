"""About: which version this is, and what it takes."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

import overarm
from overarm.app.bench import Here

router = APIRouter(prefix="/api/about", tags=["about"])


class About(BaseModel):
    """The version, and the limits that a page should know before it sends something."""

    overarm_app: int
    version: str
    body_bytes: int
    upload_bytes: int
    uploads_bytes: int
    jobs_running: int
    jobs_waiting: int


@router.get("")
def about(here: Here) -> About:
    """Say which version this is and what it takes."""
    limits = here.limits
    return About(
        overarm_app=1,
        version=overarm.__version__,
        body_bytes=limits.body_bytes,
        upload_bytes=limits.upload_bytes,
        uploads_bytes=limits.uploads_bytes,
        jobs_running=limits.jobs_running,
        jobs_waiting=limits.jobs_waiting,
    )

"""The progress of a job as server-sent events; after a break the browser goes on where it was.

Each event is the whole record; its id rises, across restarts of the server too. A browser that has the last
event of an ended job is told with 204 that there is nothing more. Source: WHATWG HTML, section 9.2.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator

from overarm.app.jobs.queue import Jobs
from overarm.app.jobs.record import Job
from overarm.app.problems import Refused

LOOK_EVERY_S = 0.1
STILL_HERE_S = 15.0
RETRY_MS = 1000


def last_seen(header: str | None) -> int:
    """Return the id of the last event that a browser has; 0 if it has none that we gave."""
    return int(header) if header and header.isascii() and header.isdigit() and len(header) < 20 else 0


def written(job: Job) -> str:
    """Return a record as an event."""
    return f"id: {job.event}\nevent: job\ndata: {job.model_dump_json()}\n\n"


async def stream(jobs: Jobs, id_: str, seen: int) -> AsyncIterator[str]:
    """Yield an event for each change of a job until it has ended or is removed."""
    yield f"retry: {RETRY_MS}\n\n"
    spoken = time.monotonic()
    while True:
        try:
            job = jobs.find(id_)
        except Refused:
            return
        if job.event > seen:
            seen, spoken = job.event, time.monotonic()
            yield written(job)
        if job.ended:
            return
        if time.monotonic() - spoken > STILL_HERE_S:
            spoken = time.monotonic()
            yield ": still here\n\n"
        await asyncio.sleep(LOOK_EVERY_S)

"""How much the workbench takes: bytes, counts, seconds, memory. Own choices, generous for one person."""

from __future__ import annotations

from typing import NamedTuple

MEGA = 2**20
GIGA = 2**30


class Bounds(NamedTuple):
    """What a process that does the work may use."""

    memory_bytes: int  # address space
    file_bytes: int  # the largest file it may write


class Limits(NamedTuple):
    """The limits of a server."""

    body_bytes: int = 2 * MEGA  # of a request that is no upload
    upload_bytes: int = 600_000_000  # the largest recording that is read
    uploads_bytes: int = 4 * GIGA  # of all uploads together
    uploads: int = 2000
    spare_disk_bytes: int = 500 * MEGA  # that an upload or a job leaves free
    body_wait_s: float = 20.0  # until the next piece of a body has come
    least_rate_bytes_s: float = 2000.0  # of a body, after the first wait
    drafts: int = 500
    jobs_waiting: int = 20
    jobs_running: int = 2
    jobs_kept: int = 200
    streams: int = 32  # event streams at a time
    quick_waiting: int = 12  # questions before the next is turned away
    quick_s: float = 30.0
    fan_s: float = 180.0  # the first fan after an installation compiles
    job_s: float = 3600.0
    job_cpu_s: float = 4 * 3600.0
    answer_bytes: int = 256 * MEGA
    reading: Bounds = Bounds(4 * GIGA, 200 * MEGA)
    working: Bounds = Bounds(12 * GIGA, 2 * GIGA)


LIMITS = Limits()

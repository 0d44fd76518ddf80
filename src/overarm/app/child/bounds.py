"""What a process may use, set by the process itself before it reads anything."""

from __future__ import annotations

import resource

from overarm.app.limits import Bounds


def _lower(kind: int, most: int) -> None:
    """Lower a limit for good; one that is lower already stays."""
    _, hard = resource.getrlimit(kind)
    allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
    resource.setrlimit(kind, (allowed, allowed))


def hold_to(bounds: Bounds) -> None:
    """Bound the memory and the files of this process, and let it leave no core."""
    _lower(resource.RLIMIT_AS, bounds.memory_bytes)
    _lower(resource.RLIMIT_FSIZE, bounds.file_bytes)
    _lower(resource.RLIMIT_CORE, 0)


def more_processor_time(seconds: float) -> None:
    """Let this process use so much more processor time; past it the system ends it."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    wanted = int(used.ru_utime + used.ru_stime + seconds) + 1
    resource.setrlimit(
        resource.RLIMIT_CPU, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard)
    )

"""What a process may use, set by the process itself before it reads anything."""

from __future__ import annotations

import sys
from types import ModuleType

from overarm.app.limits import Bounds

resource: ModuleType | None
try:
    import resource
except ImportError:  # Windows
    resource = None
LINUX = sys.platform == "linux"


def bounded() -> bool:
    """Return whether this system holds a process to its memory; elsewhere the clock alone bounds it."""
    return LINUX and resource is not None


def _lower(system: ModuleType, kind: int, most: int) -> None:
    """Lower a limit for good; one that is lower already stays."""
    _, hard = system.getrlimit(kind)
    allowed = most if hard == system.RLIM_INFINITY else min(most, hard)
    try:
        system.setrlimit(kind, (allowed, allowed))
    except (OSError, ValueError):
        if bounded():
            raise


def hold_to(bounds: Bounds) -> None:
    """Bound the memory and the files of this process, and let it leave no core."""
    if resource is not None:
        _lower(resource, resource.RLIMIT_AS, bounds.memory_bytes)
        _lower(resource, resource.RLIMIT_FSIZE, bounds.file_bytes)
        _lower(resource, resource.RLIMIT_CORE, 0)


def more_processor_time(seconds: float) -> None:
    """Let this process use so much more processor time; past it the system ends it."""
    if resource is None:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    wanted = int(used.ru_utime + used.ru_stime + seconds) + 1
    resource.setrlimit(
        resource.RLIMIT_CPU, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard)
    )

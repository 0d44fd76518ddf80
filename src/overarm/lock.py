"""A folder that one process at a time works in: on every system, and free again when that one is killed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from filelock import BaseFileLock

PRIVATE = 0o600


def lock(file: Path) -> BaseFileLock | None:
    """Return a lock, held until its `release` or until nobody keeps it, or None if another process holds it.

    The system itself holds it (`flock`, on Windows `LockFileEx`), so it goes with the process, however that
    ends. ``file`` is made if it is missing and says nothing. Raises OSError if it cannot be made or locked.
    """
    from filelock import FileLock, Timeout

    found: BaseFileLock = FileLock(file, timeout=0, mode=PRIVATE, thread_local=False, fallback_to_soft=False)
    try:
        found.acquire()
    except Timeout:
        return None
    return found

"""Files that fail at their first step, their second, and so on: every call that changes a file is a step."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

CALLS = ("fsync", "replace", "link", "unlink", "mkdir", "chmod", "open")
NEED_ROOM = ("fsync", "link", "mkdir", "open", "write")  # on a full disk; the others still work


class Steps:
    """Counts the steps, and fails at one of them."""

    def __init__(self, at: int, fail: Callable[[bool], None]) -> None:
        self.count, self.at, self.fail = 0, at, fail

    def tick(self, *, sql: bool, what: str = "") -> None:
        """Take a step; ``what`` is the call."""
        del what
        self.count += 1
        if self.count == self.at:
            self.fail(sql)


class HalfWriter:
    """A file whose every write is a step after its first half."""

    def __init__(self, file: Any, steps: Steps) -> None:
        self.file, self.steps = file, steps

    def write(self, data: bytes) -> int:
        """Write, with a step in the middle."""
        half = len(data) // 2
        self.file.write(data[:half])
        self.file.flush()
        self.steps.tick(sql=False, what="write")
        return half + int(self.file.write(data[half:]))

    def __enter__(self) -> HalfWriter:
        return self

    def __exit__(self, *_: object) -> None:
        self.file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.file, name)


@contextlib.contextmanager
def files_counted(steps: Steps) -> Iterator[None]:
    """Count every step with files in the block."""
    real = {name: getattr(os, name) for name in (*CALLS, "fdopen")}

    def stepping(name: str) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            makes = name != "open" or bool(given[1] & os.O_CREAT)
            steps.tick(sql=False, what=name if makes else "look")
            return real[name](*given, **named)

        return call

    for name in CALLS:
        setattr(os, name, stepping(name))
    os.fdopen = lambda *given, **named: HalfWriter(real["fdopen"](*given, **named), steps)  # type: ignore[assignment]
    try:
        yield
    finally:
        for name, call in real.items():
            setattr(os, name, call)


class Broken(Steps):
    """One call fails, as on a disk with a bad spot; what comes after it works again."""

    def __init__(self, at: int) -> None:
        super().__init__(at, lambda _sql: None)
        self.failed = False

    def tick(self, *, sql: bool, what: str = "") -> None:
        """Fail at one step; to look and to take away always work, or what is left could not be cleared."""
        self.count += 1
        if self.count == self.at and what not in ("look", "unlink"):
            self.failed = True
            raise OSError(errno.EIO, os.strerror(errno.EIO))


class Full(Steps):
    """The disk is full from one step on: whatever needs room fails, the rest works."""

    def __init__(self, at: int) -> None:
        super().__init__(at, lambda _sql: None)
        self.failed = False

    def tick(self, *, sql: bool, what: str = "") -> None:
        """Fail from one step on."""
        self.count += 1
        if self.count >= self.at and what in NEED_ROOM:
            self.failed = True
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class Watched(Steps):
    """Looks at a folder before each step: that is what a kill at this moment would leave."""

    def __init__(self, folder: Path) -> None:
        super().__init__(0, lambda _sql: None)
        self.folder = folder
        self.seen: list[dict[str, bytes]] = []

    def tick(self, *, sql: bool, what: str = "") -> None:
        """Look."""
        self.seen.append(files_in(self.folder))


def files_in(folder: Path) -> dict[str, bytes]:
    """Return what every file of a folder holds, by its path in it."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }

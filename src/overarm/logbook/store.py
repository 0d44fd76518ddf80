"""The files of a book: each kept byte for byte under the SHA-256 of its bytes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from overarm.errors import InputError, Problem
from overarm.files import make_folder, write_whole
from overarm.logbook.ids import file_id

_NAME = re.compile(r"[0-9a-f]{64}")
RESTORE = "Bring the folder back from a copy, or import an export of the book, which has every file"


class Store:
    """A folder of files that never change. One without a row is harmless; `overarm logbook tidy` finds it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, sha256: str) -> Path:
        """Return where the file of this hash lies."""
        return self.folder / sha256[:2] / sha256

    def has(self, sha256: str) -> bool:
        """Return True if there is a file of this hash. It came under its name whole."""
        return self.path(sha256).is_file()

    def put(self, data: bytes) -> str:
        """Keep bytes and return their hash; on the disk before this returns. OSError if it fails."""
        sha256 = file_id(data)
        target = self.path(sha256)
        if target.is_file() and target.read_bytes() == data:  # another one of that name is damaged
            return sha256
        make_folder(target.parent)
        write_whole(target, data)
        return sha256

    def read(self, sha256: str) -> bytes:
        """Return the bytes of a file. Raises InputError if it is not there or not what it was."""
        path = self.path(sha256)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            raise InputError([Problem("is missing from the files of the book", RESTORE, str(path))]) from None
        except OSError as error:
            raise InputError([Problem(f"cannot be read: {error.strerror}", RESTORE, str(path))]) from error
        if file_id(data) != sha256:
            raise InputError([Problem("is not what was put into the book", RESTORE, str(path))])
        return data

    def drop(self, sha256: str) -> None:
        """Remove a file; one that is not there is no error."""
        self.path(sha256).unlink(missing_ok=True)

    def files(self) -> Iterator[str]:
        """Yield the hash of every file."""
        for path in sorted(self.folder.glob("[0-9a-f][0-9a-f]/*")):
            if _NAME.fullmatch(path.name):
                yield path.name

    def parts(self) -> Iterator[Path]:
        """Yield what a write that was cut off left behind."""
        yield from sorted(self.folder.glob("[0-9a-f][0-9a-f]/.overarm-*"))

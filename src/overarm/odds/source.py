"""Which Overarm an answer comes from: a hash of every source file, finer than a version."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

import overarm

LETTERS = 16


@cache
def source_hash() -> str:
    """Return a short hash of all source files of the package: the same code gives the same hash."""
    root = Path(overarm.__file__).resolve().parent
    digest = hashlib.sha256()
    for file in sorted(root.rglob("*.py")):
        digest.update(file.relative_to(root).as_posix().encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:LETTERS]

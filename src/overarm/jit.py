"""Compile scalar physics with Numba, with a cache that never serves stale code.

Numba's on-disk cache looks only at the file that holds a function, not at the files of the
functions it calls. The cache folder here is named by a hash of every compiled source file of the
package, so a change in any of them starts a new cache.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import platformdirs

COMPILED_ROOMS = (".", "physics", "flight")
KEPT_DAYS = 30
# Reassociation, contraction and reciprocals are allowed; NaN and infinity keep their meaning, so
# that a numerical failure can be seen.
FAST = {"reassoc", "contract", "arcp", "nsz", "afn"}

_CONFIG: Any = numba.config
_F = TypeVar("_F", bound=Callable[..., Any])


def _source_hash(root: Path) -> str:
    digest = hashlib.sha256()
    for room in COMPILED_ROOMS:
        for file in sorted((root / room).glob("*.py")):
            digest.update(file.name.encode())
            digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> Path:
    chosen = _CONFIG.CACHE_DIR  # NUMBA_CACHE_DIR, if a person has set it
    base = Path(chosen or platformdirs.user_cache_dir("overarm")) / "compiled"
    try:
        folder = base / _source_hash(Path(__file__).parent)
        folder.mkdir(parents=True, exist_ok=True)
        os.utime(folder)
    except OSError:  # a home that cannot be written: compile again in each process
        return Path(tempfile.mkdtemp(prefix="overarm-"))
    for other in base.iterdir():
        with contextlib.suppress(OSError):  # another process may have tidied up first
            if other.stat().st_mtime < time.time() - KEPT_DAYS * 86400:
                shutil.rmtree(other, ignore_errors=True)
    return folder


_CONFIG.CACHE_DIR = str(_cache_folder())


def scalar(function: _F) -> _F:
    """Compile a function of numbers; callable from Python and from other compiled functions."""
    return cast(_F, numba.njit(cache=True, error_model="numpy", fastmath=FAST, forceinline=True)(function))


def over_launches(function: _F) -> _F:
    """Compile a loop over launches (``numba.prange``) that uses every core."""
    return cast(
        _F, numba.njit(cache=True, error_model="numpy", fastmath=FAST, parallel=True, nogil=True)(function)
    )


def apart(function: _F) -> _F:
    """Compile a function on its own, to be called: what would be inlined is compiled again in each caller.

    A loop over the lanes of slots becomes vector instructions only so.
    """
    return cast(_F, numba.njit(cache=True, error_model="numpy", fastmath=FAST, nogil=True)(function))


def over_samples(function: _F) -> _F:
    """Compile a loop over the samples of a recording, outside the compiled rooms.

    It may call functions of its own file and of the compiled rooms alone: of those the cache knows
    when they change.
    """
    return cast(_F, numba.njit(cache=True, error_model="numpy", nogil=True)(function))


def compiled_before(name: str) -> bool:
    """Return True if the function of this name, as it stands now, was compiled here before."""
    return any(Path(_CONFIG.CACHE_DIR).rglob(f"*.{name}-*.nbi"))

"""A text that is about to become a file of the person: read as its reader reads it, then written whole."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from overarm.errors import InputError, Problem


def hold(text: str, path: Path, read: Callable[[Path], object]) -> None:
    """Raise InputError if ``read`` refuses a text; the problems name the path where it would be written."""
    with tempfile.TemporaryDirectory(prefix="overarm-") as folder:
        part = Path(folder) / "new.yaml"
        part.write_text(text, encoding="utf-8")
        try:
            read(part)
        except InputError as error:
            raise InputError(
                replace(problem, file=f"{path} (not written)") for problem in error.problems
            ) from None


def put(text: str, path: Path, *, over: bool) -> None:
    """Write the file, ``over`` one that is there if so wished. Raises InputError, also if it is there."""
    from overarm.files import write_new, write_whole

    try:
        (write_whole if over else write_new)(path, text.encode("utf-8"))
    except FileExistsError:  # it came while somebody answered
        raise InputError([Problem("is there already", "Give another name", str(path))]) from None
    except OSError as error:
        reason = f"cannot be written: {error.strerror or error}"
        cure = "Give a file in a folder that you may write to"
        raise InputError([Problem(reason, cure, str(path))]) from error

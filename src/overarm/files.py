"""Files: read up to a limit, written whole or not at all, and what they are called.

What was written is on the disk when a function returns, its name in its folder too, so that no loss of power
takes it back. Windows lets nobody bring a folder down to its disk: there a file that moved into its place is
whole after a loss of power, but it may be the old one.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from overarm.errors import InputError, Problem

LONGEST_STEM = 60
MODE = 0o644
PART = ".overarm-"  # how the names of files begin that are on their way


def file_stem(name: str, what: str) -> str:
    """Return the start of a file name for a setup's name: "Chain 2", "plan" gives "chain-2-plan".

    Letters, figures and hyphens of any script; never empty, and never a path.
    """
    flat = unicodedata.normalize("NFC", name).casefold()
    words = re.sub(r"[^\w]+", "-", flat).strip("-_")
    kept = words.encode("utf-8")[: 2 * LONGEST_STEM].decode("utf-8", "ignore")[:LONGEST_STEM].strip("-_")
    return f"{kept or 'setup'}-{what}"


def read_bytes(file: Path, most: int, cure: str, too_large: str) -> bytes:
    """Return what a file holds.

    Raises InputError if it cannot be read, with ``cure``, or holds more than ``most`` bytes, with the cure
    ``too_large``.
    """
    try:
        with file.open("rb") as stream:
            raw = stream.read(most + 1)
    except (OSError, ValueError) as error:
        reason = "it is a folder" if isinstance(error, IsADirectoryError) else None
        reason = reason or getattr(error, "strerror", None) or "that is no name of a file"
        raise InputError([Problem(f"cannot be read: {reason}", cure, str(file))]) from None
    if len(raw) > most:
        raise InputError([Problem(f"is larger than {most:,} bytes", too_large, str(file))])
    return raw


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder down to the disk; on Windows nothing is done. OSError if it fails."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path, mode: int = 0o777) -> None:
    """Make a folder and those above it that are missing, on the disk too. OSError if that fails."""
    new = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(mode=mode, parents=True, exist_ok=True)
    for one in new:
        sync_folder(one.parent)


def link_or_copy(source: Path, target: Path) -> None:
    """Give a file a second name, or copy it where there are none. OSError if neither can be."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)


def sweep(folder: Path) -> None:
    """Remove what a kill left on its way in a folder; only for one in which nobody else writes now."""
    for part in folder.glob(f"{PART}*"):
        with contextlib.suppress(OSError):
            part.unlink()


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that a reader sees the old one or the whole new one.

    OSError if that fails; should only its name not come down to the disk, the new one is there.
    """
    part = _part(path.parent, data)
    try:
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def write_new(path: Path, data: bytes) -> None:
    """Write a whole file under a name that nobody has; raises FileExistsError, or OSError if it fails."""
    part = _part(path.parent, data)
    try:
        try:
            os.link(part, path)  # takes the name and fills it at once
        except FileExistsError:
            raise
        except OSError:  # a folder without second names, as on a memory card
            _move_to_new(part, path)
        try:
            sync_folder(path.parent)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def write_together(files: Mapping[Path, bytes]) -> None:
    """Write files so that all are new and whole, or all are as they were.

    Every file is first written beside its place; only then do they move in, and one that will not move
    brings the old ones back. OSError if it fails; should an old file not come back either, it stays beside
    its place, and a note on the error says under which name.
    """
    parts: dict[Path, Path] = {}
    kept: dict[Path, Path] = {}
    moved: list[Path] = []
    try:
        for path, data in files.items():
            parts[path] = _part(path.parent, data)
        for path in files:
            if path.is_file():
                kept[path] = _part(path.parent, path.read_bytes())
        for path, part in parts.items():
            moved.append(path)
            part.replace(path)
        for folder in dict.fromkeys(path.parent for path in files):
            sync_folder(folder)
    except BaseException as error:
        for path in moved:
            if not parts[path].exists():  # it did move
                _bring_back(path, kept, error)
        raise
    finally:
        for spare in (*parts.values(), *kept.values()):
            with contextlib.suppress(OSError):
                spare.unlink(missing_ok=True)


def _bring_back(path: Path, kept: dict[Path, Path], error: BaseException) -> None:
    """Put an old file back in its place; one that does not move leaves ``kept`` and is named on the error."""
    try:
        if path in kept:
            kept[path].replace(path)
        else:
            path.unlink(missing_ok=True)
    except OSError:
        spare = kept.pop(path, None)
        error.add_note(f"{path} is the new one" + (f"; the old one is {spare}" if spare else ""))


def _part(folder: Path, data: bytes) -> Path:
    """Write a hidden file beside its place, down to the disk, and return it. OSError if that fails."""
    handle, name = tempfile.mkstemp(prefix=PART, dir=folder)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(MODE)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


def _move_to_new(part: Path, path: Path) -> None:
    """Take the name with an empty file, then fill it; raises FileExistsError."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, MODE))
    try:
        part.replace(path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise

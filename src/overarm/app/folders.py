"""Where the workbench keeps its things, and that only one server has them at a time."""

from __future__ import annotations

import contextlib
import fcntl
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from overarm.errors import InputError, Problem
from overarm.files import make_folder

PRIVATE = 0o700


class Folders(NamedTuple):
    """The folders of a workbench, all below one that only its owner may read."""

    root: Path
    uploads: Path
    drafts: Path
    jobs: Path
    scratch: Path  # of running work; emptied at each start


def usual_root() -> Path:
    """Return the folder of the workbench among the user's data."""
    import platformdirs

    return Path(platformdirs.user_data_dir("overarm")) / "workbench"


def folders_in(root: Path) -> Folders:
    """Return the folders, made where they are missing. Raises InputError if they cannot be."""
    found = Folders(root, *(root / name for name in Folders._fields[1:]))
    try:
        for folder in found:
            make_folder(folder)
            folder.chmod(PRIVATE)
    except OSError as error:
        cure = "Give a data folder that can be written; XDG_DATA_HOME says where it is"
        raise InputError(
            [Problem(f"cannot be used by the workbench: {error.strerror}", cure, str(root))]
        ) from error
    return found


@contextlib.contextmanager
def kept_alone(folders: Folders, address: str) -> Iterator[None]:
    """Hold the folders for one server. Raises InputError, with the other's address, if another holds them."""
    handle = os.open(folders.root / "in-use", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            other = os.read(handle, 300).decode("utf-8", "replace").strip()
            cure = f"Use that one{f', at {other}' if other else ''}, or end it first (Ctrl-C where it runs)"
            raise InputError([Problem("the workbench is open already", cure)]) from None
        os.truncate(handle, 0)
        os.write(handle, address.encode("utf-8"))
        for old in folders.scratch.iterdir():
            shutil.rmtree(old, ignore_errors=True)
        yield
    finally:
        os.close(handle)

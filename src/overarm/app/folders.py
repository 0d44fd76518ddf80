"""Where the workbench keeps its things, and that only one server has them at a time."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from overarm.errors import InputError, Problem
from overarm.files import make_folder, sweep, write_whole
from overarm.lock import lock

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
        raise _unusable(root, error) from error
    return found


@contextlib.contextmanager
def kept_alone(folders: Folders, address: str) -> Iterator[None]:
    """Hold the folders for one server. Raises InputError, with the other's address, if another holds them."""
    told = folders.root / "address"  # not in the locked file: on some systems nobody else could read that
    try:
        held = lock(folders.root / "in-use")
        if held is not None:
            write_whole(told, address.encode("utf-8"))
    except OSError as error:
        raise _unusable(folders.root, error) from error
    if held is None:
        raise _taken(told)
    try:
        for old in folders.scratch.iterdir():
            shutil.rmtree(old, ignore_errors=True)
        for folder in (folders.root, folders.drafts, *folders.jobs.iterdir()):
            sweep(folder)
        yield
    finally:
        told.unlink(missing_ok=True)
        held.release()


def _taken(told: Path) -> InputError:
    try:
        where = f", at {told.read_text('utf-8')}"
    except OSError:
        where = ""
    cure = f"Use that one{where}, or end it first (Ctrl-C where it runs)"
    return InputError([Problem("the workbench is open already", cure)])


def _unusable(root: Path, error: OSError) -> InputError:
    cure = "Give a data folder that can be written; XDG_DATA_HOME says where it is"
    return InputError([Problem(f"cannot be used by the workbench: {error.strerror}", cure, str(root))])

"""Orders: what is to be done, with which files; laid out in a folder for the process that does it."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import overarm
from overarm.app.problems import Refused
from overarm.app.store.uploads import Upload, Uploads
from overarm.errors import Problem
from overarm.files import link_or_copy

UNUSABLE = 422
SETUP = "setup.yaml"
LONGEST_NAME = 120
_NAME = re.compile(
    r"""^name:[ \t]+(?:"(?P<double>(?:[^"\\\n]|\\.)*)"|'(?P<single>(?:[^'\n]|'')*)'|"""
    r"""(?P<plain>[\w(][^\n]*))""",
    re.MULTILINE,
)


@dataclass(frozen=True, slots=True)
class Order:
    """A task with its options and files; nothing in it is a path.

    ``setup`` is a text with the uploads beside it by their names; ``uploads`` are (role, id); ``texts`` are
    (role, name, text); ``kept`` are files of the server itself, (role, name, file).
    """

    task: str
    options: dict[str, Any]
    setup: tuple[str, dict[str, str]] | None = None
    uploads: tuple[tuple[str, str], ...] = ()
    texts: tuple[tuple[str, str, str], ...] = ()
    kept: tuple[tuple[str, str, Path], ...] = field(default=())

    def needs(self, uploads: Uploads) -> dict[str, Upload]:
        """Return the uploads that it is done with, by their ids. Raises Refused for one that is not there."""
        beside = {} if self.setup is None else uploads.beside(self.setup[1])
        found = [*(uploads.find(id_) for _, id_ in self.uploads), *beside.values()]
        return {one.id: one for one in found}


class Laid(NamedTuple):
    """A folder with the files of an order, and the options with their names."""

    folder: Path
    options: dict[str, Any]


def _hash(data: Any) -> str:
    return hashlib.sha256(json.dumps(data, sort_keys=True).encode("utf-8")).hexdigest()


def _setup_key(order: Order, uploads: Uploads) -> str:
    if order.setup is None:
        return ""
    text, files = order.setup
    return _hash([text, {name: one.sha256 for name, one in uploads.beside(files).items()}])


def setup_of(order: Order, uploads: Uploads) -> tuple[str, str]:
    """Return the name and the key of an order's setup, each "" if it has none."""
    return ("" if order.setup is None else name_in(order.setup[0])), _setup_key(order, uploads)


def name_in(text: str) -> str:
    """Return what stands behind ``name:`` in the text of a setup, "" if nothing plain does.

    The text may be anything, so it is not read as YAML here: only the first line of that key is looked at.
    """
    found = _NAME.search(text)
    if found is None:
        return ""
    if found["double"] is not None:
        name = re.sub(r"\\(.)", r"\1", found["double"])
    elif found["single"] is not None:
        name = found["single"].replace("''", "'")
    else:
        name = found["plain"].split(" #")[0].strip()
    return "".join(letter for letter in name if letter.isprintable())[:LONGEST_NAME]


def key_of(order: Order, uploads: Uploads) -> str:
    """Return a name that follows from all that makes the answer: 32 hexadecimal letters.

    Raises Refused for an upload that is not there.
    """
    files = [(role, found.name, found.sha256) for role, id_ in order.uploads for found in [uploads.find(id_)]]
    kept = [(role, name, hashlib.sha256(file.read_bytes()).hexdigest()) for role, name, file in order.kept]
    made = [
        order.task, overarm.__version__, order.options, _setup_key(order, uploads), files,
        list(order.texts), kept,
    ]  # fmt: skip
    return _hash(made)[:32]


@contextmanager
def laid_out(order: Order, uploads: Uploads, scratch: Path) -> Iterator[Laid]:
    """Yield a folder with the files of an order, until the block is left. Raises Refused if it cannot be."""
    folder = scratch / secrets.token_hex(8)
    folder.mkdir(mode=0o700)
    try:
        yield Laid(folder, _fill(folder, order, uploads))
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _fill(folder: Path, order: Order, uploads: Uploads) -> dict[str, Any]:
    """Put the files into the folder and return the options of the task."""
    given: dict[str, list[str]] = {}
    key = _setup_key(order, uploads)

    def place(role: str, name: str) -> Path:
        k = sum(len(names) for names in given.values())
        (folder / f"{k}").mkdir()  # each in a folder of its own: two files may have one name
        given.setdefault(role, []).append(f"{k}/{name}")
        return folder / f"{k}" / name

    for role, id_ in order.uploads:
        uploads.lay(id_, place(role, uploads.find(id_).name))
    for role, name, text in order.texts:
        place(role, name).write_bytes(text.encode("utf-8"))
    for role, name, file in order.kept:
        link_or_copy(file, place(role, name))
    if order.setup is not None:
        _fill_setup(folder, *order.setup, uploads)
    return {**order.options, "files": given, "setup_key": key}


def _fill_setup(folder: Path, text: str, files: dict[str, str], uploads: Uploads) -> None:
    """Put a setup into the folder, and beside it what it names."""
    (folder / SETUP).write_bytes(text.encode("utf-8"))
    for name, one in uploads.beside(files).items():
        if (folder / name).exists():
            problem = Problem(
                "is a name that the workbench uses itself", "Rename it", key="files", value=name
            )
            raise Refused(UNUSABLE, [problem])
        uploads.lay(one.id, folder / name)

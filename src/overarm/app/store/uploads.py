"""Uploads: files from the browser, kept under ids of ours; their names are only words."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import shutil
import threading
from collections.abc import AsyncIterator, Mapping
from pathlib import Path
from typing import NamedTuple

from overarm.app.limits import Limits
from overarm.app.problems import Refused
from overarm.errors import Problem
from overarm.files import link_or_copy, make_folder, write_whole

NO_ROOM, NOT_FOUND = 507, 404
LOOK_EVERY = 4 * 2**20  # bytes between two looks at the disk
ID_BYTES = 16
DATA, ABOUT = "data", "about.json"
GONE = "the file is not kept by the workbench any more"
GONE_BESIDE = "is named by the setup, and is not kept by the workbench any more"


class Upload(NamedTuple):
    """A file that came from the browser."""

    id: str
    name: str
    bytes: int
    sha256: str
    made_utc: str


class Uploads:
    """The uploads of a workbench."""

    def __init__(self, folder: Path, limits: Limits) -> None:
        self._folder, self._limits = folder, limits
        self._lock = threading.Lock()
        self._coming = 0  # bytes of uploads that are on their way
        self._known = {one.id: one for one in self._read()}

    def _read(self) -> list[Upload]:
        """Return what is there whole; what was cut off by a kill, coming or going, is removed."""
        found = []
        for place in self._folder.iterdir():
            try:
                one = Upload(**json.loads((place / ABOUT).read_text("utf-8")))
                if (place / DATA).stat().st_size != one.bytes:
                    raise ValueError(one.bytes)
            except (OSError, ValueError, TypeError):
                shutil.rmtree(place, ignore_errors=True)
            else:
                found.append(one)
        return found

    def every(self) -> list[Upload]:
        """Return all, the newest first."""
        return sorted(self._known.values(), key=lambda one: one.made_utc, reverse=True)

    def find(self, id_: str) -> Upload:
        """Return one by its id. Raises Refused if there is none."""
        found = self._known.get(id_)
        if found is None:
            raise Refused(NOT_FOUND, GONE, "Choose the file again, then ask again")
        return found

    def beside(self, files: Mapping[str, str]) -> dict[str, Upload]:
        """Return what lies beside a setup, by its names there. Raises Refused with each that is gone."""
        found = {name: self._known.get(id_) for name, id_ in files.items()}
        cure = "Choose the file again in the describe room"
        lost = [Problem(GONE_BESIDE, cure, name) for name, one in found.items() if one is None]
        if lost:
            raise Refused(NOT_FOUND, lost)
        return {name: one for name, one in found.items() if one is not None}

    def file(self, id_: str) -> Path:
        """Return the file of an upload. Raises Refused if there is none."""
        return self._folder / self.find(id_).id / DATA

    def lay(self, id_: str, target: Path) -> None:
        """Lay the file of an upload somewhere: a second name for it, or a copy where there are none.

        It stays there when the upload is removed. Raises Refused if it is gone, or goes just now.
        """
        source = self.file(id_)
        try:
            link_or_copy(source, target)
        except FileNotFoundError:
            self.find(id_)
            raise

    def remove(self, id_: str) -> None:
        """Remove one. Raises Refused if there is none."""
        place = self._folder / self.find(id_).id
        with self._lock:
            self._known.pop(id_, None)
        with contextlib.suppress(OSError):  # first what tells of it: after a kill in between it is gone whole
            (place / ABOUT).unlink(missing_ok=True)
        shutil.rmtree(place, ignore_errors=True)

    async def take(self, name: str, body: AsyncIterator[bytes], made_utc: str) -> Upload:
        """Keep a body as it comes, on the disk. Raises Refused if there is no room; nothing is left then."""
        self._room(0)
        id_ = secrets.token_hex(ID_BYTES)
        place = self._folder / id_
        try:
            make_folder(place, 0o700)
            size, sha256 = await self._spill(place / DATA, body)
            found = Upload(id_, name, size, sha256, made_utc)
            write_whole(place / ABOUT, json.dumps(found._asdict()).encode("utf-8"))
        except BaseException as error:
            shutil.rmtree(place, ignore_errors=True)
            if isinstance(error, OSError):
                raise _unkept(error) from error
            raise
        with self._lock:
            self._known[id_] = found
        return found

    async def _spill(self, target: Path, body: AsyncIterator[bytes]) -> tuple[int, str]:
        """Write a body to the disk; return its size and hash."""
        digest, size, looked = hashlib.sha256(), 0, 0
        try:
            with target.open("wb") as file:
                async for piece in body:
                    digest.update(piece)
                    size += len(piece)
                    with self._lock:
                        self._coming += len(piece)
                    if size - looked >= LOOK_EVERY or looked == 0:
                        self._room(0)
                        looked = size
                    file.write(piece)
                self._room(0)
                file.flush()
                os.fsync(file.fileno())
        finally:
            with self._lock:
                self._coming -= size
        return size, digest.hexdigest()

    def _room(self, more: int) -> None:
        """Raise Refused if the uploads, with those on their way, take too much of the disk."""
        limits = self._limits
        held = sum(one.bytes for one in self._known.values()) + self._coming + more
        if held > limits.uploads_bytes or len(self._known) >= limits.uploads:
            raise Refused(NO_ROOM, "the uploads take all the room they may", "Remove old uploads first")
        if shutil.disk_usage(self._folder).free < limits.spare_disk_bytes:
            raise Refused(NO_ROOM, "the disk is nearly full", "Make room on the disk")


def _unkept(error: OSError) -> Refused:
    return Refused(NO_ROOM, f"cannot be kept: {error.strerror}", "Make room on the disk")

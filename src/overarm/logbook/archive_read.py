"""Read an archive of a book: all is held against hashes and limits before anything is written."""

from __future__ import annotations

import json
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO, Any, NamedTuple

from overarm.errors import InputError, Problem
from overarm.logbook.archive_write import ARCHIVE_FORM, MANIFEST
from overarm.logbook.limits import FREE_BYTES, LIMITS, Limits
from overarm.logbook.row_check import checked_row
from overarm.logbook.tables import CONTENT, Row

BLOCK = 1 << 20
WHOLE = "Give what `overarm logbook export` wrote, or the notes that a field pack saved; copy the whole file"
AGAIN = "Export the book again, and copy the whole file"
_NAME = re.compile(r"rows/[a-z]+\.jsonl|files/[0-9a-f]{64}")
_KINDS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError)

Progress = Callable[[str, float], None]


class Archive(NamedTuple):
    """An archive that was held against its manifest: rows by table, and the hashes of its files."""

    rows: dict[str, list[Row]]
    files: tuple[str, ...]
    version: str
    read: Callable[[str], bytes]  # the bytes of a file by its hash


@contextmanager
def opened_archive(
    file: Path, progress: Progress = lambda _what, _share: None, limits: Limits = LIMITS
) -> Iterator[Archive]:
    """Yield an archive whose every member has the hash that the manifest says.

    Raises InputError for a file that is no archive of ours, cut off, damaged, of a newer form, too large, or
    with members of other names; nothing of it has been written by then, and no member is ever written under
    a name that the archive gives it.
    """
    try:
        size = file.stat().st_size
        stream = file.open("rb")
    except OSError as error:
        raise _wrong(file, f"cannot be read: {error.strerror}", "Give an archive of a logbook") from error
    with stream:
        if size > limits.archive_bytes:
            raise _wrong(
                file, f"is larger than {limits.archive_bytes:,} bytes", "Give an archive of a logbook"
            )
        try:
            archive = zipfile.ZipFile(stream)
        except _BROKEN as error:
            raise _wrong(
                file, "is no archive of a logbook and no notes of a field pack, or is cut off", WHOLE
            ) from error
        with archive:
            reader = _Reader(file, archive, size, limits)
            yield reader.whole(progress)


class _Reader:
    """Reads one archive within its limits."""

    def __init__(self, file: Path, archive: zipfile.ZipFile, size: int, limits: Limits) -> None:
        self.file, self.archive, self.size, self.limits = file, archive, size, limits

    def whole(self, progress: Progress) -> Archive:
        """Return the archive, or raise InputError."""
        members = self._members()
        manifest = self._manifest(members)
        told = self._told(manifest, members)
        rows: dict[str, list[Row]] = {name: [] for name in CONTENT}
        files = []
        for k, (name, (digest, size)) in enumerate(told.items()):
            progress("looking at the archive", k / len(told))
            if name.startswith("rows/"):
                data = self._bytes(members[name], size)
                self._hold(name, digest, sha256(data).hexdigest())
                table = name.removeprefix("rows/").removesuffix(".jsonl")
                rows[table] = self._rows(name, table, data)
            else:
                self._hold(name, digest, self._digest(members[name], size))
                self._hold(name, digest, name.removeprefix("files/"))
                files.append(digest)
        version = manifest.get("version")
        return Archive(rows, tuple(files), version if isinstance(version, str) else "", self._file(members))

    def _members(self) -> dict[str, zipfile.ZipInfo]:
        """Return the members by name, after a look at what the archive says of itself."""
        infos = self.archive.infolist()
        if len(infos) > self.limits.members:
            raise _wrong(self.file, f"holds more than {self.limits.members:,} members", "Give an export")
        found: dict[str, zipfile.ZipInfo] = {}
        for info in infos:
            shown = info.filename[:80]
            if info.filename != MANIFEST and not _NAME.fullmatch(info.filename):
                raise _wrong(self.file, "holds a member that no logbook has", "Give an export", shown)
            if info.filename in found:
                raise _wrong(self.file, "holds a member twice", AGAIN, shown)
            if info.flag_bits & 0x1 or info.compress_type not in _KINDS:
                raise _wrong(self.file, "holds a member that is locked or packed strangely", AGAIN, shown)
            if info.file_size > self.limits.member_bytes:
                cure = f"A member may have {self.limits.member_bytes:,} bytes"
                raise _wrong(self.file, "holds a member that is too large", cure, shown)
            found[info.filename] = info
        total = sum(info.file_size for info in infos)
        if total > self.limits.total_bytes or total > max(FREE_BYTES, self.limits.ratio * self.size):
            cure = "Give an export; this one would unpack to far more than a logbook holds"
            raise _wrong(self.file, "unpacks to too much", cure, f"{total:,} bytes")
        return found

    def _manifest(self, members: Mapping[str, zipfile.ZipInfo]) -> Mapping[str, Any]:
        info = members.get(MANIFEST)
        if info is None:
            raise _wrong(self.file, "is no archive of a logbook: it has no manifest", "Give an export")
        if info.file_size > self.limits.manifest_bytes:
            raise _wrong(self.file, "has a manifest that is too large", "Give an export")
        manifest = self._json(MANIFEST, self._bytes(info, info.file_size))
        form = manifest.get("overarm_logbook") if isinstance(manifest, dict) else None
        if isinstance(form, bool) or not isinstance(form, int) or form < 1:
            raise _wrong(self.file, "is no archive of a logbook", "Give an export")
        if form > ARCHIVE_FORM:
            cure = "Use the version of Overarm that wrote it, or a newer one"
            raise _wrong(self.file, "was written by a newer Overarm", cure, f"form {form}")
        found: Mapping[str, Any] = manifest
        return found

    def _told(
        self, manifest: Mapping[str, Any], members: Mapping[str, zipfile.ZipInfo]
    ) -> dict[str, tuple[str, int]]:
        """Return hash and size of each member as the manifest has them; every member must be there."""
        listed = manifest.get("members")
        if not isinstance(listed, dict) or set(listed) != set(members) - {MANIFEST}:
            raise _wrong(self.file, "has other members than its manifest says", AGAIN)
        found: dict[str, tuple[str, int]] = {}
        for name, told in listed.items():
            table = name.removeprefix("rows/").removesuffix(".jsonl")
            if name.startswith("rows/") and table not in CONTENT:
                raise _wrong(self.file, "holds rows of a table that no logbook has", "Give an export", name)
            digest = told.get("sha256") if isinstance(told, dict) else None
            if not isinstance(digest, str) or told.get("bytes") != members[name].file_size:
                raise _wrong(self.file, "has a member of another size than its manifest says", AGAIN, name)
            found[name] = (digest, members[name].file_size)
        return found

    def _blocks(self, info: zipfile.ZipInfo, size: int) -> Iterator[bytes]:
        """Yield a member in blocks, and never more bytes than it said it has."""
        left = size
        try:
            with self.archive.open(info) as stream:
                while block := _next(stream):
                    left -= len(block)
                    if left < 0:
                        break
                    yield block
        except _BROKEN as error:
            raise _wrong(self.file, "is damaged", AGAIN, info.filename) from error
        if left != 0:
            raise _wrong(self.file, "is damaged", AGAIN, info.filename)

    def _bytes(self, info: zipfile.ZipInfo, size: int) -> bytes:
        return b"".join(self._blocks(info, size))

    def _digest(self, info: zipfile.ZipInfo, size: int) -> str:
        digest = sha256()
        for block in self._blocks(info, size):
            digest.update(block)
        return digest.hexdigest()

    def _hold(self, name: str, told: str, found: str) -> None:
        if told != found:
            raise _wrong(self.file, "is damaged: a member has another hash than it should", AGAIN, name)

    def _file(self, members: Mapping[str, zipfile.ZipInfo]) -> Callable[[str], bytes]:
        def read(name: str) -> bytes:
            info = members[f"files/{name}"]
            data = self._bytes(info, info.file_size)
            self._hold(info.filename, name, sha256(data).hexdigest())
            return data

        return read

    def _rows(self, name: str, table: str, data: bytes) -> list[Row]:
        lines = data.split(b"\n")
        if lines.pop() != b"" or len(lines) > self.limits.rows:
            raise _wrong(self.file, "holds rows that are cut off or too many", AGAIN, name)
        found = []
        for number, line in enumerate(lines, 1):
            if len(line) > self.limits.row_bytes:
                raise _wrong(self.file, "holds a row that is too large", AGAIN, f"{name}, line {number}")
            row = self._json(f"{name}, line {number}", line)
            try:
                found.append(checked_row(CONTENT[table], row))
            except InputError as error:
                first = error.problems[0]
                place = f"{name}, line {number}"
                problem = Problem(
                    f"holds a row that {first.message}", AGAIN, str(self.file), 0, 0, first.key, place
                )
                raise InputError([problem]) from error
        return found

    def _json(self, name: str, data: bytes) -> Any:
        try:
            return json.loads(data.decode("utf-8"), parse_constant=_no_constant)
        except (ValueError, RecursionError) as error:
            raise _wrong(self.file, "holds something that is no JSON", AGAIN, name) from error


def _next(stream: IO[bytes]) -> bytes:
    return stream.read(BLOCK)


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


def _wrong(file: Path, message: str, cure: str, value: str = "") -> InputError:
    return InputError([Problem(message, cure, str(file), value=value)])

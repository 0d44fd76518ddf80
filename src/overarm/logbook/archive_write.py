"""Write a whole book as one archive: a ZIP file that other programs can read as well.

Members: ``manifest.json`` with the SHA-256 and the size of each other member, ``rows/TABLE.jsonl`` with a
JSON object a line, and ``files/SHA256`` with the originals and the cleaned channels. The same book gives
the same bytes.
"""

from __future__ import annotations

import json
import os
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO, Any, NamedTuple

from sqlalchemy import Connection, Table, select

import overarm
from overarm.files import MODE, sync_folder
from overarm.logbook.ids import canonical
from overarm.logbook.store import Store
from overarm.logbook.tables import CONTENT, kept_columns
from overarm.logbook.used import used_files

ARCHIVE_FORM = 1
MANIFEST = "manifest.json"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the first time that a ZIP file knows

Progress = Callable[[str, float], None]


class Exported(NamedTuple):
    """What an export wrote."""

    counts: dict[str, int]
    files: int
    bytes: int
    sha256: str


def write_archive(connection: Connection, store: Store, target: Path, progress: Progress) -> Exported:
    """Write the book into an archive, whole or not at all; `progress` may raise to end it.

    Raises OSError if it cannot be written, InputError if a file of the book is missing or damaged.
    """
    counts: dict[str, int] = {}
    members: dict[str, dict[str, Any]] = {}
    with _streamed(target) as out:
        with zipfile.ZipFile(out, "w") as archive:
            for name, table in CONTENT.items():
                member = f"rows/{name}.jsonl"
                counts[name], members[member] = _write_rows(archive, member, connection, table)
            files = sorted(used_files(connection))
            for k, name in enumerate(files):
                progress("writing recordings", k / len(files))
                data = store.read(name)
                archive.writestr(_member(f"files/{name}"), data)
                members[f"files/{name}"] = {"sha256": name, "bytes": len(data)}
            manifest = {
                "overarm_logbook": ARCHIVE_FORM,
                "version": overarm.__version__,
                "counts": counts,
                "members": members,
            }
            archive.writestr(_member(MANIFEST), json.dumps(manifest, indent=1, sort_keys=True))
        out.flush()
        out.seek(0)
        digest = sha256()
        while block := out.read(1 << 20):
            digest.update(block)
        size = out.tell()
    return Exported(counts, len(files), size, digest.hexdigest())


def _write_rows(
    archive: zipfile.ZipFile, member: str, connection: Connection, table: Table
) -> tuple[int, dict[str, Any]]:
    digest, size, count = sha256(), 0, 0
    ask = select(*kept_columns(table)).order_by(table.c.id)
    with archive.open(_member(member), "w") as out:
        for row in connection.execute(ask).mappings():
            line = canonical(dict(row)).encode("ascii") + b"\n"
            out.write(line)
            digest.update(line)
            size, count = size + len(line), count + 1
    return count, {"sha256": digest.hexdigest(), "bytes": size}


def _member(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, _EPOCH)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = MODE << 16
    return info


@contextmanager
def _streamed(target: Path) -> Iterator[IO[bytes]]:
    """Yield a file to write, which moves into its place once the block has ended well.

    As `overarm.files.write_whole`, for what is too large for the memory.
    """
    handle, name = tempfile.mkstemp(prefix=".overarm-", dir=target.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "w+b") as out:
            yield out
            os.fsync(out.fileno())
        part.chmod(MODE)
        part.replace(target)
        sync_folder(target.parent)
    except BaseException:
        part.unlink(missing_ok=True)
        raise

"""Rows of an archive behind its hashes: a right ZIP is made around them, with the ids that follow."""

from __future__ import annotations

import io
import json
import zipfile
from hashlib import sha256
from pathlib import Path
from typing import Any

from fuzz.door import folder, given
from fuzz.field_notes import book
from overarm.logbook.batch import Added
from overarm.logbook.book import Book
from overarm.logbook.carry import export_book, import_file
from overarm.logbook.tables import CONTENT, id_of

LONGEST = 4_096
WORDS = (
    b"notes\n", b"setups\n", b"recordings\n", b"launches\n", b"predictions\n", b"evidence\n", b'"id":',
    b'"added_utc":', b"null", b'"2031-05-20T18:30:00Z"', b'"about":', b'"parts":{}', b"1e999",
    b"9223372036854775808", b"\\ud800", b"\\u0000", b"[]", b"{}",
)  # fmt: skip
UTC = '"added_utc":"2031-05-20T18:30:00.000Z"'
FILE = b"time_s,volts_v\n0,1\n1,2\n"


def seeds() -> list[bytes]:
    """Return rows: a line with the name of a table, then its rows as JSON."""
    name = sha256(FILE).hexdigest()
    note = f'{{"id":"","text":"wet","about":"","written_utc":"",{UTC}}}'
    setup = (
        f'{{"id":"{"a" * 16}","name":"x","style":"y","thrower":"","yaml":"overarm: 1","parts":{{}},{UTC}}}'
    )
    recording = (
        f'{{"id":"{name}","name":"a.csv","form":"table","start_utc":"","bytes":24,"cleaned":"{name}","channels":[],'
        f'"repairs":[],"about":{{}},"version":"1",{UTC}}}'
    )
    evidence = (
        f'{{"id":"","input":"power.thrust","value":1.5,"error":0.1,"kind":"bench","method":"m","source":"s",'
        f'"day":"","nth":1,{UTC}}}'
    )
    prediction = (
        f'{{"id":"","setup":"{"a" * 16}","seed":1,"version":"1","launches":10,"clean_low":0.1,'
        f'"clean_share":0.2,"clean_high":0.3,"quantiles":{{}},"day":{{}},{UTC}}}'
    )
    launch = (
        f'{{"id":"","recording":"{name}","number":1,"setup":null,"prediction":null,"kind":"launch",'
        f'"from_s":0.0,"to_s":1.0,"ended":"x","phases":[],"events":{{}},"estimates":{{"throw_speed_mps":{{"value":8.1}}}},"verdict":{{}},'
        f'"outcome":"","more":{{}},"flown_utc":"","thrower":"","version":"1",{UTC}}}'
    )
    return [
        text.encode("utf-8")
        for text in (
            f"notes\n{note}\n",
            f"setups\n{setup}\npredictions\n{prediction}\n",
            f"recordings\n{recording}\nlaunches\n{launch}\n",
            f"evidence\n{evidence}\n",
        )
    ]


def archive(data: bytes) -> bytes:
    """Return an archive around rows: what is told of each member is right."""
    rows: dict[str, list[bytes]] = {}
    table = "notes"
    for line in data.split(b"\n"):
        if line.decode("latin-1") in CONTENT:
            table = line.decode("latin-1")
        elif line:
            rows.setdefault(table, []).append(_with_id(table, line))
    members = {f"rows/{name}.jsonl": b"".join(line + b"\n" for line in lines) for name, lines in rows.items()}
    members[f"files/{sha256(FILE).hexdigest()}"] = FILE
    told = {name: {"sha256": sha256(held).hexdigest(), "bytes": len(held)} for name, held in members.items()}
    manifest = json.dumps({"overarm_logbook": 1, "version": "0.1.0", "members": told})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, held in (("manifest.json", manifest.encode("utf-8")), *members.items()):
            packed.writestr(zipfile.ZipInfo(name), held)
    return out.getvalue()


def _with_id(table: str, line: bytes) -> bytes:
    """Return a row with the id that follows from it, if it can be told."""
    try:
        row: Any = json.loads(line)
        found = id_of(CONTENT[table], row)
        return line if found is None else json.dumps({**row, "id": found}).encode("utf-8")
    except Exception:
        return line


def put(file: Path) -> Added:
    """Put an archive into the book, read the book through, carry it out again, and undo."""
    added = import_file(book(), file)
    if added.id is not None:
        try:
            _look(book())
        finally:
            book().undo()
    return added


def _look(opened: Book) -> None:
    from overarm.logbook.look import Wanted

    opened.search(Wanted(text="x"))
    opened.trends()
    export_book(opened, folder() / "out.zip", force=True)


def run(data: bytes) -> None:
    """Put it in."""
    given(put, archive(data), "rows.zip")

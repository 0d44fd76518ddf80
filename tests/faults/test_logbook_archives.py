"""Archives that are cut off, damaged, foreign or hostile end in a clear error, and nothing is written."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from overarm.errors import InputError
from overarm.logbook.carry import export_book, import_file
from overarm.logbook.limits import LIMITS
from tests.logbooks import content_of, put, sqlite_book

Members = dict[str, bytes]


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the bytes of a good archive."""
    folder = tmp_path_factory.mktemp("book")
    with sqlite_book(folder) as book:
        put(book)
        export_book(book, folder / "book.zip")
    return (folder / "book.zip").read_bytes()


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


def refused(home: Path, data: bytes, **limits: int) -> str:
    """Import an archive that must be refused and leave nothing behind; return what is said."""
    file = home / "given.zip"
    file.write_bytes(data)
    with sqlite_book(home) as book:
        with pytest.raises(InputError) as caught:
            import_file(book, file, limits=LIMITS._replace(**limits))
        assert not any(content_of(book, batches=True).values())
    assert not list((home / "logbook-files").glob("*/*"))
    assert not list(home.parent.rglob("evil"))
    return str(caught.value)


def members_of(data: bytes) -> Members:
    with zipfile.ZipFile(io.BytesIO(data)) as source:
        return {info.filename: source.read(info) for info in source.infolist()}


def packed(members: Members, *, seal: bool = True) -> bytes:
    """Return an archive; with ``seal``, with a manifest that fits its members."""
    members = dict(members)
    if seal:
        manifest = json.loads(members["manifest.json"])
        manifest["members"] = {
            name: {"sha256": sha256(data).hexdigest(), "bytes": len(data)}
            for name, data in members.items()
            if name != "manifest.json"
        }
        members["manifest.json"] = json.dumps(manifest).encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in members.items():
            target.writestr(name, data)
    return out.getvalue()


def first_file(members: Members) -> str:
    return next(name for name in members if name.startswith("files/"))


def changed_row(table: str, **values: Any) -> Callable[[Members], Members]:
    def change(members: Members) -> Members:
        name = f"rows/{table}.jsonl"
        first, *rest = members[name].splitlines()
        row = {**json.loads(first), **values}
        return {**members, name: b"\n".join([json.dumps(row).encode(), *rest, b""])}

    return change


HOSTILE: dict[str, tuple[Callable[[Members], Members], str]] = {
    "a path that leads out": (lambda m: {**m, "../../evil": b"x"}, "a member that no logbook has"),
    "an absolute path": (lambda m: {**m, "/etc/evil": b"x"}, "a member that no logbook has"),
    "a path in a name of ours": (lambda m: {**m, "files/../evil": b"x"}, "a member that no logbook has"),
    "a table of no book": (lambda m: {**m, "rows/imports.jsonl": b""}, "a table that no logbook has"),
    "other bytes under a hash": (lambda m: {**m, first_file(m): b"other"}, "another hash than it should"),
    "a file that is missing": (
        lambda m: {name: data for name, data in m.items() if name != first_file(m)},
        "lacks a file that it names",
    ),
    "a row that is missing": (lambda m: {**m, "rows/setups.jsonl": b""}, "which it lacks"),
    "no JSON": (lambda m: {**m, "rows/notes.jsonl": b"{]\n"}, "is no JSON"),
    "NaN": (lambda m: {**m, "rows/notes.jsonl": b"NaN\n"}, "is no JSON"),
    "deep nesting": (lambda m: {**m, "rows/notes.jsonl": b"[" * 10**5 + b"\n"}, "is no JSON"),
    "a row cut off": (lambda m: {**m, "rows/notes.jsonl": m["rows/notes.jsonl"][:-1]}, "cut off"),
    "a row that is a list": (lambda m: {**m, "rows/notes.jsonl": b"[]\n"}, "is no table"),
    "a column too many": (changed_row("notes", mood="x"), r"a column or has one too many.*|mood"),
    "an id of something else": (changed_row("notes", text="other"), "the id that follows from it"),
    "a text that is a number": (changed_row("notes", text=3), "has no text"),
    "a number that is a text": (changed_row("evidence", value="3"), "has no number"),
    "a whole number that is huge": (changed_row("launches", number=2**64), "64 bits"),
    "a hash that is none": (changed_row("recordings", id="../x"), "no hash of a file"),
    "a part that leads out": (
        changed_row("setups", parts={"../x": "0" * 64}),
        "names a file that no setup has",
    ),
    "a time that is none": (changed_row("notes", added_utc="now"), "has no time in UTC"),
    "a newer form": (
        lambda m: {**m, "manifest.json": m["manifest.json"].replace(b'logbook": 1', b'logbook": 2')},
        "was written by a newer Overarm",
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile(name: str, archive: bytes, home: Path) -> None:
    change, said = HOSTILE[name]
    assert said.split(".*|")[0] in refused(home, packed(change(members_of(archive))))


def test_the_members_are_those_of_the_manifest(archive: bytes, home: Path) -> None:
    members = members_of(archive)
    more = {**members, f"files/{sha256(b'x').hexdigest()}": b"x"}
    assert "other members than its manifest says" in refused(home, packed(more, seal=False))
    changed = {**members, "rows/notes.jsonl": b""}
    assert "another size than its manifest says" in refused(home, packed(changed, seal=False))
    name = first_file(members)
    flipped = {**members, name: members[name][:-1] + b"?"}
    assert "another hash than it should" in refused(home, packed(flipped, seal=False))
    del members["manifest.json"]
    assert "it has no manifest" in refused(home, packed(members, seal=False))


def test_twice_the_same_member(archive: bytes, home: Path) -> None:
    out = io.BytesIO(archive)
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(out, "a") as target:
        target.writestr("manifest.json", b"{}")
    assert "holds a member twice" in refused(home, out.getvalue())


def test_a_bomb(archive: bytes, home: Path) -> None:
    """A hundred megabytes of nothing pack to a thousandth of that: refused by what it says of itself."""
    members = members_of(archive)
    zeros = b"\0" * 100 * 2**20
    bomb = packed({**members, f"files/{sha256(zeros).hexdigest()}": zeros})
    assert len(bomb) < 2**20
    assert "unpacks to too much" in refused(home, bomb)


def test_a_member_that_lies_about_its_size(archive: bytes, home: Path) -> None:
    """Both places of the ZIP file that tell the size of a member are changed; no more than that is read."""
    name = first_file(members_of(archive))
    with zipfile.ZipFile(io.BytesIO(archive)) as source:
        size = source.getinfo(name).file_size
        at = source.getinfo(name).header_offset
    lying = bytearray(archive)
    central = archive.rindex(name.encode()) - 46
    for place in (at + 22, central + 24):
        assert int.from_bytes(archive[place : place + 4], "little") == size
        lying[place : place + 4] = (size - 1).to_bytes(4, "little")
    said = refused(home, bytes(lying))
    assert "another size than its manifest says" in said or "is damaged" in said


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        ({"archive_bytes": 1000}, "is larger than 1,000 bytes"),
        ({"members": 3}, "holds more than 3 members"),
        ({"member_bytes": 100}, "a member that is too large"),
        ({"total_bytes": 1000}, "unpacks to too much"),
        ({"manifest_bytes": 10}, "a manifest that is too large"),
        ({"rows": 1}, "cut off or too many"),
        ({"row_bytes": 50}, "a row that is too large"),
    ],
)
def test_limits(limits: dict[str, int], said: str, archive: bytes, home: Path) -> None:
    assert said in refused(home, archive, **limits)


@pytest.mark.parametrize("data", [b"", b"PK", b"hello", b"[]", b"SQLite format 3\0" * 9, bytes(1000)])
def test_what_is_no_archive(data: bytes, home: Path) -> None:
    assert "is no archive" in refused(home, data)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "is no JSON"),
        ('{"a": 1}', "is no file of notes"),
        ('{"overarm_notes": 1}', "has no list"),
        ('{"overarm_notes": 1, "notes": [3]}', "note 1 cannot be read"),
        ('{"overarm_notes": 1, "notes": [{"text": 3}]}', "notes.0.text"),
        ('{"overarm_notes": 1, "notes": [{"text": "a"}, {"text": " "}]}', "a note needs text"),
        ('{"overarm_notes": 1, "notes": [{"text": "a", "written_utc": "soon"}]}', "is no time"),
        ('{"a":' * 100_000, "is no JSON"),
    ],
)
def test_notes_that_are_none(text: str, said: str, home: Path) -> None:
    assert said in refused(home, text.encode())


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_any_damage(data: st.DataObject, archive: bytes, home: Path) -> None:
    """Cut off anywhere, or with any byte changed: refused, or nothing of it matters."""
    if data.draw(st.booleans()):
        refused(home, archive[: data.draw(st.integers(0, len(archive) - 23))])
        return
    at = data.draw(st.integers(0, len(archive) - 1))
    changed = bytearray(archive)
    changed[at] ^= data.draw(st.integers(1, 255))
    file = home / "given.zip"
    file.write_bytes(bytes(changed))
    with sqlite_book(home) as book:
        try:
            import_file(book, file)
        except InputError:
            assert not any(content_of(book, batches=True).values())
        else:  # a date, or a bit that nothing reads
            assert book.tidy().sound
            book.undo()

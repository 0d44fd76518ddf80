"""Files that are written whole or not at all: what is left when each step fails."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from overarm.files import file_stem, make_folder, sync_folder, write_new, write_together, write_whole

Write = Callable[[Path, bytes], None]


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def fail(*_: object, **__: object) -> None:
    raise OSError(28, "No space left on device")


def together(path: Path, data: bytes) -> None:
    write_together({path: data})


@pytest.mark.parametrize("write", [write_whole, write_new, together])
def test_what_is_written_is_there_and_readable(write: Write, tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    write(path, b"\x00new\n")
    assert path.read_bytes() == b"\x00new\n"
    assert path.stat().st_mode & 0o777 == 0o644
    assert path.stat().st_nlink == 1
    assert names(tmp_path) == ["a.bin"]


@pytest.mark.parametrize("write", [write_whole, together])
def test_an_old_file_is_replaced(write: Write, tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    path.write_bytes(b"a longer old one")
    write(path, b"new")
    assert path.read_bytes() == b"new"
    assert names(tmp_path) == ["a.bin"]


@pytest.mark.parametrize("write", [write_whole, together])
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failing_step_keeps_the_old_file(
    write: Write, step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.bin"
    path.write_bytes(b"old")
    with monkeypatch.context() as broken:
        broken.setattr(os, "fsync", fail) if step == "fsync" else broken.setattr(
            Path, "replace", refusing(path)
        )
        with pytest.raises(OSError, match="No space left"):
            write(path, b"new")
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["a.bin"]


def refusing(path: Path) -> Callable[[Path, Path], Path]:
    """Return a `Path.replace` that fails the first time that something moves to a path."""
    move, asked = Path.replace, []

    def replace(part: Path, target: Path) -> Path:
        if target == path and not asked:
            asked.append(target)
            fail()
        return move(part, target)

    return replace


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failing_step_leaves_nothing_of_a_new_file(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", no_links)
    if step == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="No space left"):
        write_new(tmp_path / "a.bin", b"new")
    assert names(tmp_path) == []


def no_links(*_: object, **__: object) -> None:
    raise PermissionError(1, "Operation not permitted")


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("there", ["file", "link", "folder"])
def test_a_name_that_is_taken_stays_as_it_is(
    links: bool, there: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.bin"
    if there == "file":
        path.write_bytes(b"mine")
    elif there == "link":
        path.symlink_to(tmp_path / "elsewhere")
    else:
        path.mkdir()
    if not links:
        monkeypatch.setattr(os, "link", no_links)
    with pytest.raises(FileExistsError):
        write_new(path, b"theirs")
    assert names(tmp_path) == ["a.bin"]
    if there == "file":
        assert path.read_bytes() == b"mine"


def test_where_there_are_no_links_a_new_file_moves_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", no_links)
    write_new(tmp_path / "a.bin", b"new")
    assert (tmp_path / "a.bin").read_bytes() == b"new"
    assert names(tmp_path) == ["a.bin"]


@pytest.mark.parametrize("second_is_there", [True, False])
def test_all_together_or_none(second_is_there: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last will not move: the first, which has moved, comes back; the second was never there."""
    first, second, third = (tmp_path / name for name in ("1", "2", "3"))
    first.write_bytes(b"old")
    if second_is_there:
        second.write_bytes(b"old too")
    before = names(tmp_path)
    monkeypatch.setattr(Path, "replace", refusing(third))
    with pytest.raises(OSError, match="No space left"):
        write_together(dict.fromkeys((first, second, third), b"new"))
    assert first.read_bytes() == b"old"
    assert names(tmp_path) == before


def test_an_old_file_that_does_not_come_back_is_kept_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk fails for good after the first of two moves."""
    first, second = tmp_path / "1", tmp_path / "2"
    first.write_bytes(b"old")
    move, moves = Path.replace, []

    def once(part: Path, target: Path) -> Path:
        moves.append(target)
        if len(moves) > 1:
            fail()
        return move(part, target)

    monkeypatch.setattr(Path, "replace", once)
    with pytest.raises(OSError, match="No space left") as caught:
        write_together(dict.fromkeys((first, second), b"new"))
    (spare,) = set(names(tmp_path)) - {"1"}
    assert (tmp_path / spare).read_bytes() == b"old"
    assert spare in caught.value.__notes__[0]


def test_ctrl_c_between_two_files_brings_the_first_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = tmp_path / "1", tmp_path / "2"
    first.write_bytes(b"old")
    move = Path.replace

    def interrupted(part: Path, target: Path) -> Path:
        if target == second:
            raise KeyboardInterrupt
        return move(part, target)

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_together({first: b"new", second: b"new"})
    assert first.read_bytes() == b"old"
    assert names(tmp_path) == ["1"]


def test_a_folder_in_the_way_of_one_stays(tmp_path: Path) -> None:
    first, second = tmp_path / "1", tmp_path / "2"
    second.mkdir()
    with pytest.raises(OSError, match="2"):
        write_together({first: b"new", second: b"new"})
    assert names(tmp_path) == ["2"]
    assert second.is_dir()


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Kestrel-sized wing", "kestrel-sized-wing-plan"),
        ("../../etc/passwd", "etc-passwd-plan"),
        ("Чайка 2", "чайка-2-plan"),
        ("\x00///", "setup-plan"),
        ("x" * 500, "x" * 60 + "-plan"),
        ("鶴" * 60, "鶴" * 40 + "-plan"),  # 3 bytes each; a folder takes 255 bytes of name
    ],
)
def test_file_names(name: str, stem: str) -> None:
    assert file_stem(name, "plan") == stem


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the list to which each thing that goes down to the disk, and each move, adds its name."""
    found: list[str] = []
    sync, replace, link = os.fsync, os.replace, os.link

    def synced(handle: int) -> None:
        found.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        sync(handle)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "replace", lambda *a: (found.append("moves"), replace(*a))[1])
    monkeypatch.setattr(os, "link", lambda *a: (found.append("moves"), link(*a))[1])
    return found


@pytest.mark.parametrize("write", [write_whole, write_new, together])
def test_the_file_is_on_the_disk_before_it_moves_and_its_name_after(
    write: Write, tmp_path: Path, steps: list[str]
) -> None:
    """POSIX promises a name in a folder only once the folder was synced, as its rationale of fsync has it."""
    write(tmp_path / "a.bin", b"new")
    assert steps == ["file", "moves", "folder"]


def test_files_of_two_folders_sync_both(tmp_path: Path, steps: list[str]) -> None:
    make_folder(tmp_path / "a" / "b")
    assert steps == ["folder", "folder"]  # that which holds b, and that which holds a
    steps.clear()
    write_together({tmp_path / "a" / "1": b"1", tmp_path / "a" / "2": b"2", tmp_path / "a" / "b" / "3": b"3"})
    assert steps == ["file"] * 3 + ["moves"] * 3 + ["folder"] * 2
    make_folder(tmp_path / "a" / "b")
    assert len(steps) == 8


@pytest.mark.parametrize(("write", "left"), [(write_whole, b"new"), (together, b"old"), (write_new, None)])
def test_a_name_that_does_not_come_down_to_the_disk_is_told(
    write: Write, left: bytes | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.bin"
    if left is not None:
        path.write_bytes(b"old")
    monkeypatch.setattr("overarm.files.sync_folder", fail)
    with pytest.raises(OSError, match="No space left"):
        write(path, b"new")
    assert names(tmp_path) == ([] if left is None else ["a.bin"])
    assert left is None or path.read_bytes() == left


def test_where_folders_cannot_be_synced_files_are_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, steps: list[str]
) -> None:
    """As on Windows, whose Python has no O_DIRECTORY."""
    monkeypatch.delattr(os, "O_DIRECTORY")
    write_whole(tmp_path / "a.bin", b"new")
    sync_folder(tmp_path)
    assert steps == ["file", "moves"]
    assert (tmp_path / "a.bin").read_bytes() == b"new"

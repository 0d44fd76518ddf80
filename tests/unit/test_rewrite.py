"""A setup file with values written anew: what stays, and a write that is whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

import overarm
from overarm.describe.change import changed
from overarm.describe.rewrite import check_new, rewritten, write_new
from overarm.errors import InputError
from tests.examples import FILES, setup_of


def test_only_the_changed_lines_move() -> None:
    before = FILES["b"].read_text("utf-8").splitlines()
    after = rewritten(FILES["b"], {"settings.start_wait": "0.75 s"}).splitlines()
    moved = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(moved) == 1
    assert moved[0][1].strip().startswith("start_wait: 0.75 s")


@pytest.mark.parametrize("letter", "abcde")
def test_nothing_changed_is_the_same_setup(letter: str, tmp_path: Path) -> None:
    file = tmp_path / "same.yaml"
    file.write_text(rewritten(FILES[letter], {}), "utf-8")
    assert overarm.load(file).hash() == overarm.load(FILES[letter]).hash()


def test_an_optional_key_is_added(tmp_path: Path) -> None:
    file = tmp_path / "more.yaml"
    changes = {"settings.early_pitch": "8 deg", "settings.early_speed": "9 m/s"}
    file.write_text(rewritten(FILES["b"], changes), "utf-8")
    assert overarm.load(file).settings.early_pitch_rad is not None


def test_comments_and_order_stay_where_they_were() -> None:
    before = FILES["b"].read_text("utf-8")
    after = rewritten(FILES["b"], {"settings.start_wait": "0.75 s", "settings.early_pitch": "8 deg"})
    comments = [line.partition("#")[2] for line in before.splitlines() if "#" in line]
    assert [line.partition("#")[2] for line in after.splitlines() if "#" in line] == comments
    keys = [line.partition(":")[0] for line in before.splitlines() if ":" in line]
    again = [line.partition(":")[0] for line in after.splitlines() if ":" in line]
    assert [key for key in again if key.strip() != "early_pitch"] == keys
    assert "  early_pitch: 8 deg" in after.splitlines()


def test_a_card_that_was_left_out_is_added(tmp_path: Path) -> None:
    changes = {
        "settings.pose_window.pitch_low": "-10 deg",
        "settings.pose_window.pitch_high": "45 deg",
        "settings.pose_window.bank": "40 deg",
    }
    file = tmp_path / "window.yaml"
    file.write_text(rewritten(FILES["b"], changes), "utf-8")
    assert overarm.load(file).hash() == changed(setup_of("b"), changes).hash()


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    file = tmp_path / "marked.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + FILES["b"].read_bytes())
    assert rewritten(file, {}) == rewritten(FILES["b"], {})


def test_a_value_in_a_list_is_changed() -> None:
    before, after = FILES["b"].read_text("utf-8"), rewritten(FILES["b"], {"power.bench.1.pull": "4.5 N"})
    assert after == before.replace("pull: 4.70 N measured", "pull: 4.5 N")


def test_an_entry_that_no_list_has_is_refused() -> None:
    with pytest.raises(InputError, match="cannot be changed there"):
        rewritten(FILES["b"], {"site.obstacles.1.height": "12 m"})


def test_a_comment_stands_before_the_old_one_and_above_a_list() -> None:
    comments = {"thrower.hand_deceleration": "new", "power.bench": "over", "airframe.mass": "weighed"}
    changes = {"thrower.hand_deceleration": "30 m/s2", "thrower.release_speed": "8 m/s"}
    text = rewritten(FILES["b"], changes, comments | {"thrower.release_speed": "alone"})
    assert "hand_deceleration: 30 m/s2" in text
    assert "# new; from slow-motion video of five throws, motor unplugged\n" in text
    assert "release_speed: 8 m/s # alone\n" in text.replace("m/s  #", "m/s #")
    assert "  # over\n  bench:" in text
    assert "# weighed; all-up, on scales" in text


def test_a_card_of_its_own_is_written_into_the_text(tmp_path: Path) -> None:
    text = FILES["b"].read_text("utf-8")
    start, end = text.index("settings:"), text.index("\nsite:")
    card = "\n".join(line[2:] for line in text[start:end].splitlines()[1:])
    (tmp_path / "card.yaml").write_text(card + "\n", "utf-8")
    file = tmp_path / "split.yaml"
    file.write_text(f"{text[:start]}settings: card.yaml\n{text[end:]}", "utf-8")
    assert overarm.load(file).hash() == overarm.load(FILES["b"]).hash()
    whole = tmp_path / "whole.yaml"
    whole.write_text(rewritten(file, {"settings.start_wait": "0.75 s"}), "utf-8")
    assert overarm.load(whole).settings.start_wait_s.value == pytest.approx(0.75)
    assert "start_wait: 0.75 s" not in (tmp_path / "card.yaml").read_text("utf-8")


def test_a_change_inside_a_value_is_refused() -> None:
    with pytest.raises(InputError, match="cannot be changed there"):
        rewritten(FILES["b"], {"settings.start_wait.deeper": "1 s"})


def test_an_existing_file_is_never_touched(tmp_path: Path) -> None:
    setup, target = tmp_path / "a.yaml", tmp_path / "b.yaml"
    setup.write_text("x", "utf-8")
    target.write_text("mine", "utf-8")
    with pytest.raises(InputError, match="is there already"):
        write_new(setup, target, "new")
    assert target.read_text("utf-8") == "mine"


def test_a_file_that_appears_meanwhile_is_not_touched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup, target = tmp_path / "a.yaml", tmp_path / "b.yaml"
    setup.write_text("x", "utf-8")

    def late(_source: object, place: Path) -> None:
        Path(place).write_text("theirs", "utf-8")
        raise FileExistsError(17, "File exists")

    monkeypatch.setattr(os, "link", late)
    with pytest.raises(InputError, match="is there already"):
        write_new(setup, target, "new")
    assert target.read_text("utf-8") == "theirs"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.yaml", "b.yaml"]


def test_a_failing_write_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    setup, target = tmp_path / "a.yaml", tmp_path / "b.yaml"
    setup.write_text("x", "utf-8")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="No space left on device"):
        write_new(setup, target, "new")
    assert [path.name for path in tmp_path.iterdir()] == ["a.yaml"]


def test_a_folder_without_second_names_gets_it_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup, target = tmp_path / "a.yaml", tmp_path / "b.yaml"
    setup.write_text("x", "utf-8")

    def refuse(_source: object, _place: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    write_new(setup, target, "new")
    assert target.read_text("utf-8") == "new"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.yaml", "b.yaml"]


def test_a_written_file_is_whole_and_readable(tmp_path: Path) -> None:
    setup, target = tmp_path / "a.yaml", tmp_path / "b.yaml"
    setup.write_text("x", "utf-8")
    write_new(setup, target, "name: Übung\n")
    assert target.read_text("utf-8") == "name: Übung\n"
    assert target.stat().st_mode & 0o777 == 0o644
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.yaml", "b.yaml"]


def test_a_dangling_link_is_not_followed(tmp_path: Path) -> None:
    setup, target = tmp_path / "a.yaml", tmp_path / "b.yaml"
    setup.write_text("x", "utf-8")
    target.symlink_to(tmp_path / "elsewhere.yaml")
    with pytest.raises(InputError, match="is there already"):
        write_new(setup, target, "new")
    assert not (tmp_path / "elsewhere.yaml").exists()


def test_targets_are_checked(tmp_path: Path) -> None:
    setup = tmp_path / "a.yaml"
    setup.write_text("x", "utf-8")
    check_new(setup, tmp_path / "b.yml")
    refusals = (("b.txt", "no name of a setup"), ("sub/b.yaml", "another folder"), ("a.yaml", "there"))
    for name, said in refusals:
        with pytest.raises(InputError, match=said):
            check_new(setup, tmp_path / name)

"""What the logbook says on a screen."""

from __future__ import annotations

from overarm.logbook import words
from overarm.logbook.tidy import Tidied
from overarm.logbook.trends import Trend
from overarm.logbook.undo import Kept, Undone

SOUND = Tidied((), (), (), (), (), ())


def test_a_book_that_was_looked_over() -> None:
    assert words.tidied(SOUND) == "good   every file is there and is what was put in"
    bad = SOUND._replace(missing=("a" * 64,), damaged=("b" * 64,), database=("row 3 missing",))
    lines = words.tidied(bad).splitlines()
    assert [line.partition(":")[0] for line in lines[:3]] == [
        "STOP   missing file",
        "STOP   damaged file",
        "STOP   database",
    ]
    assert lines[3].strip() == "bring the files back from a copy, or import an export of the book"
    spare = words.tidied(SOUND._replace(unused=("c",), unfinished=("d",)))
    assert spare.endswith("2 files that nothing names; they do no harm; remove them with --remove")
    gone = words.tidied(SOUND._replace(unused=("c",), removed=("c",)))
    assert gone.endswith("1 files that nothing names were removed")


def test_an_undo_says_what_it_left() -> None:
    said = words.undone(Undone("x", 3, {"launches": 2, "notes": 1}, (Kept("setups", "f" * 64, 2),)))
    assert said.splitlines() == [
        "batch 3 taken back: 2 launches, 1 note removed",
        "kept: setup ffffffffffff, which batch 2 uses or brought too",
    ]


def trend(**more: object) -> Trend:
    told = {
        "day": "", "launches": 3, "throw_speed_mps": 8.25, "throw_speed_scatter_mps": 0.5,
        "start_delay_s": None, "start_delay_scatter_s": None, "foretold": 0, "expected_clean": None,
        "happened_clean": None, "brier": None, **more,
    }  # fmt: skip
    return Trend(**told)  # type: ignore[arg-type]


def test_trends_as_a_table() -> None:
    assert words.trend_table([], trend(launches=0)) == "no launches in this book"
    plain = words.trend_table([trend(day="2031-05-20", throw_speed_scatter_mps=None)], trend())
    assert plain.splitlines()[1].split() == ["2031-05-20", "3", "8.2", "–", "0", "–", "–", "–"]
    assert plain.splitlines()[2].split()[2:5] == ["8.2", "±", "0.5"]
    assert "odds said" not in plain
    known = trend(foretold=2, expected_clean=0.9, happened_clean=0.5, brier=0.26)
    told = words.trend_table([], known)
    assert told.splitlines()[1].split()[-5:] == ["90", "%", "50", "%", "0.260"]
    assert told.endswith("Of 2 foretold launches 50 % were clean; the odds said 90 % on average.")


def test_one_thing_with_all_that_it_holds() -> None:
    row = {
        "id": "e" * 64,
        "name": "long\n" + "x" * 60,
        "yaml": "overarm: 1\nname: Kite",
        "more": {},
        "verdict": {"word": "good"},
        "estimates": {"speed": {"value": 8.4, "parts": [1.0, 2.0]}, "delay": {"value": None}},
        "spans": [{"phase": "stroke", "ends": [0.1, 0.2]}, "x\x07"],
        "breaks": [0.2, 0.4],
    }
    note = {"id": "n" * 64, "written_utc": "", "about": "e" * 64, "text": "gusty"}
    lines = words.one(
        {"kind": "launches", "row": row, "related": {"notes": [note], "launches": []}}
    ).splitlines()
    assert lines[0] == f"launch {'e' * 64}"
    assert lines[1] == f"  name  long {'x' * 34}…"  # 40 letters, and no line of its own
    assert lines[2:5] == ["  yaml", "    overarm: 1", "    name: Kite"]
    assert "  more  {}" in lines
    assert lines[lines.index("  estimates") + 1 :][:4] == [
        "    speed",
        "      value  8.4",
        "      parts  1, 2",
        "    delay  value –",
    ]
    assert lines[lines.index("  spans") + 1 :][:4] == [
        "    1",
        "      phase  stroke",
        "      ends  0.1, 0.2",
        "    2  x?",
    ]
    assert lines[lines.index("notes:") + 2].split() == ["n" * 12, "–", "e" * 12, "gusty"]
    assert lines[-1].strip() == "no launches in this book"

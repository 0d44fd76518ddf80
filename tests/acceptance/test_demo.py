"""The demo: one example is sound, no single check stops the other and it fails in light wind.

That the second is a trap, that wind and a faster throttle rise cure it, and in which order, is common
practice, no source; the digits are not checked.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from overarm.cli import app
from tests.short import quick_carpets, quick_plans


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sheets")


@pytest.fixture(scope="module")
def shown(folder: Path) -> str:
    with pytest.MonkeyPatch.context() as patch:
        quick_carpets(patch)  # of the sheets it is only asked that they are written
        quick_plans(patch)
        ended = CliRunner().invoke(app, ["demo", "--launches", "1000", "--out", str(folder)])
    assert ended.exit_code == 0, ended.output
    return ended.output


def share(text: str, line: str) -> int:
    """Return the whole percent behind a line's head; "<1 %" counts as 0, ">99 %" as 100."""
    found = re.search(re.escape(line) + r" *([<>]?)(\d+) %", text)
    assert found, f"{line} is missing from\n{text}"
    return {"<": 0, ">": 100}.get(found[1], int(found[2]))


def test_the_first_is_sound_and_the_second_is_not(shown: str) -> None:
    sound, trap = shown.split("A trap:")
    assert share(sound, "Odds of a clean launch:") > 90
    assert share(trap, "Odds of a clean launch:") < 85
    assert "watch: the race." in sound
    assert "stop: the race." in trap


def test_it_says_why(shown: str) -> None:
    trap = shown.split("A trap:")[1]
    assert "No single check says stop." in trap
    calm, light, strong = (share(trap, f"{wind} m/s at 10 m") for wind in (0, 2, 6))
    assert calm < light < strong
    assert light - calm > 10
    assert share(trap, "100 %/s") > calm + 30
    assert share(trap, "150 %/s") > calm + 30


def test_it_says_where_the_sheets_are(shown: str, folder: Path) -> None:
    files = sorted(folder.iterdir())
    assert [file.suffix for file in files] == [".html", ".pdf"] * 2
    assert all(str(file) in shown and file.stat().st_size > 50_000 for file in files)
    assert "safe" not in shown.lower()

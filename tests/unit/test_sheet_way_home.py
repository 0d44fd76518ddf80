"""A launch sheet of an aeroplane that does not come home says so on its first page and ends with 3."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from typer.testing import CliRunner

from overarm.cli import app
from tests.examples import FILES


@pytest.fixture(scope="module")
def windy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """B in 11 m/s at 10 m: at 40 m that is faster than it flies, 1.3 times the stall speed of 7.8 m/s."""
    file = tmp_path_factory.mktemp("windy") / "windy.yaml"
    text = FILES["b"].read_text("utf-8")
    assert text.count("wind: 4 m/s") == 1
    file.write_text(text.replace("wind: 4 m/s", "wind: 11 m/s"), "utf-8")
    return file


def test_no_way_home_is_a_stop_on_the_first_page(windy: Path, tmp_path: Path) -> None:
    ended = CliRunner().invoke(app, ["sheet", str(windy), "--launches", "500", "--out", str(tmp_path)])
    assert ended.exit_code == 3, ended.output
    pdf = next(tmp_path.glob("*.pdf"))
    first = subprocess.run(
        ["pdftotext", "-l", "1", "-layout", str(pdf), "-"], capture_output=True, check=True, text=True
    ).stdout
    words = " ".join(first.split())
    assert "There is no way home to plan" in words
    assert "does not come home" in words
    assert "Stop" in words
    page = next(tmp_path.glob("*.html")).read_text("utf-8")
    assert "There is no way home to plan" in page

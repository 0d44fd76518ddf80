"""Words are spelt right, in documents as in Britain: codespell's lists, the American one turned round.

Words that the lists take for mistakes and that are right here stand in docs/spelling.txt.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import codespell_lib
import pytest

# American words that are British as well, in another meaning.
ALSO_BRITISH = {"analog", "artifact", "artifacts", "disk", "disks", "license", "meter", "meters", "program"}
ALSO_BRITISH |= {"math", "practice", "practices"}
OURS = {"airplane": "aeroplane", "airplanes": "aeroplanes", "airfoil": "aerofoil", "airfoils": "aerofoils"}
WORDS = "docs/spelling.txt"
SKIPPED = (
    "*/node_modules/*,*/pages/*,*.svg,*.lock,package-lock.json,*.ttf,*.otf,*.woff2,*.png,*/__pycache__/*"
)
CODE_IN_A_LINE = "`[^`]*`"


def american(folder: Path) -> Path:
    """Write a list of American spellings with their British ones, in codespell's own form."""
    data = Path(codespell_lib.__file__).parent / "data" / "dictionary_en-GB_to_en-US.txt"
    pairs = [line.split("->") for line in data.read_text("utf-8").split()]
    turned = [f"{theirs}->{ours}" for ours, theirs in pairs if theirs not in ALSO_BRITISH]
    turned += [f"{theirs}->{ours}" for theirs, ours in OURS.items()]
    file = folder / "american.txt"
    file.write_text("\n".join(turned) + "\n", "utf-8")
    return file


def misspelt(places: list[str], project: Path, *lists: Path) -> str:
    """Return what codespell finds with its own list and others, a line for each word."""
    words = [sys.executable, "-m", "codespell_lib", "-D", "-"]
    for file in lists:
        words += ["-D", str(file)]
    words += ["--ignore-words", str(project / WORDS), "--ignore-regex", CODE_IN_A_LINE]
    words += ["--skip", SKIPPED, "--quiet-level", "3"]
    found = subprocess.run(
        [*words, *places], cwd=project, capture_output=True, text=True, timeout=120, check=False
    )
    assert found.returncode in (0, 65), found.stderr
    return found.stdout


def test_words_of_the_documents_are_spelt_right(tmp_path: Path, project: Path) -> None:
    pages = [file.relative_to(project).as_posix() for file in (project / "docs").rglob("*.md")]
    pages += [file.name for file in project.glob("*.md")]
    assert misspelt(pages, project, american(tmp_path)) == ""


def test_words_of_code_and_cards_are_spelt_right(project: Path) -> None:
    """Here names of others stand, such as `color`, so American words are let pass."""
    assert misspelt(["src", "docs", "examples", "benchmarks"], project) == ""


@pytest.mark.parametrize("word", ["recieve", "color", "center", "behavior", "airplane"])
def test_a_wrong_word_is_found(word: str, tmp_path: Path, project: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(f"One {word} here.\n", "utf-8")
    assert word in misspelt([str(page)], project, american(tmp_path))


def test_every_word_of_our_list_is_needed(tmp_path: Path, project: Path) -> None:
    """A word that codespell would let pass does not belong on the list."""
    for word in (project / WORDS).read_text("utf-8").split():
        page = tmp_path / "page.md"
        page.write_text(f"{word}\n", "utf-8")
        empty = tmp_path / "docs" / "spelling.txt"
        empty.parent.mkdir(exist_ok=True)
        empty.write_text("", "utf-8")
        assert word in misspelt([str(page)], tmp_path, american(tmp_path)), word

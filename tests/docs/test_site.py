"""The site of documents builds without a warning, and its parts follow what they are made from."""

from __future__ import annotations

import re
import runpy
import subprocess
import sys
import tomllib
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

import overarm


class Links(HTMLParser):
    """The names that a page of HTML defines, and what it points at."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.targets: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for key, value in attrs:
            if key in ("id", "name") and value:
                self.names.add(value)
            if key in ("href", "src") and value:
                self.targets.add(value)


@pytest.fixture(scope="module")
def site(project: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the site once; a warning is an error."""
    out = tmp_path_factory.mktemp("site")
    words = [sys.executable, "-m", "sphinx", "--quiet", "--fail-on-warning", "--keep-going", "-b", "html"]
    built = subprocess.run(
        [*words, str(project / "docs"), str(out)], capture_output=True, text=True, timeout=300, check=False
    )
    assert built.returncode == 0, built.stdout + built.stderr
    return out


def test_every_link_inside_the_site_leads_somewhere(site: Path) -> None:
    pages = {page: Links(page.read_text("utf-8")) for page in site.rglob("*.html")}
    lost = []
    for page, found in pages.items():
        for target in found.targets:
            parts = urlsplit(target)
            if parts.scheme or parts.netloc or target == "#":
                continue
            there = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            if not there.exists() or (
                parts.fragment and there in pages and unquote(parts.fragment) not in pages[there].names
            ):
                lost.append(f"{page.relative_to(site)}: {target}")
    assert len(pages) > 80
    assert not lost


def test_nothing_is_fetched_from_elsewhere(site: Path) -> None:
    for page in site.rglob("*.html"):
        text = page.read_text("utf-8")
        assert not re.findall(r"<(?:script|link|img)[^>]+(?:src|href)=\"https?://", text), page.name


def test_the_side_bar_follows_the_index(site: Path, project: Path) -> None:
    """One caption for each heading of the index, in its order."""
    index = (project / "docs/README.md").read_text("utf-8")
    shown = (site / "README.html").read_text("utf-8")
    captions = re.findall(r'<span class="caption-text">([^<]+)</span>', shown)
    assert captions == re.findall(r"^## (.+)$", index, re.MULTILINE)


def test_formulas_are_drawn(site: Path) -> None:
    page = (site / "theory/review.html").read_text("utf-8")
    assert "<math" in page
    assert "$" not in re.sub(r"<(code|pre|script)\b.*?</\1>", "", page, flags=re.DOTALL)


def test_public_names_are_on_their_page(site: Path) -> None:
    page = (site / "reference/api.html").read_text("utf-8")
    for name in overarm.__all__:
        assert f'id="overarm.{name}"' in page


def test_the_page_of_options_is_up_to_date(project: Path) -> None:
    made = runpy.run_path(str(project / "docs/make_commands.py"))["options_page"]()
    assert (project / "docs/reference/options.md").read_text("utf-8") == made, "run `make docs`"


@pytest.fixture(scope="module")
def formulas(project: Path) -> dict[str, Any]:
    """Return the names of the program that writes the pages of formulas."""
    return runpy.run_path(str(project / "docs/make_formulas.py"))


@pytest.mark.parametrize(("name", "maker"), [("formulas", "formulas_page"), ("formulas-above", "above_page")])
def test_a_page_of_formulas_names_each_function_and_tests_that_exist(
    name: str, maker: str, formulas: dict[str, Any], project: Path
) -> None:
    """The tests beside a function may be older than the page; `make docs` and `make site` renew it."""
    page = (project / f"docs/reference/{name}.md").read_text("utf-8")
    rows = r"^- `(\w+\(.*?\))`: "
    made = formulas[maker]()
    assert re.findall(rows, page, re.MULTILINE) == re.findall(rows, made, re.MULTILINE), "run `make docs`"
    assert not re.findall(r"^- .*\n  \*Held \w+\* $", made, re.MULTILINE), "a formula that no test comes near"
    for test in re.findall(r"`((?:verification|property|validation|unit|acceptance)/test_\w+)`", page):
        assert (project / f"tests/{test}.py").is_file(), f"{test}: run `make docs`"


def test_each_file_with_formulas_has_a_theory_page_that_names_its_room(
    formulas: dict[str, Any], project: Path
) -> None:
    for module in formulas["modules_above"]():
        room = ".".join(module.split(".")[:2])
        page = (project / f"docs/theory/{formulas['theory_of'](module)}.md").read_text("utf-8")
        assert room in page or room.replace(".", "/") in page, module


def test_the_map_is_up_to_date(project: Path) -> None:
    made = runpy.run_path(str(project / "docs/make_map.py"))["drawing"]()
    assert (project / "docs/images/rooms.svg").read_text("utf-8") == made, "run `make docs`"


def test_the_map_names_every_room(project: Path) -> None:
    rules = tomllib.loads((project / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    layers = " ".join(rules["contracts"][0]["layers"])
    picture = (project / "docs/images/rooms.svg").read_text("utf-8")
    page = (project / "docs/map.md").read_text("utf-8")
    rooms = re.findall(r"overarm\.(\w+)", layers)
    inside = (project / "src/overarm").iterdir()
    there = {found.stem for found in inside if found.suffix == ".py" or (found / "__init__.py").is_file()}
    assert there - {"__init__"} == set(rooms), "a room that no arrow holds"
    for room in rooms:
        assert f">{room}</text>" in picture
        assert f"| `{room}` |" in page or (project / f"src/overarm/{room}.py").is_file(), room


def test_files_named_on_the_map_exist(project: Path) -> None:
    page = (project / "docs/map.md").read_text("utf-8")
    rooms = re.findall(r"^\| `(\w+)` \| [^|]+ \| ([^|]+) \|", page, re.MULTILINE)
    assert len(rooms) > 12
    for room, files in rooms:
        for file in re.findall(r"`([\w./]+)`", files):
            assert (project / "src/overarm" / room / file).exists(), f"{room}/{file}"
    for place in re.findall(r"`((?:tests|docs|describe|odds|flight|recordings)/[\w./]*)`", page):
        assert any((root / place).exists() for root in (project, project / "src/overarm")), place


def test_the_verification_report_names_tests_that_exist(project: Path) -> None:
    page = (project / "docs/reference/verification.md").read_text("utf-8")
    files = re.findall(r"^`(tests/[\w/]+\.py)`$", page, re.MULTILINE)
    now = {
        file.relative_to(project).as_posix()
        for file in (project / "tests/verification").glob("test_*.py")
        if "agrees(" in file.read_text("utf-8")
    }
    assert set(files) == now, "run `make site`"
    assert len(re.findall(r"^\| .+ \| .+ \| .+ \| .+ \| (?:\d+|–) \|$", page, re.MULTILINE)) >= 60

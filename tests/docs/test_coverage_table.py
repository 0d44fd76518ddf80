"""The table of branches that `make cover` writes: rooms added up, in its place, too few an error."""

from __future__ import annotations

import json
import runpy
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def made(project: Path) -> dict[str, Any]:
    """Return the names of the program."""
    return runpy.run_path(str(project / "docs/make_coverage.py"))


def report(taken: int) -> dict[str, Any]:
    files = {
        "src/overarm/plan/a.py": {"summary": {"covered_branches": taken, "num_branches": 50}},
        "src/overarm/plan/deep/b.py": {"summary": {"covered_branches": 40, "num_branches": 40}},
        "src/overarm/files.py": {"summary": {"covered_branches": 10, "num_branches": 10}},
    }
    return {"files": files}


def test_rooms_are_added_up(made: dict[str, Any]) -> None:
    rooms = made["taken"](report(25))
    assert rooms == {"ground floor": (10, 10), "plan": (65, 90)}
    table = made["table"](rooms, "2031-05-20")
    assert "**75.0 %** of all branches (75 of 100)" in table
    assert "| plan | 90 | 72.2 % |" in table


@pytest.mark.parametrize(("taken", "code"), [(39, 1), (41, 0)])
def test_the_section_stands_in_its_place_and_too_few_is_an_error(
    made: dict[str, Any], taken: int, code: int, tmp_path: Path
) -> None:
    page, told = tmp_path / "page.md", tmp_path / "report.json"
    page.write_text("# Title\n\nWords.\n\n## Other\n\nMore.\n", "utf-8")
    told.write_text(json.dumps(report(taken)), "utf-8")
    main = made["main"]
    main.__globals__.update(PAGE=page, REPORT=told)
    assert main() == code
    first = page.read_text("utf-8")
    assert first.startswith("# Title\n\nWords.\n\n## Other\n\nMore.\n\n## Branches that")
    page.write_text(f"{first}\n## Last\n\nEnd.\n", "utf-8")
    assert main() == code
    assert page.read_text("utf-8") == f"{first}\n## Last\n\nEnd.\n"


def test_what_is_left_out_is_what_is_compiled(project: Path) -> None:
    """Each decorator of `overarm.jit`, alone on its line, and nothing that a person may add."""
    import inspect
    import re
    import tomllib

    from overarm import jit

    told = tomllib.loads((project / "pyproject.toml").read_text("utf-8"))["tool"]["coverage"]
    (kernels, overloads, typing) = told["report"]["exclude_also"]
    assert (overloads, typing) == ("^\\s*@overload$", "if TYPE_CHECKING:")
    compilers = [
        name
        for name, found in inspect.getmembers(jit, inspect.isfunction)
        if found.__module__ == jit.__name__ and list(inspect.signature(found).parameters) == ["function"]
    ]
    assert len(compilers) >= 4
    assert [name for name in compilers if not re.search(kernels, f"@{name}")] == []
    assert not re.search(kernels, "@cache")
    assert "omit" not in told["run"]
    assert "omit" not in told["report"]

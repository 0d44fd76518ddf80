"""A logbook whose writer is killed, or whose disk is full, at any step is whole, as before or as after."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

# Two processes, one a core: each does its deeds again and again in forks of its own.
SHARES = (
    ("new:kill", "new:time", "add:kill", "add:full", "add:time"),
    ("import:kill", "import:full", "import:time", "undo:kill", "undo:time"),
)
DEEDS = [deed for share in SHARES for deed in share]


@pytest.fixture(scope="module")
def states(project: Path) -> dict[str, list[str]]:
    """Return in which state the book was found after each failure, by deed and way of failing."""
    child = Path(__file__).with_name("logbook_child.py")
    environment = {**os.environ, "PYTHONPATH": str(project)}
    running = [
        subprocess.Popen(
            [sys.executable, str(child), *share],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for share in SHARES
    ]
    found: dict[str, list[str]] = {}
    for process in running:
        out, wrong = process.communicate(timeout=300)
        assert process.returncode == 0, wrong
        found |= json.loads(out)
    return found


@pytest.mark.parametrize("deed", DEEDS)
def test_whole_after_every_failure(deed: str, states: dict[str, list[str]]) -> None:
    """The child has held each book to be sound, as before or as after; doing it again completes it."""
    found = states[deed]
    if deed.endswith(":time"):
        assert len(found) == 9
        return
    assert len(found) > 30  # one a step
    assert found[0] in ("before", "after")  # a folder that cannot be made because it is there is no failure
    assert found.count("before") > 25
    assert found[-1] == "after"  # the last run had fewer steps than that and was not failed
    if deed.endswith(":kill"):  # once it has changed, it stays so: there is one moment, the commit
        assert found == sorted(found, reverse=True)

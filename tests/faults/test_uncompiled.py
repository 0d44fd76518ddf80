"""The compiled loops do what their Python says: a process without the compiler finds the same numbers.

Compiled code may add in another order and contract a product and a sum (`overarm.jit.FAST`), so the last
digits differ: along a launch by 2e-13 of the value at most where this was measured (300 launches,
2026-11-26). What no test of compiled code can show, this one does: an index beyond its array, a name that
is not there, a number divided by nothing.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests import uncompiled
from tests.reviewed import CLEAN, csv_of

CLOSE = 1e-9  # relative
NOTHING = 1e-9  # metres, seconds, radians: below it a number counts as nought


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a recording of a launch."""
    file = tmp_path_factory.mktemp("recording") / "b.csv"
    file.write_bytes(csv_of(CLEAN))
    return file


@pytest.fixture(scope="module")
def plain(recording: Path, project: Path) -> uncompiled.Found:
    """Return what a process finds that compiles nothing."""
    file = recording.with_name("found.json")
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    words = [sys.executable, "-m", "tests.uncompiled", str(recording), str(file)]
    subprocess.run(words, cwd=project, env=environment, check=True, timeout=600)
    found: uncompiled.Found = json.loads(file.read_text("ascii"))
    return found


@pytest.fixture(scope="module")
def compiled(recording: Path) -> uncompiled.Found:
    """Return what this process finds."""
    assert not uncompiled.PLAIN
    return uncompiled.everything(recording)


def test_plain_python_finds_what_machine_code_finds(
    plain: uncompiled.Found, compiled: uncompiled.Found
) -> None:
    assert plain.keys() == compiled.keys()
    for name, rows in compiled.items():
        assert len(rows) == len(plain[name]) > 0, name
        for number, (one, other) in enumerate(zip(rows, plain[name], strict=True)):
            np.testing.assert_allclose(other, one, rtol=CLOSE, atol=NOTHING, err_msg=f"{name}, row {number}")


def test_there_is_something_to_compare(compiled: uncompiled.Found) -> None:
    outcomes = {row[0] for letter in uncompiled.LETTERS for row in compiled[f"launches of {letter}"]}
    assert len(outcomes) > 1, "every launch ended alike"
    assert all(len(compiled[f"samples of {letter}"]) > 50 for letter in uncompiled.LETTERS)
    assert any(row[0] > 0 for row in compiled["levels, raw"])

"""What every test shares: floating-point traps, and the folders of the project."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

# As the command has it: every core has a test of its own, and threads that wait in a loop only take time.
# Read when numpy and the threads of compiled loops begin.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")

import numpy as np
import pytest

PROJECT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def project() -> Path:
    """Return the folder that holds pyproject.toml."""
    return PROJECT


@pytest.fixture(scope="session")
def examples(project: Path) -> Path:
    """Return the folder of the five example setups."""
    return project / "examples"


@pytest.fixture(scope="session", autouse=True)
def one_workbench() -> Iterator[None]:
    """End the workbench that tests share after the last of them, while what it did is still counted."""
    yield
    shared = sys.modules.get("tests.workbench")
    if shared is not None:
        shared.end_running()


@pytest.fixture(autouse=True)
def float_traps(request: pytest.FixtureRequest) -> Iterator[None]:
    """Make numpy raise on overflow, underflow, division by zero and NaN inside every test.

    A test that calls code of others which does such things on purpose carries
    ``@pytest.mark.plain_floats("why")``.
    """
    mark = request.node.get_closest_marker("plain_floats")
    if mark is not None:
        if not mark.args:
            pytest.fail("plain_floats needs its reason")
        yield
        return
    with np.errstate(all="raise"):
        yield

"""Ctrl-C in the first seconds, while the processes for quick questions are still starting."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.workbench import Server


@pytest.mark.parametrize("after_s", [0.0, 0.2, 0.5, 1.0])
def test_it_ends_well_however_soon_it_is_asked_to(tmp_path: Path, after_s: float) -> None:
    server = Server(tmp_path)
    time.sleep(after_s)
    code, said = server.interrupt()
    assert (code, said.removeprefix("Ctrl-C ends it.\n")) == (0, "The workbench has ended.\n")

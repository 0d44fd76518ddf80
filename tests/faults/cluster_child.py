"""Run by test_cluster.py as a process of its own: what this machine says without a cluster.

A process of tests may have compiled the engine itself, and one that does may differ in the last digits from
all that load it (docs/reference/faults.md). This one loads it.

    python cluster_child.py FOLDER
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any
from unittest import mock

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import overarm
from overarm.cluster.marks import ENGINE
from overarm.cluster.tasks import COMPILE
from overarm.describe.derived import derive
from overarm.fleet.folder import opened
from overarm.fleet.run import fly_study
from overarm.fleet.study import load_study
from overarm.flight.campaign import CHUNK
from overarm.jit import compiled_before
from overarm.odds.flyers import HERE, Flyers
from overarm.odds.run import odds
from overarm.odds.what_if import what_if
from overarm.settings.find import find_settings
from overarm.settings.search import Effort

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LAUNCHES = 2 * CHUNK + 500
TINY = Effort(launches=100, generations=1, population=4, fine_launches=150)
PROOF_LAUNCHES = 400


def bytes_of(answer: Any) -> bytes:
    """Return an answer as it would be printed."""
    return json.dumps(answer.to_dict(), allow_nan=False).encode()


def campaign(flyers: Flyers = HERE, **how: Any) -> bytes:
    """Return the odds of B."""
    return bytes_of(odds(overarm.load(EXAMPLES / "b-kestrel.yaml"), LAUNCHES, 1, flyers=flyers, **how))


def change(flyers: Flyers = HERE) -> bytes:
    """Return what a later start does to A."""
    later = {"settings.start_wait": "0.9 s"}
    return bytes_of(what_if(overarm.load(EXAMPLES / "a-sparrow.yaml"), later, 1000, 1, flyers=flyers))


def search(flyers: Flyers = HERE) -> bytes:
    """Return settings of A, searched with little effort."""
    setup = overarm.load(EXAMPLES / "a-sparrow.yaml")
    with mock.patch("overarm.settings.proof.PROOF_LAUNCHES", PROOF_LAUNCHES):
        return bytes_of(find_settings(setup, derive(setup), 3, effort=TINY, launches=500, flyers=flyers))


def main(folder: Path) -> None:
    """Write all answers into a folder; the study in it is flown into ``here``."""
    if not compiled_before(ENGINE):
        subprocess.run(COMPILE, capture_output=True, check=True)
    for made in (campaign, change, search):
        (folder / f"{made.__name__}.json").write_bytes(made())
    with opened(folder / "here") as place:
        (folder / "study.json").write_bytes(bytes_of(fly_study(load_study(folder / "study.yaml"), place)))


if __name__ == "__main__":
    main(Path(sys.argv[1]))

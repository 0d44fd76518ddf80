"""By what a job is called: the name in its setup, as YAML has it. Its folder is on the disk."""

from __future__ import annotations

from pathlib import Path

import pytest
from ruamel.yaml import YAML

from overarm import files
from overarm.app.folders import folders_in
from overarm.app.jobs.queue import Jobs
from overarm.app.limits import LIMITS
from overarm.app.store.orders import LONGEST_NAME, Order, name_in
from overarm.app.store.uploads import Uploads


@pytest.mark.parametrize(
    "line",
    [
        "name: Kite",
        "name:   Möwe von gestern   # a word",
        "name: 'Tom''s kite'",
        "name: 'a # b'",
        'name: "say \\"hi\\", C:\\\\x" # c',
        "name: (test) 3",
        "name: club #5\r",
    ],
)
def test_the_name_is_what_a_reader_of_yaml_finds(line: str) -> None:
    """Source: ruamel.yaml, a reader of YAML 1.2."""
    text = f"overarm: 1\n{line}\nairframe:\n  name: not this\n"
    assert name_in(text) == YAML(typ="safe", pure=True).load(text)["name"]


@pytest.mark.parametrize(
    "text", ["", "name:", "name: # none", "name: >-\n  folded\n", "name: {a: 1}", "x: 1\n  name: in a card"]
)
def test_without_a_plain_name_there_is_none(text: str) -> None:
    assert name_in(text) == ""


def test_a_name_is_cut_and_holds_nothing_that_cannot_be_printed() -> None:
    assert name_in("name: a\x07b") == "ab"
    assert len(name_in("name: " + "x" * 500)) == LONGEST_NAME
    assert len(name_in('name: "' + "\\" * 100_000)) == 0  # and soon


def test_the_folder_of_a_new_job_is_on_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folders = folders_in(tmp_path)
    jobs = Jobs(folders, Uploads(folders.uploads, LIMITS), LIMITS._replace(jobs_running=0))
    synced: list[Path] = []
    monkeypatch.setattr(files, "sync_folder", synced.append)
    job, _ = jobs.start(Order("logbook.carry_out", {}))
    jobs.close()
    assert folders.jobs in synced
    assert folders.jobs / job.id in synced

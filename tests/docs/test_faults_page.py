"""The table of faults tells the truth where it can be counted: its tests are there, as many as it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fuzz import TARGETS
from fuzz.hostile import INPUTS
from tests.faults.test_failing_writes import DOORS
from tests.faults.test_hostile import SAMPLE
from tests.faults.test_killed_campaign import KILLS as CAMPAIGNS
from tests.faults.test_killed_writers import KILLS as WRITERS

ROW = re.compile(
    r"\| (?P<fault>.+) \| (?P<tried>[\d ]+) \| (?P<survived>[\d ]+) \| none \| \[.+\]\((?P<test>.+)\) \|"
)


@pytest.fixture(scope="module")
def rows(project: Path) -> list[dict[str, str]]:
    """Return the rows of the table."""
    text = (project / "docs/reference/faults.md").read_text("utf-8")
    table = text.split("| --- | ---: | ---: | --- | --- |\n")[1].split("\n\n")[0].splitlines()
    found = [ROW.fullmatch(line) for line in table]
    assert all(found), "a row that says that something was lost, or has another form"
    return [match.groupdict() for match in found if match]


def tried(rows: list[dict[str, str]], fault: str) -> int:
    """Return how often a fault was tried, by the beginning of its row."""
    (row,) = (row for row in rows if row["fault"].startswith(fault))
    return int(row["tried"].replace(" ", ""))


def test_each_row_names_a_test_that_is_there(rows: list[dict[str, str]], project: Path) -> None:
    for row in rows:
        assert (project / "docs/reference" / row["test"]).is_file(), row["test"]
        assert row["tried"] == row["survived"], row["fault"]


def test_the_numbers_are_those_of_the_tests(rows: list[dict[str, str]], project: Path) -> None:
    kept = [file for file in (project / "tests/fuzz_corpus").rglob("*") if file.is_file()]
    assert tried(rows, f"Inputs that fuzzing by coverage kept, of {len(TARGETS)} doors") == len(kept)
    assert tried(rows, f"Hostile inputs from a seed, over {len(TARGETS)} doors; {SAMPLE} of") == INPUTS
    assert tried(rows, "kill -9 in `overarm odds`") == CAMPAIGNS
    assert tried(rows, "kill -9 in `overarm logbook import`") == WRITERS
    assert tried(rows, "kill -9 while sheets") == WRITERS
    for fault in ("One write", "The disk is full from a step", "What a kill would leave"):
        (row,) = (row for row in rows if row["fault"].startswith(fault))
        assert row["fault"].endswith(f"of {len(DOORS)} writers")

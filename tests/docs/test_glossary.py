"""The words that a person looks up say what the code says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from overarm.flight.outcomes import Outcome


@pytest.fixture(scope="module")
def glossary(project: Path) -> str:
    return (project / "docs/reference/glossary.md").read_text("utf-8")


def section(page: str, heading: str) -> str:
    """Return what stands under a heading, its lines joined."""
    found = re.search(rf"^## {heading}\n(.*?)(?=^## |\Z)", page, re.MULTILINE | re.DOTALL)
    assert found is not None
    return found[1]


def test_outcomes_stand_in_the_order_of_judging_with_their_reasons(glossary: str) -> None:
    told = section(glossary, "Outcomes")
    rows = re.findall(r"^\| ([a-z ]+) \| (.+) \|$", told, re.MULTILINE)[1:]
    assert rows == [
        (one.label, one.reason[0].lower() + one.reason[1:].rstrip("."))
        for one in Outcome
        if one != Outcome.CLEAN
    ]
    clean = Outcome.CLEAN.reason
    assert clean[0].lower() + clean[1:] in " ".join(told.split())


def test_a_page_of_help_names_each_outcome_but_those_of_the_computer(project: Path) -> None:
    page = (project / "docs/how-to/when-a-launch-goes-wrong.md").read_text("utf-8")
    told = re.findall(r"^\| [^|]+ \| ([a-z ]+) \| ", page, re.MULTILINE)[1:]
    assert sorted(told) == sorted(
        one.label for one in Outcome if one not in (Outcome.CLEAN, Outcome.FAILED_NUMERICALLY)
    )

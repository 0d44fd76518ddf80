"""Answers of reviews that other rooms build on."""

from __future__ import annotations

from pathlib import Path

from overarm.app.bench import Workbench
from overarm.app.problems import Refused

CONFLICT = 409
TASK = "review.review"


def review_of(here: Workbench, id_: str) -> Path:
    """Return the file with the answer of a review. Raises Refused if the job is none, or has not ended."""
    if here.jobs.find(id_).task != TASK:
        raise Refused(CONFLICT, "the job is no review", "Give the id of a review")
    return here.jobs.result(id_)

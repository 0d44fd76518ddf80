"""Plan: the climb-out and the way home."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED
from overarm.app.api.forms import ACCEPTED, Seed, WithSetup, begun
from overarm.app.bench import Here
from overarm.app.jobs.record import Job

router = APIRouter(prefix="/api/plan", tags=["plan"])


class PlanForm(WithSetup):
    """What `overarm plan` takes."""

    launches: Annotated[int, Field(ge=100, le=100_000)] = 1000
    seed: Seed = 1


@router.post("/jobs", status_code=ACCEPTED, responses=STARTED)
def plan(here: Here, form: PlanForm, response: Response) -> Job:
    """Start it; the answer is that of `overarm plan --json`, with pictures and map files beside it."""
    return begun(here, response, form, form.order("plan.plan"))

"""Odds: campaigns, what a change does, what to measure next; the fan and the samples of one launch."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED, answer
from overarm.app.api.forms import ACCEPTED, Changes, Seed, WithSetup, begun
from overarm.app.bench import Here
from overarm.app.jobs.record import Job

router = APIRouter(prefix="/api/odds", tags=["odds"])

Width = Annotated[
    float | None, Field(ge=0.001, le=0.5, description="Stop when the 95 % interval is this narrow.")
]
Launches = Annotated[int | None, Field(ge=1, le=1_000_000)]


class OddsForm(WithSetup):
    """What `overarm odds` takes."""

    launches: Launches = None
    seed: Seed = 1
    until_width: Width = None
    traces: Annotated[int, Field(ge=0, le=50)] = 0


class WhatIfForm(WithSetup):
    """What `overarm odds --set ... --vs` takes."""

    changes: Annotated[Changes, Field(min_length=1)]
    launches: Launches = None
    seed: Seed = 1
    until_width: Width = None


class MeasureForm(WithSetup):
    """What `overarm measure` takes."""

    changes: Annotated[Changes, Field(max_length=0)] = Field(default={})
    launches: Annotated[int, Field(ge=10_000, le=2_000_000)] = 120_000
    seed: Seed = 1


class FanForm(WithSetup):
    """A setup and the change of a slider; so many paths, and so many launches behind the odds."""

    seed: Seed = 1
    launches: Annotated[int, Field(ge=1, le=200)] = 50
    compared: Annotated[int, Field(ge=25, le=5000)] = 500
    points: Annotated[int, Field(ge=2, le=200)] = 60


class SceneForm(WithSetup):
    """What the pictures around the fan show: so many launches with samples, of so many that are flown."""

    seed: Seed = 1
    traced: Annotated[int, Field(ge=5, le=120)] = 60
    launches: Annotated[int, Field(ge=25, le=10_000)] = 500


class CarpetForm(WithSetup):
    """The odds over throw speed and headwind, so many launches in each cell."""

    seed: Seed = 1
    launches: Annotated[int, Field(ge=50, le=5000)] = 200


class TraceForm(WithSetup):
    """One launch of a campaign, by its number."""

    seed: Seed = 1
    launch: Annotated[int, Field(ge=0, le=2**31)] = 0


@router.post("/jobs", status_code=ACCEPTED, responses=STARTED)
def odds(here: Here, form: OddsForm, response: Response) -> Job:
    """Start the odds of a setup; the answer is that of `overarm odds --json`."""
    return begun(here, response, form, form.order("odds.odds"))


@router.post("/what-if", status_code=ACCEPTED, responses=STARTED)
def what_if(here: Here, form: WhatIfForm, response: Response) -> Job:
    """Start the comparison of a change; the answer is that of `overarm odds --set ... --vs --json`."""
    return begun(here, response, form, form.order("odds.what_if"))


@router.post("/measure", status_code=ACCEPTED, responses=STARTED)
def measure(here: Here, form: MeasureForm, response: Response) -> Job:
    """Start the question what to measure next; the answer is that of `overarm measure --json`."""
    return begun(here, response, form, form.order("odds.measure"))


@router.post("/carpet", status_code=ACCEPTED, responses=STARTED)
def carpet(here: Here, form: CarpetForm, response: Response) -> Job:
    """Start the odds over throw speed and headwind, as the launch sheet has them."""
    return begun(here, response, form, form.order("carpet.carpet"))


@router.post("/scene", responses=answer("SceneAnswer"), response_class=Response)
def scene(here: Here, form: SceneForm) -> Response:
    """Give what stands around the fan, and the race and the blade clock of the same launches."""
    return here.fly(form.order("scene.scene"))


@router.post("/fan", responses=answer("FanAnswer"), response_class=Response)
def fan(here: Here, form: FanForm) -> Response:
    """Fly a few launches at once: their paths, and with a change the difference, launch against launch."""
    return here.fly(form.order("fan.fan"))


@router.post("/trace", responses=answer("TraceAnswer"), response_class=Response)
def trace(here: Here, form: TraceForm) -> Response:
    """Fly one launch again and give its samples."""
    return here.fly(form.order("fan.trace"))

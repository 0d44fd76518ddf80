"""Review: a recording, what its columns are, and what happened in it."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED, answer
from overarm.app.api.forms import ACCEPTED, Changes, Form, Id, Line, Seed, SetupText, Text, begun
from overarm.app.bench import Here
from overarm.app.jobs.record import Job
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/review", tags=["review"])

Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e12, le=1e12)]


class ColumnsForm(Form):
    """A table that was uploaded."""

    recording: Id


class MappedColumn(Form):
    """A column that a person has confirmed; the channel without its unit, or "time" or "note"."""

    head: Line
    channel: Line
    unit: Line = ""
    scale: Number = 1.0
    offset: Number = 0.0
    sign: Literal[1, -1] = 1


class MappingForm(Form):
    """The confirmed columns, and those that are left alone."""

    lines: Annotated[list[MappedColumn], Field(min_length=1, max_length=500)]
    ignored: Annotated[list[Line], Field(max_length=500)] = Field(default=[])
    gravity_removed: bool = False
    recorder: Line = ""


class ReviewForm(Form):
    """What `overarm review` takes."""

    recording: Id
    mapping: Text = ""
    setup: SetupText | None = None
    changes: Changes = Field(default={})
    launch: Annotated[int, Field(ge=0, le=1000, description="Only this launch; 0 for all.")] = 0
    launches: Annotated[int, Field(ge=50, le=20_000)] = 250
    seed: Seed = 1


class SoundForm(Form):
    """A sound of a standing run that was uploaded."""

    recording: Id
    blades: Annotated[int, Field(ge=2, le=6)] = 2
    setup: SetupText | None = None


@router.post("/columns", responses=answer("ColumnsAnswer"), response_class=Response)
def columns(here: Here, form: ColumnsForm) -> Response:
    """Give the heads of a table and what each may be, with reasons; a person confirms them."""
    return here.ask(Order("review.columns", {}, uploads=(("recording", form.recording),)))


@router.post("/mapping", responses=answer("TextAnswer"), response_class=Response)
def mapping(here: Here, form: MappingForm) -> Response:
    """Give the text of a mapping of confirmed columns."""
    return here.ask(Order("review.mapping", form.model_dump()))


@router.post("/jobs", status_code=ACCEPTED, responses=STARTED)
def review(here: Here, form: ReviewForm, response: Response) -> Job:
    """Start the review; the answer is that of `overarm review --json`, its report is beside it."""
    order = Order(
        "review.review",
        form.model_dump(include={"changes", "launch", "launches", "seed"}),
        setup=form.setup.pair if form.setup is not None else None,
        uploads=(("recording", form.recording),),
        texts=(("mapping", "mapping.yaml", form.mapping),) if form.mapping else (),
    )
    return begun(here, response, form, order)


@router.post("/sound", status_code=ACCEPTED, responses=STARTED)
def sound(here: Here, form: SoundForm, response: Response) -> Job:
    """Start listening; the answer is that of `overarm review --sound ... --json`."""
    order = Order(
        "review.sound",
        {"blades": form.blades},
        setup=form.setup.pair if form.setup is not None else None,
        uploads=(("recording", form.recording),),
    )
    return begun(here, response, form, order)

"""Trigger: recordings through a trigger."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED, answer
from overarm.app.api.forms import ACCEPTED, Changes, Form, Id, SetupText, Text, begun
from overarm.app.bench import Here
from overarm.app.jobs.record import Job
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/trigger", tags=["trigger"])


class Labelled(Form):
    """A recording that was uploaded, and what it shows; nothing if nobody says."""

    upload: Id
    label: Literal["", "carry", "shake", "throw", "other"] = ""


class TriggerForm(Form):
    """What `overarm trigger` takes; without a setup the usual settings listen."""

    recordings: Annotated[list[Labelled], Field(min_length=1, max_length=40)]
    mapping: Text = ""
    setup: SetupText | None = None
    changes: Changes = Field(default={})


class HabitsForm(Form):
    """Recordings of one person, and the setup whose trigger listens."""

    recordings: Annotated[list[Labelled], Field(min_length=1, max_length=40)]
    setup: SetupText | None = None


@router.post("/habits", responses=answer("HabitsAnswer"), response_class=Response)
def habits(here: Here, form: HabitsForm) -> Response:
    """Give the figures of the thrower card that carries and shakes can tell, and why not the others."""
    order = Order(
        "trigger.habits",
        {"labels": [one.label for one in form.recordings]},
        setup=form.setup.pair if form.setup is not None else None,
        uploads=tuple(("recording", one.upload) for one in form.recordings),
    )
    return here.ask(order)


@router.post("/jobs", status_code=ACCEPTED, responses=STARTED)
def trigger(here: Here, form: TriggerForm, response: Response) -> Job:
    """Start it; the answer is that of `overarm trigger --json`, with ladder and map as a picture."""
    order = Order(
        "trigger.trigger",
        {"labels": [one.label for one in form.recordings], "changes": dict(form.changes)},
        setup=form.setup.pair if form.setup is not None else None,
        uploads=tuple(("recording", one.upload) for one in form.recordings),
        texts=(("mapping", "mapping.yaml", form.mapping),) if form.mapping else (),
    )
    return begun(here, response, form, order)

"""Learn: forms, and what launches and bench tests teach."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED, answer
from overarm.app.api.forms import ACCEPTED, Form, Id, Seed, SetupText, Text, begun
from overarm.app.api.reviewed import review_of
from overarm.app.bench import Here
from overarm.app.jobs.record import Job
from overarm.app.problems import Refused
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/learn", tags=["learn"])

FormName = Literal["pull", "swing", "glide", "tilt", "clear", "history"]


class LearnForm(Form):
    """What `overarm learn` takes: texts of forms, and jobs of reviews that are done."""

    setup: SetupText
    forms: Annotated[list[Text], Field(max_length=20)] = Field(default=[])
    reviews: Annotated[list[Id], Field(max_length=100, description="Ids of jobs of reviews.")] = Field(
        default=[]
    )
    launches: Annotated[int, Field(ge=0, le=200_000)] = 0
    seed: Seed = 1


@router.get("/forms/{name}", responses=answer("FormAnswer"), response_class=Response)
def form(here: Here, name: FormName) -> Response:
    """Give an empty form with usual values and a comment on each."""
    day = dt.datetime.now(dt.UTC).astimezone().date().isoformat()
    return here.ask(Order("learn.form", {"name": name, "day": day}))


@router.post("/jobs", status_code=ACCEPTED, responses=STARTED)
def learn(here: Here, form: LearnForm, response: Response) -> Job:
    """Start learning; the answer is that of `overarm learn --json`, the new setup is a file beside it."""
    if not form.forms and not form.reviews:
        raise Refused(422, "there is nothing to learn from", "Give a form or a review")
    order = Order(
        "learn.learn",
        {"launches": form.launches, "seed": form.seed},
        setup=form.setup.pair,
        texts=tuple(("form", f"form-{k + 1}.yaml", text) for k, text in enumerate(form.forms)),
        kept=tuple(
            ("review", f"review-{k + 1}.json", review_of(here, id_)) for k, id_ in enumerate(form.reviews)
        ),
    )
    return begun(here, response, form, order)

"""Field: the launch sheet, the pack for a phone, and the aircraft read back."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import STARTED, answer
from overarm.app.api.forms import ACCEPTED, Form, Id, Line, Seed, SetupText, Text, WithSetup, begun
from overarm.app.bench import Here
from overarm.app.jobs.record import Job
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/field", tags=["field"])


class SheetForm(WithSetup):
    """What `overarm sheet` and `overarm pack` take; the date is printed as it is written here."""

    date: Annotated[Line, Field(min_length=1, max_length=60)]
    launches: Annotated[int, Field(ge=1, le=1_000_000)] = 10_000
    seed: Seed = 1


class ReadbackForm(Form):
    """What `overarm readback` takes: the report, and the route that was loaded up, as uploads."""

    setup: SetupText
    report: Id
    mapping: Text = ""
    route: Id | None = None
    launches: Annotated[int, Field(ge=100, le=1_000_000)] = 10_000
    seed: Seed = 1


class DraftForm(Form):
    """A report of the aircraft that was uploaded, and the setup whose keys it is asked for."""

    setup: SetupText
    report: Id


class TiedName(Form):
    """A name of the aircraft that a person has tied to a key; its words, each with ours."""

    name: Annotated[Line, Field(min_length=1)]
    key: Line
    unit: Line = ""
    words: Annotated[dict[Line, Line], Field(max_length=20)] = Field(default={})


class TiesForm(Form):
    """The confirmed names, and those that are nothing of ours."""

    lines: Annotated[list[TiedName], Field(max_length=100)]
    ignored: Annotated[list[Line], Field(max_length=5000)] = Field(default=[])
    decimal_comma: bool = False
    aircraft: Line = ""


@router.post("/draft", responses=answer("DraftAnswer"), response_class=Response)
def draft(here: Here, form: DraftForm) -> Response:
    """Give for each key of the sheet the name that may be it and a unit; a person confirms them."""
    order = Order("field.draft", {}, setup=form.setup.pair, uploads=(("report", form.report),))
    return here.ask(order)


@router.post("/mapping", responses=answer("TextAnswer"), response_class=Response)
def mapping(here: Here, form: TiesForm) -> Response:
    """Give the text of a mapping of confirmed names."""
    return here.ask(Order("field.mapping", form.model_dump()))


@router.post("/sheet", status_code=ACCEPTED, responses=STARTED)
def sheet(here: Here, form: SheetForm, response: Response) -> Job:
    """Start the launch sheet; PDF and HTML are files beside the answer."""
    return begun(here, response, form, form.order("field.sheet"))


@router.post("/pack", status_code=ACCEPTED, responses=STARTED)
def pack(here: Here, form: SheetForm, response: Response) -> Job:
    """Start the field pack; the page for a phone is a file beside the answer."""
    return begun(here, response, form, form.order("field.pack"))


@router.post("/readback", status_code=ACCEPTED, responses=STARTED)
def readback(here: Here, form: ReadbackForm, response: Response) -> Job:
    """Start the comparison; the answer is that of `overarm readback --json`."""
    order = Order(
        "field.readback",
        {"launches": form.launches, "seed": form.seed},
        setup=form.setup.pair,
        uploads=(("report", form.report), *([("route", form.route)] if form.route else [])),
        texts=(("mapping", "mapping.yaml", form.mapping),) if form.mapping else (),
    )
    return begun(here, response, form, order)

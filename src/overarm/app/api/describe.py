"""Describe: cards, checks, units, texts with some values written anew."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import Field

from overarm.app.api.described import answer
from overarm.app.api.forms import Changes, Form, Line, Path_, SetupText, WithSetup
from overarm.app.bench import Here
from overarm.app.store.orders import Order

router = APIRouter(prefix="/api/describe", tags=["describe"])

Answers = Annotated[dict[Path_, Line], Field(max_length=40)]


class ConvertForm(Form):
    """An amount, such as "640 g", its kind and the unit that is wanted."""

    amount: Line
    dimension: Line
    unit: Line
    digits: Annotated[int, Field(ge=1, le=12)] = 4


class RewriteForm(Form):
    """A setup, and what is to stand under some of its keys; a comment behind a value if one is given."""

    setup: SetupText
    changes: Changes
    comments: Annotated[dict[Path_, Line], Field(max_length=40)] = Field(default={})


class AnswersForm(Form):
    """Answers by the keys of the questions; what is left out is taken as it is offered."""

    answers: Answers = Field(default={})


@router.get("/cards", responses=answer("CardsAnswer"), response_class=Response)
def cards(here: Here) -> Response:
    """Give the JSON Schema of a setup, with help, units, ranges, defaults and spreads."""
    return here.ask(Order("describe.cards", {}))


@router.get("/examples", responses=answer("ExamplesAnswer"), response_class=Response)
def examples(here: Here) -> Response:
    """Give the example setups."""
    return here.ask(Order("describe.examples", {}))


@router.post("/check", responses=answer("CheckAnswer"), response_class=Response)
def check(here: Here, form: WithSetup) -> Response:
    """Check a setup: derived figures and findings, or each problem with its line and column."""
    return here.ask(form.order("describe.check"))


@router.post("/convert", responses=answer("ConvertAnswer"), response_class=Response)
def convert(here: Here, form: ConvertForm) -> Response:
    """Convert an amount."""
    return here.ask(Order("describe.convert", form.model_dump()))


@router.post("/rewrite", responses=answer("TextAnswer"), response_class=Response)
def rewrite(here: Here, form: RewriteForm) -> Response:
    """Write some values of a setup anew; comments, order and everything else stay."""
    options = {"changes": dict(form.changes), "comments": dict(form.comments)}
    return here.ask(Order("describe.rewrite", options, setup=form.setup.pair))


@router.post("/questions", responses=answer("QuestionsAnswer"), response_class=Response)
def questions(here: Here, form: AnswersForm) -> Response:
    """Give the questions behind a new setup, each with its offer and what is wrong with the answer."""
    return here.ask(Order("describe.questions", form.model_dump()))


@router.post("/start", responses=answer("TextAnswer"), response_class=Response)
def start(here: Here, form: AnswersForm) -> Response:
    """Give the text of a new setup from answers."""
    return here.ask(Order("describe.start", form.model_dump()))

"""Describe: the cards, a check of a text, units, a text with some values written anew, a first setup."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import overarm
from overarm.app.child.words import told
from overarm.app.rooms.files import SETUP, setup_of
from overarm.app.rooms.tasks import Answer
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.units import Dimension


def cards(_desk: Desk, _options: dict[str, Any]) -> Answer:
    """Return the schema of the cards."""
    from overarm.app.rooms.cards import cards_schema

    return Answer({"overarm_cards": 1, "version": overarm.__version__, "schema": cards_schema()})


def check(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return what follows from a text, or everything that is wrong with it, as `overarm check --json`."""
    from overarm.describe.derived import derive
    from overarm.odds.check_answer import FORM, check_dict
    from overarm.odds.findings import findings, has_stop

    try:
        card = setup_of(options.get("changes"))
        derived = derive(card)
    except InputError as error:
        problems = told(error.problems, str(Path.cwd()))
        return Answer({"overarm_check": FORM, "good": False, "problems": problems})
    found = findings(card, derived)
    return Answer(check_dict(card, derived, found), has_stop(found))


def convert(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return an amount in SI and in another unit of its kind."""
    from overarm.units import UnitError, from_si, to_si

    dimension = _dimension(options["dimension"])
    try:
        value = to_si(options["amount"], dimension)
        text = from_si(value, dimension, options["unit"], options["digits"])
    except UnitError as error:
        reason, _, cure = str(error).partition("; ")
        raise InputError([Problem(reason, cure, key="amount", value=options["amount"])]) from None
    return Answer({"text": text, "value": value, "si": dimension.si})


def _dimension(name: str) -> Dimension:
    """Return a kind of quantity by its name. Raises InputError."""
    from overarm import units

    known = [item for item in vars(units).values() if isinstance(item, units.Dimension)]
    for item in known:
        if item.name == name:
            return item
    cure = f"Give one of {', '.join(item.name for item in known)}"
    raise InputError([Problem("is no kind of quantity", cure, key="dimension", value=name)])


def rewrite(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the text of a setup with some values written anew; comments and order stay."""
    from overarm.describe.reader import load
    from overarm.describe.rewrite import rewritten

    load(SETUP)  # says what is wrong, with its place
    return Answer({"text": rewritten(SETUP, options["changes"], options["comments"])})


def questions(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the questions behind a new setup in order, each with what is offered."""
    from overarm.describe.questions import problem_with
    from overarm.describe.questions import questions as asked

    given = options["answers"]
    answers: dict[str, str] = {}
    rows = []
    for question in asked(answers):
        offer = question.offer(answers)
        text = given.get(question.key, "").strip() or offer
        problem = problem_with(question, text, answers)
        answers[question.key] = offer if problem else text
        rows.append(
            {
                "key": question.key,
                "ask": question.ask,
                "choices": list(question.choices),
                "offer": offer,
                "answer": text,
                "problem": problem or "",
            }
        )
    return Answer({"questions": rows})


def start(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the text of a new setup from answers; what is not answered is taken as it is offered."""
    from overarm.describe.questions import answers_with
    from overarm.describe.starter import setup_text

    try:
        answers = answers_with(options["answers"])
    except ValueError as error:
        reason, _, cure = str(error).partition("; ")
        key, _, reason = reason.partition(": ")
        raise InputError([Problem(reason, cure[:1].upper() + cure[1:], key=key)]) from None
    return Answer({"name": answers["name"], "text": setup_text(answers)})


def examples(_desk: Desk, _options: dict[str, Any]) -> Answer:
    """Return the example setups with their texts."""
    from overarm.describe.examples import examples_folder
    from overarm.describe.reader import load

    rows = []
    for file in sorted(examples_folder().glob("*.yaml")):
        card = load(file)
        rows.append(
            {"file": file.name, "name": card.name, "style": card.style, "text": file.read_text("utf-8")}
        )
    return Answer({"examples": rows})

"""The few questions behind a new setup: what is asked, what is offered, and whether an answer will do.

An answer is text, as it will stand in the file; each is checked by the rule of the card that takes it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from pydantic import ValidationError

from overarm.describe.airframe import Airframe
from overarm.describe.card import Card
from overarm.describe.day import Day
from overarm.describe.faults import WORDS
from overarm.describe.line import Line
from overarm.describe.power import Power, PropellerSize
from overarm.describe.quantity import Amount
from overarm.describe.setup import Setup
from overarm.describe.thrower import Thrower

Answers = Mapping[str, str]

STYLES = {
    "throw-started": "the throw itself starts it; the motor turns when the hand is clear",
    "spin-in-hand": "a shake starts a slow rise; it is thrown under full pull",
    "line-launched": "a rubber line draws it off; the motor follows",
}
# Where the balance point and neutral point lie on the mean chord before anything is measured: own estimate.
NEUTRAL_SHARE = 0.25
MARGIN_SHARE = 0.08
TAIL_BALANCE_SHARE = 0.28
# Speed of a throw over that of one from above: own estimates.
THROWS = {"overarm": 1.0, "side": 0.8, "underarm": 0.8, "push": 0.7}

# Drives of the five example aeroplanes, roughly: own estimates.
PROPELLER_IN, PROPELLER_POWER, PITCH_SHARE = 8.2, 0.4, 0.6
CELL_STEPS_KG = (0.0, 0.15, 0.4, 1.3, 3.5, 5.0)  # a cell more above each
TIP_MPS, LOADED_SHARE, CELL_V = 145.0, 0.86, 3.93

PUSHER_IN_HAND = "spins where the arm is: refused; give tractor, or begin again with style throw-started"


class Question(NamedTuple):
    """One question: its key in the answers, where the answer goes, and what is offered."""

    key: str
    card: type[Card]
    field: str  # key in the YAML file
    ask: str
    offer: Callable[[Answers], str]
    choices: tuple[str, ...] = ()


def amount_in(card: type[Card], field: str, text: str) -> float:
    """Return the SI number of an answer that has passed its check."""
    info = next(info for info in card.model_fields.values() if info.alias == field)
    rule = info.json_schema_extra["amount"] if isinstance(info.json_schema_extra, dict) else None
    assert isinstance(rule, Amount), f"{field} is not an amount"
    return rule.parse(text).value


def _metres(answers: Answers, key: str) -> float:
    return amount_in(Airframe, key, answers[key])


def _offered(text: str) -> Callable[[Answers], str]:
    return lambda _answers: text


def _chord(of_span: float) -> Callable[[Answers], str]:
    return lambda answers: f"{1000.0 * of_span * _metres(answers, 'span'):.0f} mm"


def _sweep(answers: Answers) -> str:
    return "25 deg" if answers["layout"] == "flying wing" else "0 deg"


def mean_chord_m(answers: Answers) -> tuple[float, float]:
    """Return the mean aerodynamic chord and its leading edge behind that of the root, both in m.

    Trapezoid: c = (2/3) (cr + ct - cr ct/(cr + ct)), y = (b/6) (cr + 2 ct)/(cr + ct), x = y tan(sweep).
    Source: McCormick, Aerodynamics, Aeronautics and Flight Mechanics (1995).
    """
    root, tip, span = (_metres(answers, key) for key in ("root_chord", "tip_chord", "span"))
    chord = 2.0 / 3.0 * (root + tip - root * tip / (root + tip))
    aside = span / 6.0 * (root + 2.0 * tip) / (root + tip)
    return chord, aside * math.tan(amount_in(Airframe, "sweep", answers["sweep"]))


def _balance(answers: Answers) -> str:
    chord, leading = mean_chord_m(answers)
    share = NEUTRAL_SHARE - MARGIN_SHARE if answers["layout"] == "flying wing" else TAIL_BALANCE_SHARE
    return f"{1000.0 * (leading + share * chord):.0f} mm"


def _position(answers: Answers) -> str:
    return "tractor" if answers["style"] == "spin-in-hand" else "pusher"


def _propeller(answers: Answers) -> str:
    diameter_in = PROPELLER_IN * amount_in(Airframe, "mass", answers["mass"]) ** PROPELLER_POWER
    half_inches = max(6, round(2.0 * diameter_in))
    return f"{half_inches / 2.0:g}x{round(2.0 * PITCH_SHARE * half_inches / 2.0) / 2.0:g} in"


def _cells(answers: Answers) -> str:
    return str(sum(amount_in(Airframe, "mass", answers["mass"]) > limit_kg for limit_kg in CELL_STEPS_KG))


def _kv(answers: Answers) -> str:
    """Offer a motor with which the tips reach TIP_MPS at full throttle."""
    rpm = 60.0 * TIP_MPS / (math.pi * PropellerSize.read(answers["propeller"]).diameter_m.value)
    return f"{round(rpm / (LOADED_SHARE * CELL_V * int(answers['cells'])), -1):.0f} rpm/V"


def _speed(answers: Answers) -> str:
    from overarm.physics.hand import usual_speed

    mass = amount_in(Airframe, "mass", answers["mass"])
    return f"{usual_speed(mass, THROWS[answers['throw']]):.1f} m/s"


def _stiffness(answers: Answers) -> str:
    """Offer a line that gives about 11 m/s; six tenths of what it stores reach the model (own estimate)."""
    mass, stretch = (
        amount_in(Airframe, "mass", answers["mass"]),
        amount_in(Line, "stretch", answers["stretch"]),
    )
    wanted_npm = mass * 11.0**2 / (0.6 * stretch**2)
    return f"{min(max(wanted_npm, 0.5), 490.0):.2g} N/m"


_FIRST = (
    Question("style", Setup, "style", "How is it launched?", _offered("throw-started"), tuple(STYLES)),
    Question("name", Setup, "name", "What is it called?", _offered("my wing")),
    Question(
        "layout", Airframe, "layout", "What is it?", _offered("flying wing"), ("flying wing", "conventional")
    ),
    Question("mass", Airframe, "mass", "All-up mass on scales, flight pack in", _offered("1.0 kg")),
    Question("span", Airframe, "span", "Wing span", _offered("1.20 m")),
    Question("root_chord", Airframe, "root_chord", "Chord at the root", _chord(0.26)),
    Question("tip_chord", Airframe, "tip_chord", "Chord at the tip", _chord(0.15)),
    Question("sweep", Airframe, "sweep", "Sweep of the leading edge", _sweep),
    Question(
        "balance_point", Airframe, "balance_point", "Balance point behind the root leading edge", _balance
    ),
)
_DRIVE = (
    Question("position", Power, "position", "Where is the propeller?", _position, ("pusher", "tractor")),
    Question(
        "grip_to_disc",
        Airframe,
        "grip_to_disc",
        "From the hand along the body to the disc",
        _offered("30 cm"),
    ),
    Question("propeller", Power, "propeller", "Propeller, diameter x pitch", _propeller),
    Question("cells", Power, "cells", "Cells of the pack in series", _cells),
    Question("kv", Power, "kv", "Speed per volt of the motor (kv)", _kv),
)
_HAND = (
    Question("throw", Thrower, "throw", "How is it thrown?", _offered("overarm"), tuple(THROWS)),
    Question("release_speed", Thrower, "release_speed", "Speed over the ground at release", _speed),
)
_RUBBER = (
    Question("stretch", Line, "stretch", "Stretch of the line at the latch", _offered("8 m")),
    Question("stiffness", Line, "stiffness", "Pull per stretch", _stiffness),
)
_LAST = (Question("wind", Day, "wind", "Mean wind of the forecast, at 10 m", _offered("3 m/s")),)


def questions(answers: Answers) -> Iterator[Question]:
    """Yield the questions in order; ``answers`` is filled in by the caller while it asks."""
    yield from _FIRST
    yield from _DRIVE
    yield from _RUBBER if answers["style"] == "line-launched" else _HAND
    yield from _LAST


def problem_with(question: Question, text: str, answers: Answers) -> str | None:
    """Return what is wrong with an answer and its cure; None if it will do."""
    if question.choices and text not in question.choices:
        return f"is not one of {', '.join(question.choices)}"
    if question.key == "position" and text == "pusher" and answers["style"] == "spin-in-hand":
        return PUSHER_IN_HAND
    value = int(text) if question.key == "cells" and text.isascii() and text.isdigit() else text
    try:
        question.card.model_validate({question.field: value})
    except ValidationError as error:
        for item in error.errors():
            if item["loc"] == (question.field,) and item["type"] in WORDS:
                reason, cure = (words.format(**item.get("ctx", {})) for words in WORDS[item["type"]])
                return f"{reason}; {cure[0].lower()}{cure[1:]}"
            if item["loc"] == (question.field,):
                return str(item["msg"])
    return None


def answers_with(given: Answers) -> dict[str, str]:
    """Return all answers: those given, and what is offered for the rest.

    Raises ValueError for an unknown key, or an answer that will not do, with key and cure.
    """
    answers: dict[str, str] = {}
    for question in questions(answers):
        text = given.get(question.key, "").strip() or question.offer(answers)
        problem = problem_with(question, text, answers)
        if problem is not None:
            raise ValueError(f"{question.key}: {problem} (got {text})")
        answers[question.key] = text
    unknown = [key for key in given if key not in answers]
    if unknown:
        raise ValueError(f"{unknown[0]}: is not a question here; the questions are {', '.join(answers)}")
    return answers

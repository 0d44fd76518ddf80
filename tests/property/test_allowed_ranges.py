"""Every quantity anywhere in the range that its own card allows: figures, findings and sheet are numbers.

One or two quantities of an example move at a time; what the rules between cards refuse is passed over.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from overarm.describe.card import amount_of
from overarm.describe.cards import Setup
from overarm.describe.derived import Derived, derive
from overarm.describe.quantity import Amount, Quantity
from overarm.describe.together import CARDS, Parts, faults
from overarm.errors import InputError, Problem
from overarm.flight.inputs import inputs_of
from overarm.odds.check_answer import as_numbers
from overarm.odds.findings import findings
from overarm.odds.intervals import Interval
from overarm.sheets.chain import ChainData, Link
from overarm.sheets.content import Answer, Odds, Remark, Trail, sheet_content
from overarm.sheets.evidence import blade_data, carpet_data, fan_data, race_data, strip_data
from overarm.sheets.launches import sample_launches
from overarm.sheets.pictures import PictureData
from overarm.sheets.reading import subject_of
from tests.examples import inputs_of as inputs_of_example
from tests.examples import setup_of

TRACED = 8
CHAIN = ChainData((Link("hand", 0.99, "99 %"), Link("roll", 0.9, "90 %")), "The roll is the weakest link.")


class Place(NamedTuple):
    """Where a quantity of an example stands, and what its card allows."""

    letter: str
    path: tuple[str | int, ...]
    rule: Amount


def places(letter: str) -> list[Place]:
    found = []

    def walk(holder: Any, path: tuple[str | int, ...]) -> None:
        for field, info in type(holder).model_fields.items():
            value, rule = getattr(holder, field), amount_of(info)
            if isinstance(value, Quantity) and rule is not None:
                found.append(Place(letter, (*path, field), rule))
            elif hasattr(value, "model_copy"):
                walk(value, (*path, field))
            elif isinstance(value, tuple):
                for k, item in enumerate(value):
                    walk(item, (*path, field, k))

    walk(setup_of(letter), ())
    return found


def is_slow(place: Place) -> bool:
    """The shape of the aeroplane needs a new vortex lattice, which takes a second."""
    return place.path[0] == "airframe" and "board" not in place.path


PLACES = [place for letter in "bcd" for place in places(letter)]
QUICK = [place for place in PLACES if not is_slow(place)]
SLOW = [place for place in PLACES if is_slow(place)]


def moved(holder: Any, path: tuple[str | int, ...], value: float) -> Any:
    """Return the card with one quantity set."""
    first, *rest = path
    if isinstance(first, int):
        return (*holder[:first], moved(holder[first], tuple(rest), value), *holder[first + 1 :])
    now = getattr(holder, first)
    new = moved(now, tuple(rest), value) if rest else replace(now, value=value)
    return holder.model_copy(update={first: new})


def refused(setup: Setup) -> bool:
    cards = {key: getattr(setup, key) for key in CARDS}
    there = frozenset(key for key, card in cards.items() if card is not None)
    return bool(faults(Parts(setup.style, there, **cards)))


@cache
def flown(letter: str) -> tuple[NDArray[np.void], list[dict[str, NDArray[np.float64]]]]:
    """Return a few launches of the example as it is; the sheet looks at them with the changed cards."""
    return sample_launches(inputs_of_example(letter), 1, TRACED)


def words_of_sheet(setup: Setup, letter: str) -> str:
    derived = derive(setup)
    table, traces = flown(letter)
    subject = subject_of(setup, derived, inputs_of(setup, derived), table)
    data = PictureData(
        fan=fan_data(subject, traces),
        race=race_data(subject, table, traces),
        carpet=carpet_data(
            subject, lambda speed, wind: 1.0 / (1.0 + math.exp(-min(9.0, speed + wind - 8.0)))
        ),
        blade=blade_data(subject, table, traces),
        strip=strip_data(subject, traces, [int(outcome) for outcome in table["outcome"]]),
        chain=CHAIN,
    )
    odds = Odds(Interval(0.9, 0.85, 0.95), 3, 40, (("dipped", 0.1),))
    remarks = [Remark(item.word, item.sentence) for item in findings(setup, derived)]
    content = sheet_content(subject, Answer(odds, Trail("0", "0", 1, 1, "today"), remarks), data)
    return json.dumps(content, allow_nan=False)


def derived_or_problems(setup: Setup) -> Derived | tuple[Problem, ...]:
    try:
        return derive(setup)
    except InputError as error:
        return error.problems


def holds(changes: list[tuple[Place, float]]) -> None:
    letter = changes[0][0].letter
    setup = setup_of(letter)
    for place, value in changes:
        setup = moved(setup, place.path, value)
    if refused(setup):
        return
    derived = derived_or_problems(setup)
    if isinstance(derived, tuple):
        assert derived
        assert all(problem.message and problem.cure for problem in derived)
        return
    json.dumps(as_numbers(derived), allow_nan=False)
    for group in (
        derived.wing,
        derived.mass,
        derived.surfaces,
        derived.propeller,
        derived.motor,
        derived.pack,
    ):
        assert all(math.isfinite(number) for number in group), group
    base = inputs_of(setup, derived).base
    for name in base.dtype.names or ():
        assert all(math.isfinite(number) for number in base[name][0]), name
    for item in findings(setup, derived):
        assert all(math.isfinite(number) for number in item.numbers.values()), item
        assert not {"nan", "inf"} & set(item.sentence.lower().replace("−", " ").split()), item.sentence
    words = words_of_sheet(setup, letter).lower()
    assert " nan" not in words
    assert " inf " not in words


def one_of(some: list[Place]) -> st.SearchStrategy[tuple[Place, float]]:
    """A quantity with a value: often an end of its range, else anywhere in it."""
    return st.sampled_from(some).flatmap(
        lambda place: st.tuples(
            st.just(place),
            st.sampled_from([place.rule.low, place.rule.high]) | st.floats(place.rule.low, place.rule.high),
        )
    )


def together(some: list[Place], other: list[Place]) -> st.SearchStrategy[list[tuple[Place, float]]]:
    """One or two quantities of the same example."""
    return st.sampled_from("bcd").flatmap(
        lambda letter: st.tuples(
            one_of([place for place in some if place.letter == letter]),
            st.none() | one_of([place for place in other if place.letter == letter]),
        ).map(lambda pair: [change for change in pair if change is not None])
    )


def at(letter: str, path: str, value: float) -> tuple[Place, float]:
    """Return a quantity, named by its attributes, with a value."""
    (place,) = (p for p in PLACES if p.letter == letter and ".".join(str(part) for part in p.path) == path)
    return place, value


@settings(max_examples=60, deadline=None)
@given(together(QUICK, QUICK))
@example([at("b", "airframe.board.filter_hz", 0.0)])
@example([at("b", "settings.jerk_dwell_s", 0.0)])
@example([at("c", "settings.jerk_dwell_s", 0.0)])
@example([at("b", "settings.launch_ceiling_share", 0.5)])
@example([at("b", "day.wind_height_m", 0.5), at("b", "site.roughness_m", 0.5)])
@example([at("b", "airframe.board.filter_hz", 5e-324)])
@example([at("d", "line.stretch_m", 0.5)])
@example([at("d", "line.stretch_m", 0.5), at("d", "line.friction", 1.0)])
def test_settings_person_field_and_day(changes: list[tuple[Place, float]]) -> None:
    holds(changes)


@settings(max_examples=10, deadline=None)
@given(together(SLOW, QUICK))
def test_airframe(changes: list[tuple[Place, float]]) -> None:
    holds(changes)

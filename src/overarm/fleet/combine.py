"""From a study to its cells: each setup with each thrower, wind and change."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Any, NamedTuple

from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.document import trouble
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.fleet.study import Study, Variant, at_its_place

MOST_CELLS = 20_000
MOST_TOLD = 40
AS_IT_IS = Variant("", {}, {}, Place("", 0, 0))


class Cell(NamedTuple):
    """One combination: the names of its parts ("" where the study leaves an axis out) and its setup."""

    setup: str
    thrower: str
    wind: str
    change: str
    card: Setup


def cells_of(study: Study) -> tuple[Cell, ...]:
    """Return every cell, in the order of the file, winds and changes last.

    A setup without a thrower, launched by a line, is flown once for all throwers.
    Raises InputError with every change that does not fit, at its place in the study.
    """
    many = sum(_count(study, card) for _, card in study.setups)
    if many > MOST_CELLS:
        cure = f"Take some entries out, or make several studies; {MOST_CELLS:,} are the most"
        raise InputError([Problem("has too many cells", cure, value=f"{many:,}")])
    cells: list[Cell] = []
    problems: dict[Problem, None] = {}
    for label, card in study.setups:
        for parts in product(*_axes(study, card)):
            try:
                setup = _made(card, parts)
            except InputError as error:
                around = Place(card.origin.file, 0, 0)
                problems.update({at_its_place(item, parts, around): None for item in error.problems})
                continue
            thrower, wind, change = (part.label for part in parts)
            cells.append(Cell(label, thrower, wind, change, setup))
    if problems:
        raise InputError(list(problems)[:MOST_TOLD])
    return tuple(cells)


def _axes(study: Study, card: Setup) -> tuple[tuple[Variant, ...], ...]:
    throwers = study.throwers if card.thrower is not None else ()
    return tuple(axis or (AS_IT_IS,) for axis in (throwers, study.winds, study.changes))


def _count(study: Study, card: Setup) -> int:
    throwers, winds, changes = (len(axis) for axis in _axes(study, card))
    return throwers * winds * changes


def _made(card: Setup, parts: tuple[Variant, ...]) -> Setup:
    """Return a setup with the changes of all parts. Raises InputError if they do not fit."""
    changes: dict[str, Any] = {}
    problems = []
    for part in parts:
        for key, value in part.changes.items():
            if key in changes:
                cure = "Let one of thrower, wind and change say it"
                problems.append(trouble("is changed by two entries at once", cure, part.places[key], key))
            changes[key] = value
    if problems:
        raise InputError(problems)
    return changed(card, changes) if changes else card


def axes_used(cells: tuple[Cell, ...]) -> Iterator[str]:
    """Yield the names of the axes that tell cells apart, the setup always."""
    yield "setup"
    for axis in ("thrower", "wind", "change"):
        if any(getattr(cell, axis) for cell in cells):
            yield axis

"""Fly a study: what is known already is taken from its folder, all else is flown here or on a cluster."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator

import overarm
from overarm.errors import Cancelled, InputError
from overarm.fleet.cell import Flown, Work, fly_cell, work_of
from overarm.fleet.combine import Cell, axes_used, cells_of
from overarm.fleet.folder import Folder
from overarm.fleet.result import FleetResult, Row
from overarm.fleet.study import Study

LETTERS = 16

Asked = Callable[[], bool]
FlyCells = Callable[[Iterable[Work], Asked], Iterator[tuple[int, Flown | None]]]


def here(works: Iterable[Work], cancelled: Asked) -> Iterator[tuple[int, Flown | None]]:
    """Fly cells on this machine, one after the other on every core; fewer if cancelled."""
    for k, work in enumerate(works):
        try:
            flown = None if cancelled() else fly_cell(work, cancelled)
        except Cancelled:
            flown = None
        if flown is None:
            return
        yield k, flown


def fly_study(
    study: Study,
    folder: Folder,
    *,
    fly: FlyCells = here,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Asked | None = None,
) -> FleetResult:
    """Return what a study says.

    Parameters
    ----------
    study : Study
    folder : Folder
        Each cell is kept there as soon as it is flown; those that are there already are not flown again.
    fly : FlyCells
        Who flies: `here`, or the workers of a cluster. The answer is the same.
    progress, cancelled : callable, optional
        Told how many cells are known, of how many, and asked whether to go on.

    Raises
    ------
    InputError
        If a change does not fit, or the folder cannot be written. A setup that cannot be derived is a row
        that says why.
    """
    asked, tell = cancelled or (lambda: False), progress or (lambda _done, _of: None)
    cells = cells_of(study)
    hashes = [cell.card.hash() for cell in cells]
    known: dict[int, Flown] = {}
    refused: dict[int, str] = {}
    waiting: list[int] = []  # numbers of the cells that are given out, in that order

    def todo() -> Iterator[Work]:
        for k, cell in enumerate(cells):
            try:
                work = work_of(cell.card, study.launches, study.seed)
            except InputError as error:
                refused[k] = error.problems[0].message
                tell(len(known) + len(refused), len(cells))
                continue
            found = folder.kept(work)
            if found is not None:
                known[k] = found
                tell(len(known) + len(refused), len(cells))
                continue
            waiting.append(k)
            works[k] = work
            yield work

    works: dict[int, Work] = {}
    for number, flown in fly(todo(), asked):
        if flown is None:
            continue
        k = waiting[number]
        folder.keep(works.pop(k), flown)
        known[k] = flown
        tell(len(known) + len(refused), len(cells))
    rows = tuple(Row(*cell[:4], hashes[k], known.get(k), refused.get(k, "")) for k, cell in enumerate(cells))
    return FleetResult(
        name=study.name,
        launches=study.launches,
        seed=study.seed,
        version=overarm.__version__,
        study_hash=_study_hash(study, cells, hashes),
        axes=tuple(axes_used(cells)),
        rows=rows,
        cancelled=len(known) + len(refused) < len(cells),
    )


def _study_hash(study: Study, cells: tuple[Cell, ...], hashes: list[str]) -> str:
    """Return a short hash of all cells, their names and how they are flown."""
    named = [study.launches, study.seed, [[*cell[:4], own] for cell, own in zip(cells, hashes, strict=True)]]
    return hashlib.sha256(json.dumps(named).encode()).hexdigest()[:LETTERS]

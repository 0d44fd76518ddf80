"""The fan behind a slider: paths of a few launches before and after a change, and what it does to the odds.

What was loaded, derived and flown stays in this process, so that the next move of the slider only flies
what is new.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.app.rooms.files import setup_of
from overarm.app.rooms.tasks import Answer

if TYPE_CHECKING:
    from overarm.app.child.main import Desk
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.flight.campaign import Inputs
    from overarm.flight.paths import Paths

KEPT = 12
_Thing = TypeVar("_Thing")
_kept: OrderedDict[str, Any] = OrderedDict()


class Known(NamedTuple):
    """A setup that is ready to fly."""

    setup: Setup
    derived: Derived
    inputs: Inputs


class Flown(NamedTuple):
    """What was flown of a setup: paths to draw, and launches to compare, of which they are the first."""

    paths: Paths
    table: NDArray[np.void]


def remembered(key: object, make: Callable[[], _Thing]) -> _Thing:
    """Return what was made for a key before, or make it."""
    name = json.dumps(key, sort_keys=True)
    if name not in _kept:
        _kept[name] = make()
    _kept.move_to_end(name)
    while len(_kept) > KEPT:
        _kept.popitem(last=False)
    found: _Thing = _kept[name]
    return found


def known(options: dict[str, Any], changes: dict[str, str]) -> Known:
    """Return the setup of a task with some inputs changed, ready to fly. Raises InputError."""
    from overarm.describe.change import changed
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of

    def make() -> Known:
        card = setup_of() if not changes else changed(known(options, {}).setup, changes)
        found = derive(card)
        return Known(card, found, inputs_of(card, found))

    return remembered(["known", options["setup_key"], changes], make)


def _flown(options: dict[str, Any], changes: dict[str, str], desk: Desk) -> Flown:
    from overarm.flight.campaign import run
    from overarm.flight.paths import fly_paths

    seed, compared = options["seed"], options["compared"]

    def make() -> Flown:
        inputs = known(options, changes).inputs
        paths = fly_paths(inputs, options["launches"], seed, cancelled=desk.cancelled)
        drawn = paths.table[:compared]
        more = run(inputs, compared - len(drawn), seed, first=len(drawn))
        return Flown(paths, np.concatenate([drawn, *(chunk.table for chunk in more)]))

    key = ["flown", options["setup_key"], changes, seed, options["launches"], compared]
    return remembered(key, make)


def ready(desk: Desk, _options: dict[str, Any]) -> Answer:
    """Fly an example, so that all that is compiled is at hand before a slider moves."""
    from overarm.app.rooms.files import SETUP
    from overarm.describe.examples import FIRST, examples_folder

    SETUP.write_bytes((examples_folder() / FIRST).read_bytes())
    fan(desk, {"setup_key": "", "changes": {}, "seed": 1, "launches": 1, "compared": 25, "points": 2})
    return Answer({})


def fan(desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the fan of a setup, and with a change that of the changed one and the paired difference."""
    from overarm.odds.assess import is_clean
    from overarm.odds.paired import few_unlike_worlds, paired
    from overarm.odds.paired_words import interval_words

    changes = options["changes"]
    before = _flown(options, {}, desk)
    after = _flown(options, changes, desk) if changes else None
    card = known(options, changes).setup
    answer: dict[str, Any] = {
        "overarm_fan": 1,
        "version": overarm.__version__,
        "setup_hash": card.hash(),
        "seed": options["seed"],
        "launches": options["launches"],
        "compared": options["compared"],
        "before": _side(before, options["points"]),
        "after": None if after is None else _side(after, options["points"]),
        "difference": None,
        "difference_words": "",
    }
    if after is not None:
        world = before.table["world"]
        pair = (is_clean(before.table), is_clean(after.table), world)
        gap, few = paired(*pair), few_unlike_worlds(*pair)
        answer["difference"] = gap._asdict()
        answer["difference_words"] = interval_words(gap, few, len(np.unique(world)), len(world))
    return Answer(answer)


def _side(flown: Flown, points: int) -> dict[str, Any]:
    """Return paths with their outcomes, centimetres, and the odds of the launches that are compared."""
    from overarm.flight.outcomes import Outcome
    from overarm.odds.assess import clean_share

    every = flown.paths.points_m
    picked = np.linspace(0, every.shape[1] - 1, points).round().astype(int)
    thin = np.round(every[:, picked, :], 2)
    outcomes = flown.paths.table["outcome"]
    rows = [
        {
            "launch": int(number),
            "outcome": Outcome(int(outcomes[number])).label,
            "handed_over": bool(handed),
            "ahead_m": path[:, 0].tolist(),
            "right_m": path[:, 1].tolist(),
            "height_m": path[:, 2].tolist(),
        }
        for number, handed, path in zip(flown.paths.launch, flown.paths.handed_over, thin, strict=True)
    ]
    return {"clean": clean_share(flown.table)._asdict(), "paths": rows}


def trace(_desk: Desk, options: dict[str, Any]) -> Answer:
    """Return the samples of one launch of a campaign, by its number, and what it came to."""
    from overarm.flight.campaign import fly_one
    from overarm.flight.draw import draw
    from overarm.flight.outcomes import Outcome
    from overarm.flight.trace import as_columns, blank_trace

    one = known(options, options["changes"])
    launch, seed = options["launch"], options["seed"]
    records, _ = draw(one.inputs.base, one.inputs.rules, 1, seed, launch)
    samples = blank_trace()
    row = fly_one(one.inputs, records, seed, launch, samples)[0]
    summary = {
        name: None if name.endswith("_s") and row[name] < 0.0 else row[name].item()
        for name in row.dtype.names
        if name != "outcome"
    }
    columns = as_columns(samples)
    return Answer(
        {
            "overarm_trace": 1,
            "version": overarm.__version__,
            "setup_hash": one.setup.hash(),
            "seed": seed,
            "launch": launch,
            "outcome": Outcome(int(row["outcome"])).label,
            "summary": summary,
            "columns": {name: np.round(column, 5).tolist() for name, column in columns.items()},
        }
    )

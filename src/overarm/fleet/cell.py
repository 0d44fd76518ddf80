"""One cell of a fleet study: what is flown for it, and what it came to as plain data."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

import overarm
from overarm.flight.campaign import Inputs
from overarm.odds.assess import Known, assess
from overarm.odds.result import Campaign, OddsResult
from overarm.odds.run import draws_of, fly_until
from overarm.odds.stop import StopRule

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

Flown = dict[str, Any]


class Work(NamedTuple):
    """All that is needed to fly a cell, wherever that is."""

    setup_hash: str
    launches: int
    seed: int
    inputs: Inputs
    known: Known


def work_of(setup: Setup, launches: int, seed: int) -> Work:
    """Return the work for one setup. Raises InputError if it cannot be derived."""
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.known import known_of

    derived = derive(setup)
    inputs = inputs_of(setup, derived)
    known = known_of(setup, derived, inputs.rules)
    return Work(setup.hash(), launches, seed, inputs, known._replace(measurable=()))


def fly_cell(work: Work, cancelled: Callable[[], bool] | None = None) -> Flown | None:
    """Return what the launches of a cell came to; None if it was cancelled before the last of them.

    Raises Cancelled if it was cancelled before the first.
    """
    flown = fly_until(work.inputs, StopRule(work.launches), work.seed, None, cancelled)
    if flown.cancelled:
        return None
    table = np.concatenate([chunk.table for chunk in flown.chunks])
    campaign = Campaign(
        launches=len(table),
        worlds=len(np.unique(table["world"])),
        seed=work.seed,
        version=overarm.__version__,
        setup_hash=work.setup_hash,
        stopped_because=flown.stopped_because,
        cancelled=False,
    )
    draws = draws_of(work.inputs, flown)
    return as_data(assess(campaign, table, draws._replace(scores=draws.scores[:0]), work.known))


def as_data(result: OddsResult) -> Flown:
    """Return what a table of many setups tells of one."""
    link = result.weakest_link
    spread = result.over_worlds
    return {
        "clean": result.clean._asdict(),
        "what_we_do_not_know": {"p5": spread.p5, "p50": spread.p50, "p95": spread.p95},
        "outcomes": dict(result.outcomes),
        "weakest_link": link._asdict(),
        "low_point_height_m": None
        if result.low_point_height_m is None
        else result.low_point_height_m._asdict(),
        "unknown_input_count": len(result.inputs.guessed),
        "stops": [item.name for item in result.findings if item.word == "stop"],
    }

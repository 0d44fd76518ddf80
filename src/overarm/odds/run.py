"""From a setup to its odds: derive, draw, fly, assess."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

import overarm
from overarm.errors import Cancelled
from overarm.flight.campaign import Chunk, Inputs, trace_launch
from overarm.odds.assess import assess, is_clean
from overarm.odds.flyers import HERE, Flyers
from overarm.odds.intervals import Interval, Worlds, by_world, clustered
from overarm.odds.result import Campaign, OddsResult
from overarm.odds.sensitivity import Draws
from overarm.odds.stop import StopRule, reason_to_stop, stop_rule

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

# The scores of more launches than this are not kept; enough to rank the inputs.
MOST_SCORES = 50_000
CANCELLED = "it was cancelled"


class Progress(NamedTuple):
    """How far a campaign is, and what it says so far."""

    done: int
    at_most: int
    clean: Interval


class Flown(NamedTuple):
    """The chunks of a campaign and why it ended."""

    chunks: tuple[Chunk, ...]
    stopped_because: str
    cancelled: bool


def _together(worlds: list[Worlds]) -> Worlds:
    return Worlds(
        np.concatenate([item.clean for item in worlds]), np.concatenate([item.launches for item in worlds])
    )


def fly_until(
    inputs: Inputs,
    rule: StopRule,
    seed: int,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    flyers: Flyers = HERE,
) -> Flown:
    """Fly chunk by chunk until the rule is met or somebody cancels; what was flown is kept.

    Raises
    ------
    Cancelled
        If it was cancelled before the first chunk was done.
    """
    chunks: list[Chunk] = []
    worlds: list[Worlds] = []
    done = 0
    for chunk in flyers.chunks(inputs, rule.launches, seed, cancelled):
        done += len(chunk.table)
        chunks.append(chunk if done <= MOST_SCORES else replace(chunk, scores=chunk.scores[:0]))
        worlds.append(by_world(is_clean(chunk.table), chunk.table["world"]))
        so_far = clustered(_together(worlds))
        if progress is not None:
            progress(Progress(done, rule.launches, so_far))
        reason = reason_to_stop(rule, done, sum(len(item.launches) for item in worlds), so_far)
        if reason is not None:
            return Flown(tuple(chunks), reason, False)
    if not chunks:
        raise Cancelled("cancelled before the first launches were done")
    return Flown(tuple(chunks), CANCELLED, True)


def draws_of(inputs: Inputs, flown: Flown) -> Draws:
    """Return the names, layers and kept scores of a campaign."""
    uncertain = inputs.rules.inputs
    scores = np.concatenate([chunk.scores for chunk in flown.chunks])
    return Draws(tuple(item.name for item in uncertain), tuple(item.layer for item in uncertain), scores)


def odds(
    setup: Setup,
    launches: int | None = None,
    seed: int = 1,
    *,
    until_width: float | None = None,
    trace: int = 0,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    flyers: Flyers = HERE,
) -> OddsResult:
    """Return the odds of a clean launch of a setup.

    Parameters
    ----------
    setup : Setup
        From `overarm.load`.
    launches : int, optional
        How many to fly, or with ``until_width`` the most; 10 000, or 200 000 with ``until_width``.
    seed : int
        The same seed and setup give the same answer, on any number of cores.
    until_width : float, optional
        Stop as soon as the 95 % interval of the share is this narrow, such as 0.04.
    trace : int
        Keep the samples of this many launches, the first ones.
    progress, cancelled : callable, optional
        Told after, and asked before, each chunk of launches.
    flyers : Flyers
        Who flies: this machine, or the workers of a cluster. The answer is the same.

    Returns
    -------
    OddsResult

    Raises
    ------
    InputError
        If launches, width or the number of traces make no sense, or the setup cannot be derived.
    Cancelled
        If it was cancelled before the first launches were done.
    """
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.known import known_of

    rule = stop_rule(launches, until_width, trace)
    derived = derive(setup)
    inputs = inputs_of(setup, derived)
    flown = fly_until(inputs, rule, seed, progress, cancelled, flyers)
    table = np.concatenate([chunk.table for chunk in flown.chunks])
    campaign = Campaign(
        launches=len(table),
        worlds=len(np.unique(table["world"])),
        seed=seed,
        version=overarm.__version__,
        setup_hash=setup.hash(),
        stopped_because=flown.stopped_because,
        cancelled=flown.cancelled,
    )
    traces = tuple(trace_launch(inputs, seed, k) for k in range(min(trace, len(table))))
    return assess(campaign, table, draws_of(inputs, flown), known_of(setup, derived, inputs.rules), traces)

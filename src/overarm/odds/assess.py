"""From a table of launches to the answer; it does not matter how the table was made."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.flight.outcomes import Outcome
from overarm.odds.as_flown import as_flown
from overarm.odds.finding import Finding
from overarm.odds.intervals import Interval, by_world, clustered
from overarm.odds.layers import spread_of_odds
from overarm.odds.links import LaunchFigures, chain, weakest
from overarm.odds.result import Campaign, Inputs, OddsResult, count_outcomes, low_points
from overarm.odds.sensitivity import Draws, Measurable, contributions, measure_next


class Known(NamedTuple):
    """What is known about the setup besides its launches."""

    figures: LaunchFigures
    inputs: Inputs
    measurable: tuple[Measurable, ...] = ()
    findings: tuple[Finding, ...] = ()


def is_clean(table: NDArray[np.void]) -> NDArray[np.bool_]:
    """Return which launches were clean."""
    return np.asarray(table["outcome"] == Outcome.CLEAN)


def clean_share(table: NDArray[np.void]) -> Interval:
    """Return the share of clean launches with its interval, launches in worlds."""
    return clustered(by_world(is_clean(table), table["world"]))


def assess(
    campaign: Campaign,
    table: NDArray[np.void],
    draws: Draws,
    known: Known,
    traces: tuple[dict[str, NDArray[np.float64]], ...] = (),
) -> OddsResult:
    """Return the answer that a table of launches holds.

    Parameters
    ----------
    campaign : Campaign
    table : structured array
        One row a launch, `overarm.flight.outcomes.SUMMARY`; at least one.
    draws : Draws
        The scores of the first launches of the table (not more rows than the table).
    known : Known
    traces : tuple of dict
        Samples of the launches that were asked for.

    Returns
    -------
    OddsResult

    Raises
    ------
    ValueError
        If no launch was flown.
    """
    if not len(table):
        raise ValueError("no launch was flown, so there are no odds")
    clean = is_clean(table)
    worlds = by_world(clean, table["world"])
    spread = spread_of_odds(worlds)
    links = chain(table, known.figures.style)
    seen = len(draws.scores)
    found = contributions(clean[:seen], table["world"][:seen], draws)
    return OddsResult(
        campaign=campaign,
        clean=clustered(worlds),
        over_worlds=spread,
        outcomes=count_outcomes(table),
        links=links,
        weakest_link=weakest(table, links, known.figures),
        low_point_height_m=low_points(table),
        inputs=known.inputs,
        contributions=found,
        measure_next=measure_next(found, known.measurable, spread.sd),
        findings=(*known.findings, *as_flown(table, known.figures)),
        table=table,
        traces=traces,
    )

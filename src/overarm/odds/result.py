"""The answer to "what are the odds?": one frozen value that turns into JSON."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.flight.outcomes import Outcome
from overarm.odds.finding import Finding
from overarm.odds.format import with_interval
from overarm.odds.intervals import FEW_WORLDS, Interval
from overarm.odds.layers import OddsSpread
from overarm.odds.links import Link, WeakestLink
from overarm.odds.sensitivity import Contribution, Measurement
from overarm.odds.stop import DEFAULT_LAUNCHES

SCHEMA = 1
RELEASED_S = 0.0
MOST_FAILED = 200  # numbers of launches that are named


class Percentiles(NamedTuple):
    """The 5th, 50th and 95th percentile of a figure."""

    p5: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True)
class Campaign:
    """What was flown: so many launches, with which numbers, and why it ended."""

    launches: int
    worlds: int
    seed: int
    version: str
    setup_hash: str
    stopped_because: str
    cancelled: bool


@dataclass(frozen=True, slots=True)
class Inputs:
    """How much of the setup is guesswork."""

    count: int
    guessed: tuple[str, ...]
    one_sd: dict[str, str] = field(default_factory=dict)  # one standard deviation of an input, in its unit


@dataclass(frozen=True, slots=True)
class OddsResult:
    """Odds of a clean launch with all that stands behind them."""

    campaign: Campaign
    clean: Interval
    over_worlds: OddsSpread
    outcomes: dict[str, int]
    links: tuple[Link, ...]
    weakest_link: WeakestLink
    low_point_height_m: Percentiles | None
    inputs: Inputs
    contributions: tuple[Contribution, ...]
    measure_next: tuple[Measurement, ...]
    findings: tuple[Finding, ...]
    table: NDArray[np.void] = field(repr=False, compare=False)
    traces: tuple[dict[str, NDArray[np.float64]], ...] = field(default=(), repr=False, compare=False)

    @property
    def launches(self) -> int:
        """Return how many launches were flown."""
        return self.campaign.launches

    @property
    def has_stop(self) -> bool:
        """Return True if a finding says stop."""
        return any(item.word == "stop" for item in self.findings)

    @property
    def headline(self) -> str:
        """Return the answer in one line, such as "91 % (84 to 95) clean, 13 inputs guessed"."""
        guessed, worlds = len(self.inputs.guessed), self.campaign.worlds
        said = f"{with_interval(self.clean)} clean, {guessed} input{'' if guessed == 1 else 's'} guessed"
        if worlds >= FEW_WORLDS:
            return said
        few = "1 world" if worlds == 1 else f"{worlds} worlds"
        return f"{said}; only {few}: treat the interval as rough, run {DEFAULT_LAUNCHES:,}"

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/odds.schema.json`` describes it."""
        spread = self.over_worlds
        answer: dict[str, Any] = {
            "overarm_odds": SCHEMA,
            "launches": self.campaign.launches,
            "worlds": self.campaign.worlds,
            "seed": self.campaign.seed,
            "version": self.campaign.version,
            "setup_hash": self.campaign.setup_hash,
            "cancelled": self.campaign.cancelled,
            "stopped_because": self.campaign.stopped_because,
            "headline": self.headline,
            "clean": self.clean._asdict(),
            "what_we_do_not_know": {"p5": spread.p5, "p50": spread.p50, "p95": spread.p95},
            "outcomes": dict(self.outcomes),
            "failed_launches": failed_launches(self.table),
            "links": [link._asdict() for link in self.links],
            "weakest_link": self.weakest_link._asdict(),
            "low_point_height_m": None
            if self.low_point_height_m is None
            else self.low_point_height_m._asdict(),
            "inputs": self.inputs.count,
            "unknown_inputs": list(self.inputs.guessed),
            "contributions": [_contribution(item) for item in self.contributions],
            "measure_next": [item._asdict() for item in self.measure_next],
            "findings": [item._asdict() for item in self.findings],
        }
        if self.traces:
            answer["traces"] = [
                {name: column.tolist() for name, column in trace.items()} for trace in self.traces
            ]
        return answer


def _contribution(item: Contribution) -> dict[str, Any]:
    return {
        "name": item.name,
        "layer": item.layer,
        "points_per_sd": item.points_per_sd,
        "standard_error": item.standard_error,
        "bow_points": item.bow_points,
        "clear": item.clear,
    }


def count_outcomes(table: NDArray[np.void]) -> dict[str, int]:
    """Return how often each outcome happened, every outcome named."""
    counts = np.bincount(table["outcome"], minlength=len(Outcome))
    return {outcome.label: int(counts[outcome]) for outcome in Outcome}


def failed_launches(table: NDArray[np.void]) -> dict[str, Any]:
    """Return how many launches were not clean, ``count``, and the numbers of the ``first`` 200 of them.

    The table begins with launch 0, so a number flies the same launch again with the seed of the campaign.
    """
    numbers = np.flatnonzero(table["outcome"] != Outcome.CLEAN)
    return {"count": len(numbers), "first": numbers[:MOST_FAILED].tolist()}


def low_points(table: NDArray[np.void]) -> Percentiles | None:
    """Return the percentiles of the lowest height after release [m]; None if nothing was released."""
    rows = table["low_point_m"][table["release_s"] > RELEASED_S]
    if not len(rows):
        return None
    p5, p50, p95 = (float(q) for q in np.quantile(rows, (0.05, 0.50, 0.95)))
    return Percentiles(p5, p50, p95)

"""What if: a setup as it is against the same with something changed, launch by launch."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.errors import Cancelled
from overarm.flight.campaign import Inputs
from overarm.flight.outcomes import Outcome
from overarm.odds.as_flown import as_flown
from overarm.odds.assess import clean_share, is_clean
from overarm.odds.finding import Finding
from overarm.odds.flyers import HERE, Flyers
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference, few_unlike_worlds, paired
from overarm.odds.paired_words import interval_words
from overarm.odds.result import Campaign, count_outcomes
from overarm.odds.run import CANCELLED, Progress
from overarm.odds.stop import StopRule, reason_to_stop, stop_rule

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

SCHEMA = 1
GONE = "With the change nothing is said about it."


class Changed(NamedTuple):
    """One input that was written anew."""

    key: str
    before: str
    after: str


class Moved(NamedTuple):
    """One outcome: how many launches came to it before the change and after it."""

    outcome: str
    before: int
    after: int


class Turned(NamedTuple):
    """A finding whose word the change alters."""

    name: str
    before: str
    after: str
    sentence: str


class Side(NamedTuple):
    """One of the two setups: its hash, the share of clean launches, what its findings say."""

    setup_hash: str
    clean: Interval
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The odds of a setup before and after a change, and their difference over the same launches."""

    campaign: Campaign  # the hash is that of the setup before
    changes: tuple[Changed, ...]
    before: Side
    after: Side
    difference: Difference
    outcomes: tuple[Moved, ...]  # those that moved, the largest change first
    few_worlds: int | None = None  # worlds that the interval comes from where they are few

    @property
    def turned(self) -> tuple[Turned, ...]:
        """Return the findings whose word the change alters, as they are after it.

        One that only one of the two setups has, such as hand and disc with another style, is not known in
        the other.
        """
        old = {item.name: item for item in self.before.findings}
        new = {item.name: item for item in self.after.findings}
        found = []
        for name in dict.fromkeys((*new, *old)):
            before, after = (side[name].word if name in side else "not known" for side in (old, new))
            if before != after:
                sentence = new[name].sentence if name in new else f"{GONE} Before it: {old[name].sentence}"
                found.append(Turned(name, before, after, sentence))
        return tuple(found)

    @property
    def stops(self) -> tuple[Finding, ...]:
        """Return what says stop after the change."""
        return tuple(item for item in self.after.findings if item.word == "stop")

    @property
    def has_stop(self) -> bool:
        """Return True if a finding of the changed setup says stop."""
        return bool(self.stops)

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/what-if.schema.json`` describes it."""
        campaign = self.campaign
        return {
            "overarm_what_if": SCHEMA,
            "launches": campaign.launches,
            "worlds": campaign.worlds,
            "seed": campaign.seed,
            "version": campaign.version,
            "cancelled": campaign.cancelled,
            "stopped_because": campaign.stopped_because,
            "changes": [item._asdict() for item in self.changes],
            "before": {"setup_hash": self.before.setup_hash, "clean": self.before.clean._asdict()},
            "after": {"setup_hash": self.after.setup_hash, "clean": self.after.clean._asdict()},
            "difference": self.difference._asdict(),
            "difference_words": interval_words(
                self.difference, self.few_worlds, campaign.worlds, campaign.launches
            ),
            "outcomes": [item._asdict() for item in self.outcomes],
            "findings_turned": [item._asdict() for item in self.turned],
            "stops": [{"name": item.name, "sentence": item.sentence} for item in self.stops],
        }


class Pair(NamedTuple):
    """The launches of two campaigns that share their random numbers, row by row."""

    before: NDArray[np.void]
    after: NDArray[np.void]

    @property
    def difference(self) -> Difference:
        """Return the difference of the shares of clean launches."""
        return paired(is_clean(self.before), is_clean(self.after), self.before["world"])

    @property
    def few_worlds(self) -> int | None:
        """Return how many worlds the interval comes from where they are few."""
        return few_unlike_worlds(is_clean(self.before), is_clean(self.after), self.before["world"])


def fly_both(
    before: Inputs,
    after: Inputs,
    launches: int,
    seed: int,
    cancelled: Callable[[], bool] | None = None,
    flyers: Flyers = HERE,
) -> Iterator[Pair]:
    """Fly the same launches of two campaigns and yield all that is flown so far, chunk by chunk."""
    olds: list[NDArray[np.void]] = []
    news: list[NDArray[np.void]] = []
    first = flyers.chunks(before, launches, seed, cancelled)
    second = flyers.chunks(after, launches, seed)
    for old in first:
        olds.append(old.table)
        news.append(next(second).table)
        yield Pair(np.concatenate(olds), np.concatenate(news))


def moved_outcomes(before: NDArray[np.void], after: NDArray[np.void]) -> tuple[Moved, ...]:
    """Return the outcomes other than clean whose number of launches differs, the largest change first."""
    old, new = count_outcomes(before), count_outcomes(after)
    found = [
        Moved(outcome.label, old[outcome.label], new[outcome.label])
        for outcome in Outcome
        if outcome is not Outcome.CLEAN and old[outcome.label] != new[outcome.label]
    ]
    return tuple(sorted(found, key=lambda item: -abs(item.after - item.before)))


def _until(
    pairs: Iterator[Pair], rule: StopRule, progress: Callable[[Progress], None] | None
) -> tuple[Pair, str]:
    """Return the last pair that was flown and why it was the last."""
    flown = None
    for flown in pairs:
        done, worlds = len(flown.before), len(np.unique(flown.before["world"]))
        gap = flown.difference
        if progress is not None:
            progress(Progress(done, rule.launches, clean_share(flown.after)))
        reason = reason_to_stop(rule, done, worlds, Interval(gap.share, gap.low, gap.high))
        if reason is not None:
            return flown, reason
    if flown is None:
        raise Cancelled("cancelled before the first launches were done")
    return flown, CANCELLED


def what_if(
    setup: Setup,
    changes: Mapping[str, str],
    launches: int | None = None,
    seed: int = 1,
    *,
    until_width: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    flyers: Flyers = HERE,
) -> WhatIf:
    """Return what a change does to the odds, both flown with the same seed.

    Parameters
    ----------
    setup : Setup
    changes : mapping
        As `overarm.describe.change.changed` takes them, such as ``{"settings.start_wait": "0.7 s"}``.
    launches, seed : int
        As in `overarm.odds`; each launch is flown twice.
    until_width : float, optional
        Stop as soon as the 95 % interval of the difference is this narrow.
    progress, cancelled : callable, optional
        Told after, and asked before, each chunk of launches.
    flyers : Flyers
        Who flies: this machine, or the workers of a cluster. The answer is the same.

    Returns
    -------
    WhatIf

    Raises
    ------
    InputError
        If a key or value is wrong, either setup cannot be derived, or launches or width make no sense.
    Cancelled
        If it was cancelled before the first launches were done.
    """
    from overarm.describe.change import changed, written
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.findings import findings
    from overarm.odds.known import figures_of

    rule = stop_rule(launches, until_width)
    other = changed(setup, changes)
    derived, derived_other = derive(setup), derive(other)
    pairs = fly_both(
        inputs_of(setup, derived), inputs_of(other, derived_other), rule.launches, seed, cancelled, flyers
    )
    flown, reason = _until(pairs, rule, progress)

    def side(card: Setup, found: tuple[Finding, ...], table: NDArray[np.void]) -> Side:
        return Side(card.hash(), clean_share(table), (*found, *as_flown(table, figures_of(card))))

    campaign = Campaign(
        launches=len(flown.before),
        worlds=len(np.unique(flown.before["world"])),
        seed=seed,
        version=overarm.__version__,
        setup_hash=setup.hash(),
        stopped_because=reason,
        cancelled=reason == CANCELLED,
    )
    return WhatIf(
        campaign,
        tuple(Changed(key, written(setup, key), written(other, key)) for key in changes),
        side(setup, findings(setup, derived), flown.before),
        side(other, findings(other, derived_other), flown.after),
        flown.difference,
        moved_outcomes(flown.before, flown.after),
        flown.few_worlds,
    )

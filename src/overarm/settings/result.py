"""The answer to "which settings?": one frozen value that turns into JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from overarm.odds.finding import Finding
from overarm.odds.format import with_interval
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference
from overarm.settings.search import Edge

SCHEMA = 1


class Chosen(NamedTuple):
    """One setting as it is advised."""

    key: str
    words: str
    value: float  # SI
    text: str  # as one writes it in a setup file
    before: str  # what the setup has; empty if it has none
    low: float
    high: float
    band: str  # "0.55 s to 0.75 s"
    below: Edge
    above: Edge
    sentence: str


class Need(NamedTuple):
    """What would help if nothing else does: one change of something that is no setting."""

    words: str
    changes: dict[str, str]
    share: float  # of clean launches at the hard end of the wind
    gain: Difference
    opens: bool  # with it, settings keep all limits and the odds are good enough
    broken: tuple[str, ...] = ()  # names of the limits that are still broken with it
    refused: str = ""  # why it cannot be done


class Usual(NamedTuple):
    """The advised settings against the usual ones of the trade."""

    values: dict[str, str]
    gain: Difference  # advised less usual
    broken: tuple[str, ...]  # hard limits that the usual ones break here


@dataclass(frozen=True, slots=True)
class SettingsResult:
    """Settings that work, their odds before and after, or why there are none."""

    setup_name: str
    style: str
    setup_hash: str
    version: str
    seed: int
    claim_seed: int
    launches: int
    trials: int
    hard_wind_10m_mps: float
    search_share: float  # best of all trials at the hard wind: looks better than it is
    before: Interval
    before_broken: tuple[str, ...]  # hard limits that the setup as written breaks, in words
    after: Interval | None
    gain: Difference | None
    usual: Usual | None
    settings: tuple[Chosen, ...]
    chosen_hash: str
    findings: tuple[Finding, ...]
    refused: tuple[str, ...]
    needs: tuple[Need, ...]
    options: tuple[Need, ...]  # optional settings that the setup does not use

    @property
    def has_stop(self) -> bool:
        """Return True if nothing can be advised."""
        return bool(self.refused)

    @property
    def changes(self) -> dict[str, str]:
        """Return the advised settings as changes of the setup; empty if none can be advised."""
        if self.refused:
            return {}
        return {f"settings.{item.key}": item.text for item in self.settings}

    @property
    def headline(self) -> str:
        """Return the answer in one line."""
        if self.refused or self.after is None:
            return "No settings keep all limits here with odds that are good enough."
        return (
            f"{with_interval(self.after)} clean with these settings; {with_interval(self.before)} as written"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/settings.schema.json`` describes it."""
        after, gain, usual = self.after, self.gain, self.usual
        return {
            "overarm_settings": SCHEMA,
            "name": self.setup_name,
            "style": self.style,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "seed": self.seed,
            "claim_seed": self.claim_seed,
            "launches": self.launches,
            "trials": self.trials,
            "headline": self.headline,
            "hard_wind_10m_mps": self.hard_wind_10m_mps,
            "search_share": self.search_share,
            "before": {"clean": self.before._asdict(), "broken": list(self.before_broken)},
            "after": None if after is None else {"clean": after._asdict(), "setup_hash": self.chosen_hash},
            "gain": None if gain is None else gain._asdict(),
            "usual": None
            if usual is None
            else {"settings": usual.values, "gain": usual.gain._asdict(), "broken": list(usual.broken)},
            "settings": [_chosen(item) for item in self.settings],
            "findings": [item._asdict() for item in self.findings],
            "refused": list(self.refused),
            "needs": [_need(item) for item in self.needs],
            "options": [_need(item) for item in self.options],
        }


def _chosen(item: Chosen) -> dict[str, Any]:
    return item._asdict() | {"below": item.below._asdict(), "above": item.above._asdict()}


def _need(item: Need) -> dict[str, Any]:
    return item._asdict() | {"gain": item.gain._asdict(), "broken": list(item.broken)}

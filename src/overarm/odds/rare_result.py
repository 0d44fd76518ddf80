"""The answer to "how rare is that?": one frozen value that turns into JSON."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from overarm.odds.finding import Finding
from overarm.odds.intervals import Interval
from overarm.odds.rare_cause import Way
from overarm.odds.rare_share import Share
from overarm.odds.result import Inputs

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class RareTrail:
    """What was flown, with which numbers, and why it ended."""

    outcome: str
    seed: int
    version: str
    setup_hash: str
    launches: int  # in all
    search_launches: int  # flown to find where it happens; not in the figure
    stopped_because: str
    cancelled: bool


@dataclass(frozen=True, slots=True)
class RareResult:
    """How often one outcome happens, or what it is at most."""

    trail: RareTrail
    share: Share
    ways: tuple[Way, ...]
    finding: Finding | None
    inputs: Inputs
    left_out: tuple[str, ...]

    @property
    def launches(self) -> int:
        """Return how many launches were flown in all."""
        return self.trail.launches

    @property
    def told(self) -> bool:
        """Return True if there is a figure; else only a bound."""
        return self.share.told

    @property
    def probability(self) -> float | None:
        """Return the probability of the outcome in one launch, None if only a bound can be told."""
        return self.share.probability if self.told else None

    @property
    def interval(self) -> Interval | None:
        """Return the 95 % interval of the probability, None if only a bound can be told."""
        return self.share.interval() if self.told else None

    @property
    def at_most(self) -> float:
        """Return what the probability is at most; see `Share.at_most`."""
        return self.share.at_most

    @property
    def plain_needed(self) -> int | None:
        """Return how many launches drawn as they come would tell it as well; None without a figure."""
        if not self.told or self.share.relative_error == 0.0:
            return None
        p = self.share.probability
        return math.ceil((1.0 - p) / (p * self.share.relative_error**2))

    @property
    def has_stop(self) -> bool:
        """Return True if the finding says stop."""
        return self.finding is not None and self.finding.word == "stop"

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/rare.schema.json`` describes it."""
        share, trail, interval = self.share, self.trail, self.interval
        return {
            "overarm_rare": SCHEMA,
            "outcome": trail.outcome,
            "probability": self.probability,
            "standard_error": share.standard_error if self.told else None,
            "interval": None if interval is None else interval._asdict(),
            "at_most": self.at_most,
            "launches": self.launches,
            "search_launches": trail.search_launches,
            "search_settled": share.settled,
            "events": share.events,
            "effective_events": share.effective_events,
            "largest_weight_share": share.largest_share,
            "plain": {
                "launches": share.plain_launches,
                "events": share.plain_events,
                "at_most": share.plain_at_most,
            },
            "plain_launches_needed": self.plain_needed,
            "ways": [
                {"part": way.part, "inputs": [stand._asdict() for stand in way.inputs]} for way in self.ways
            ],
            "finding": None if self.finding is None else self.finding._asdict(),
            "inputs": self.inputs.count,
            "unknown_inputs": list(self.inputs.guessed),
            "left_out": list(self.left_out),
            "seed": trail.seed,
            "version": trail.version,
            "setup_hash": trail.setup_hash,
            "cancelled": trail.cancelled,
            "stopped_because": trail.stopped_because,
        }

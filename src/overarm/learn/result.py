"""The answer of learning: one frozen value that turns into JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from overarm.learn.card_values import CardValues, ids_of
from overarm.learn.disagree import Check, Verdict
from overarm.learn.evidence import Evidence, LeftOut
from overarm.learn.history import HistoryScore
from overarm.learn.targets import dimension_of
from overarm.learn.update import State, Update

if TYPE_CHECKING:
    from overarm.odds.what_if import WhatIf

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class UpdateSaid:
    """An update with its sentences: how far it moved, how little it is, and what else is worth knowing."""

    update: Update
    moved: str
    little: str
    besides: str

    def to_dict(self) -> dict[str, Any]:
        """Return JSON-ready data, SI units."""
        update = self.update
        return {
            "input": update.target.input,
            "words": update.target.words,
            "unit": dimension_of(update.target.input).si,
            "before": _state(update.before),
            "after": _state(update.after),
            "launches": update.launches,
            "bench": update.bench,
            "moved": update.moved,
            "narrowed": update.narrowed,
            "evidence": list(ids_of(update)),
            "sentence": self.moved,
            "how_little": self.little,
            "besides": self.besides,
        }


def _state(state: State) -> dict[str, Any]:
    return {
        "value": state.value,
        "spread": state.spread,
        "low": state.low,
        "high": state.high,
        "scatter": None if state.scatter is None else state.scatter._asdict(),
    }


def _evidence(item: Evidence) -> dict[str, Any]:
    return item._asdict()


def _check(item: Check) -> dict[str, Any]:
    return item._asdict() | {"each": list(item.each)}


@dataclass(frozen=True, slots=True)
class LearnResult:
    """What was learned, where it disagrees with the cards, and what it does to the odds."""

    setup_name: str
    setup_hash: str
    version: str
    seed: int
    evidence: tuple[Evidence, ...]
    left_out: tuple[LeftOut, ...]
    updates: tuple[UpdateSaid, ...]
    verdict: Verdict
    cards: CardValues
    told: tuple[str, ...]
    history: HistoryScore | None
    odds: WhatIf | None
    written: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/learn.schema.json`` describes it."""
        verdict = self.verdict
        return {
            "overarm_learn": SCHEMA,
            "setup_name": self.setup_name,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "seed": self.seed,
            "evidence": [_evidence(item) for item in self.evidence],
            "left_out": [item._asdict() for item in self.left_out],
            "updates": [item.to_dict() for item in self.updates],
            "disagreement": {
                "inputs": [_check(item) for item in verdict.checks],
                "chi2": verdict.chi2,
                "degrees": verdict.degrees,
                "p": verdict.p,
                "most": verdict.most,
                "share": verdict.share,
                "sentence": verdict.sentence,
            },
            "card_values": dict(self.cards.changes),
            "told": list(self.told),
            "history": None if self.history is None else self.history.to_dict(),
            "odds": None if self.odds is None else self.odds.to_dict(),
            "written": self.written,
        }

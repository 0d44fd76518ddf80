"""What the trap finder answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference

SCHEMA = 1
Kind = Literal["launch", "carry"]


class Member(NamedTuple):
    """One value of a trap, acceptable by itself, and what it usually means."""

    key: str  # of the setup file; "" for what happens and no card names
    words: str
    value: str
    usual: str
    meaning: str


class Cure(NamedTuple):
    """One single change that gets out of a trap."""

    key: str
    words: str
    before: str
    after: str
    gain: Difference
    odds: Interval  # with the change
    calm: float | None  # share of clean launches with it if the wind drops to calm; None: not asked


@dataclass(frozen=True, slots=True)
class Trap:
    """Values that are acceptable one by one and fail together."""

    kind: Kind
    members: tuple[Member, ...]
    odds: Interval  # of a clean launch; of a two-minute carry without a start for a carry
    without: Interval  # the same with the members at their usual values
    calm: float | None  # share of clean launches if the wind drops to calm
    cures: tuple[Cure, ...]  # the largest gain first
    after: tuple[str, ...]  # cures of earlier traps that were in place, "key=value"
    sentence: str


@dataclass(frozen=True, slots=True)
class Traps:
    """All traps of a setup, layer by layer: each was looked for with those before it cured."""

    setup_name: str
    setup_hash: str
    version: str
    seed: int
    launches: int
    tried: int  # campaigns that were flown
    traps: tuple[Trap, ...]
    notes: tuple[str, ...]
    cancelled: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/traps.schema.json`` describes it."""
        return {
            "overarm_traps": SCHEMA,
            "setup_name": self.setup_name,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "seed": self.seed,
            "launches": self.launches,
            "tried": self.tried,
            "cancelled": self.cancelled,
            "traps": [_trap(item) for item in self.traps],
            "notes": list(self.notes),
        }

    def lines(self) -> list[str]:
        """Return the answer for a person at a screen, line by line."""
        from overarm.settings.traps_words import lines_of

        return lines_of(self)


def _trap(item: Trap) -> dict[str, Any]:
    return {
        "kind": item.kind,
        "sentence": item.sentence,
        "members": [member._asdict() for member in item.members],
        "odds": item.odds._asdict(),
        "without": item.without._asdict(),
        "calm_share": item.calm,
        "after": list(item.after),
        "cures": [
            {
                "key": cure.key,
                "words": cure.words,
                "before": cure.before,
                "after": cure.after,
                "gain": cure.gain._asdict(),
                "odds": cure.odds._asdict(),
                "calm_share": cure.calm,
            }
            for cure in item.cures
        ],
    }

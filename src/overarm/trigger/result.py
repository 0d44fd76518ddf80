"""The answer of the trigger room: one frozen value that turns into JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from overarm.odds.finding import Finding
from overarm.odds.findings import has_stop
from overarm.odds.intervals import Interval
from overarm.recordings.recording import Numbers
from overarm.trigger.advice import Advice, Margins
from overarm.trigger.count import Counts
from overarm.trigger.ladder import Rung
from overarm.trigger.map_answer import map_answer
from overarm.trigger.more import record_next
from overarm.trigger.poisson import Rate

SCHEMA = 1


class Row(NamedTuple):
    """One recording at the level and dwell of the trigger."""

    name: str
    sha256: str
    label: str
    label_how: str
    seconds: float
    rate_hz: float
    tells: str
    starts: int  # over the whole recording, by its samples
    nudges: int
    peak_mps2: float
    longest_above_s: float
    gestures: int
    gravity_felt: bool
    remarks: tuple[str, ...]


class Share(NamedTuple):
    """A count of gestures with its exact interval; None where there was no gesture."""

    seen: int
    of: int
    share: Interval | None


@dataclass(frozen=True, slots=True)
class TriggerResult:
    """Recordings through a trigger: what it does, on which ladder it stands, and what is advised."""

    name: str
    setup_hash: str
    version: str
    family: str
    level_mps2: float
    dwell_s: float
    filter_hz: float
    starts: str  # the gesture that has to start it
    rows: tuple[Row, ...]
    false_starts: Rate
    other_starts: Rate
    missed: Share
    early: Share
    ladder: tuple[Rung, ...]
    grid: Counts
    self_start_rad: Numbers  # (levels,) nose-up angle that fires at rest at each level of the map; inf: none
    now: Margins
    advice: Advice
    findings: tuple[Finding, ...]

    @property
    def has_stop(self) -> bool:
        """Return True if a carry starts it, or a gesture does not or does so too early."""
        return has_stop(self.findings)

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/trigger.schema.json`` describes it."""
        advice = self.advice
        return {
            "overarm_trigger": SCHEMA,
            "name": self.name,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "seed": None,
            "trigger": {
                "family": self.family,
                "level_mps2": self.level_mps2,
                "dwell_s": self.dwell_s,
                "filter_hz": self.filter_hz,
                "starts": self.starts,
            },
            "recordings": [row._asdict() | {"remarks": list(row.remarks)} for row in self.rows],
            "false_starts": self.false_starts._asdict(),
            "other_starts": self.other_starts._asdict(),
            "missed": _share(self.missed),
            "early": _share(self.early),
            "ladder": [rung._asdict() for rung in self.ladder],
            "level_dwell": map_answer(self.grid, self.self_start_rad),
            "now": self.now._asdict(),
            "advised": None if advice.margins is None else advice.margins._asdict() | {"least": advice.least},
            "refused": advice.refused,
            "cures": list(advice.cures),
            "record_next": list(record_next(self.rows, self.starts, self.missed.of)),
            "findings": [item._asdict() for item in self.findings],
            "stop": self.has_stop,
        }


def _share(share: Share) -> dict[str, Any]:
    return {
        "seen": share.seen,
        "of": share.of,
        "share": None if share.share is None else share.share._asdict(),
    }

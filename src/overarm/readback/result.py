"""The answer to "is it in the aircraft as on the sheet?": one frozen value that turns into JSON."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from overarm.odds.finding import Finding

if TYPE_CHECKING:
    from overarm.odds.intervals import Interval
    from overarm.readback.compare import Compared
    from overarm.readback.consequence import Consequence
    from overarm.readback.places import Located
    from overarm.readback.route import Pair, Paired
    from overarm.readback.way import LegGap

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class SettingsAnswer:
    """Settings compared, with what each difference does to the odds."""

    items: tuple[Compared, ...]
    unknown: tuple[str, ...]  # names that the mapping does not know
    ignored: int
    clean: Interval | None = None  # as on the sheet; None if nothing had to be flown
    consequences: dict[str, Consequence] = field(default_factory=dict)
    metres: dict[str, str] = field(default_factory=dict)  # by key, for heights and radii that differ
    together: Consequence | None = None
    launches: int = 0
    seed: int = 0

    @property
    def complete(self) -> bool:
        """Return True if every key that the sheet has is tied and reported."""
        return not any(item.uncompared for item in self.items)

    def to_dict(self) -> dict[str, Any]:
        """Return the settings as JSON-ready data."""
        return {
            "items": [
                _item(item, self.consequences.get(item.key), self.metres.get(item.key, ""))
                for item in self.items
            ],
            "unknown_names": list(self.unknown),
            "ignored_names": self.ignored,
            "clean": None if self.clean is None else self.clean._asdict(),
            "together": None if self.together is None else _consequence(self.together),
            "launches": self.launches,
            "seed": self.seed,
        }


@dataclass(frozen=True, slots=True)
class RouteAnswer:
    """Route points compared, in metres."""

    planned_from: str  # "the plan", or the file
    paired: Paired
    first_bearing_rad: float | None  # 0 along the launch line; None if it is not known
    low_legs: tuple[LegGap, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the route as JSON-ready data."""
        return {
            "planned_from": self.planned_from,
            "points": [_pair(pair) for pair in self.paired.pairs],
            "suspicions": [item._asdict() for item in self.paired.suspicions],
            "planned_length_m": self.paired.planned_length_m,
            "reported_length_m": self.paired.reported_length_m,
            "first_bearing_rad": self.first_bearing_rad,
            "low_legs": [item._asdict() for item in self.low_legs],
        }


@dataclass(frozen=True, slots=True)
class ReadbackResult:
    """What the aircraft reports, beside the sheet."""

    setup_name: str
    setup_hash: str
    version: str
    file: str
    mapping: str
    what: Literal["settings", "route"]
    settings: SettingsAnswer | None
    route: RouteAnswer | None
    findings: tuple[Finding, ...]
    notes: tuple[str, ...] = ()

    @property
    def has_stop(self) -> bool:
        """Return True if a finding says stop: something is not as on the sheet, or must be compared."""
        return any(item.word == "stop" for item in self.findings)

    @property
    def equal(self) -> bool:
        """Return True if everything that was looked at is as on the sheet, and nothing was left open."""
        return all(item.word == "good" for item in self.findings)

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/readback.schema.json`` describes it."""
        return {
            "overarm_readback": SCHEMA,
            "setup_name": self.setup_name,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "file": self.file,
            "mapping": self.mapping,
            "what": self.what,
            "equal": self.equal,
            "complete": None if self.settings is None else self.settings.complete,
            "settings": None if self.settings is None else self.settings.to_dict(),
            "route": None if self.route is None else self.route.to_dict(),
            "findings": [item._asdict() for item in self.findings],
            "notes": list(self.notes),
        }


def _item(item: Compared, consequence: Consequence | None, metres: str) -> dict[str, Any]:
    suspect = item.suspect
    return {
        "key": item.key,
        "kind": item.kind,
        "name": item.name,
        "line": item.line,
        "sheet": item.sheet,
        "reported": item.reported,
        "sheet_si": item.sheet_si,
        "reported_si": item.reported_si,
        "unit_suspect": None if suspect is None else suspect._asdict(),
        "coarse": item.coarse,
        "may_be": item.may_be,
        "impossible": item.impossible,
        "in_metres": metres,
        "consequence": None if consequence is None else _consequence(consequence),
    }


def _consequence(item: Consequence) -> dict[str, Any]:
    difference = item.difference
    return {
        "difference": None if difference is None else difference._asdict(),
        "clean": None if item.clean is None else item.clean._asdict(),
        "new_stops": list(item.new_stops),
        "refused": item.refused,
        "hands_before": item.hands_before,
        "hands_after": item.hands_after,
    }


def _pair(pair: Pair) -> dict[str, Any]:
    return {
        "number": pair.number,
        "kind": pair.kind,
        "planned": _located(pair.planned),
        "reported": _located(pair.reported),
        "off_m": pair.off_m,
        "higher_m": pair.higher_m,
    }


def _located(point: Located | None) -> dict[str, Any] | None:
    return None if point is None else point._asdict()

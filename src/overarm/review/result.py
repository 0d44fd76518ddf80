"""The answer of a review: frozen values that turn into JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from overarm.odds.finding import Word
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference
from overarm.odds.what_if import Changed, Moved
from overarm.recordings.launch import Estimate, LaunchRecord, Span
from overarm.recordings.recording import Numbers, Repair
from overarm.recordings.replay import Tells

SCHEMA = 1


class Verdict(NamedTuple):
    """What a launch came to: a label of `overarm.flight.outcomes`, "aborted throw" or "cannot tell"."""

    outcome: str
    word: Word
    sentence: str
    in_hand: bool = False  # the motor turned, or was about to, with a hand at the model


class Margin(NamedTuple):
    """How far a launch stayed from one limit. ``grade``: 0 at the limit, 1 where nothing is to be said."""

    link: str
    word: Word
    value: float
    error: float
    limit: float
    unit: str
    grade: float
    sentence: str


class AsFlown(NamedTuple):
    """One setting as the recording shows it, beside that of the card; SI units."""

    key: str
    card: float
    flown: float
    error: float
    word: Word
    sentence: str


class Place(NamedTuple):
    """Where an estimate lies in what was to be expected; SI units.

    ``percentile``: 0 to 100, with the error of the estimate in it. ``z``: standard deviations off the middle.
    """

    name: str
    value: float
    error: float
    p5: float
    p50: float
    p95: float
    percentile: float
    z: float
    word: Word


class Band(NamedTuple):
    """One quantity over the time from release: what was to be expected, and what was recorded. All (n,)."""

    name: str
    unit: str
    t_s: Numbers
    p5: Numbers
    p50: Numbers
    p95: Numbers
    seen_t_s: Numbers
    seen: Numbers


class Used(NamedTuple):
    """A condition of the day that the recording tells, and the prediction uses; SI units."""

    key: str
    value: float
    error: float
    sentence: str


@dataclass(frozen=True, slots=True, eq=False)
class Prediction:
    """What was to be expected of a launch of this setup on this day."""

    launches: int
    worlds: int
    clean: Interval
    outcomes: dict[str, int]
    used: tuple[Used, ...]
    bands: tuple[Band, ...]
    places: tuple[Place, ...]
    quantiles: dict[str, dict[str, float]]

    @property
    def most_off(self) -> Place | None:
        """Return the estimate that disagrees most with what was to be expected; None if all agree."""
        off = [item for item in self.places if item.word != "good"]
        return max(off, key=lambda item: abs(item.z), default=None)


class Other(NamedTuple):
    """This launch again with something changed: shares before and after, launch by launch."""

    changes: tuple[Changed, ...]
    asked: bool  # by --set
    clean: Interval
    difference: Difference
    outcomes: tuple[Moved, ...]
    hand: Difference  # of the share of launches with a hand at risk
    refused: str  # why it is not advised; "" if it may be
    sentence: str


@dataclass(frozen=True, slots=True)
class Again:
    """The launch flown again as it was estimated, and with other settings."""

    launches: int
    given: tuple[Used, ...]
    clean: Interval
    outcomes: dict[str, int]
    others: tuple[Other, ...]


class Trial(NamedTuple):
    """Another trigger on the recorded carry and throw of one launch."""

    level_mps2: float
    dwell_s: float
    is_card: bool
    carry_fires: int | None  # None: there is no time before the throw, or it cannot tell
    throw_fires: bool | None
    factor: float | None  # peak of the throw over the level
    tells: Tells
    sentence: str


class Advice(NamedTuple):
    """The one change with the largest gain."""

    kind: Literal["setting", "habit", "check", "none"]
    sentence: str
    changes: tuple[Changed, ...] = ()
    gain: Difference | None = None


@dataclass(frozen=True, slots=True, eq=False)
class LaunchReview:
    """All that is said of one launch."""

    record: LaunchRecord
    estimates: dict[str, Estimate]
    verdict: Verdict
    margins: tuple[Margin, ...]
    weakest: Margin | None
    as_flown: tuple[AsFlown, ...]
    trials: tuple[Trial, ...]
    prediction: Prediction | None
    again: Again | None
    advice: Advice
    seen: tuple[Band, ...]  # what was recorded, where nothing was predicted

    @property
    def has_stop(self) -> bool:
        """Return True if something in the record says stop."""
        words = [self.verdict.word, *(item.word for item in self.margins), *(a.word for a in self.as_flown)]
        places = self.prediction.places if self.prediction is not None else ()
        return self.verdict.in_hand or "stop" in [*words, *(item.word for item in places)]

    @property
    def zero(self) -> tuple[float, str]:
        """Return the time that events count from [s], and its name: the release, else the first event."""
        events = self.record.events
        if "release" in events:
            return events["release"].t_s, "release"
        first = min(events.values(), key=lambda event: event.t_s, default=None)
        name = next((name for name, event in events.items() if event is first), "")
        return (self.record.from_s, "its beginning") if first is None else (first.t_s, name.replace("_", "-"))

    @property
    def bands(self) -> tuple[Band, ...]:
        """Return the quantities over time, with what was to be expected where that is known."""
        return self.prediction.bands if self.prediction is not None else self.seen


@dataclass(frozen=True, slots=True, eq=False)
class Review:
    """The answer: what a recording holds, launch by launch."""

    name: str
    sha256: str
    form: str
    start_utc: str
    seconds: float
    rates_hz: dict[str, float]
    version: str
    setup_name: str
    setup_hash: str  # "" without a setup
    seed: int
    asked_launches: int
    launches: tuple[LaunchReview, ...]
    spans: tuple[Span, ...]
    repairs: tuple[Repair, ...]
    remarks: tuple[str, ...]
    sound: dict[str, Any] | None = None
    sound_lines: tuple[str, ...] = ()
    sound_stop: bool = False

    @property
    def has_stop(self) -> bool:
        """Return True if a launch, a repair, or the sound says stop."""
        unread = any(repair.word == "stop" for repair in self.repairs)
        return self.sound_stop or unread or any(item.has_stop for item in self.launches)

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data; ``docs/reference/review.schema.json`` describes it."""
        from overarm.review.plain import review_dict

        return review_dict(self)

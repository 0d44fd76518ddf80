"""The answer to "what do I measure next?": frozen values that turn into JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from overarm.odds.format import signed_points
from overarm.odds.intervals import Interval
from overarm.odds.layers import OddsSpread
from overarm.odds.names import plain_name
from overarm.odds.rerun import Gain
from overarm.odds.sobol import Index, Indices

SCHEMA = 1
# Some pieces of work are looked at side by side, so the chance of a false one is kept small for all of them.
CLEAR_OF_NOISE = 2.5
LEAST_GAIN_POINTS = 0.5


class Guess(NamedTuple):
    """A guessed input, and which share of its spread is left once it is measured (1: nobody can)."""

    name: str
    left: float


class InputDoubt(NamedTuple):
    """How much of the doubt about the odds one input makes, and what measuring it alone would gain."""

    part: Index
    words: str
    one_sd: str
    guessed: bool
    how: str | None  # None if it is measured, or nobody can measure it simply
    gain: Gain | None  # None if it was not flown

    def to_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        answer = self.part._asdict() | {
            "words": self.words, "one_sd": self.one_sd, "guessed": self.guessed, "how": self.how,
        }  # fmt: skip
        return answer | _gain(self.gain)


def _gain(gain: Gain | None) -> dict[str, float | None]:
    return {
        "band_then_points": gain.then_points if gain else None,
        "gain_points": gain.points if gain else None,
        "gain_error_points": gain.error_points if gain else None,
    }


class WorkGain(NamedTuple):
    """What one piece of work narrows."""

    how: str
    minutes: float
    inputs: tuple[str, ...]
    band_now_points: float
    gain: Gain | None  # None if it promised too little to be flown
    sentence: str = ""

    @property
    def clear(self) -> bool:
        """Return True if the gain is worth saying and stands out from its noise."""
        gain = self.gain
        return (
            gain is not None
            and gain.points >= LEAST_GAIN_POINTS
            and gain.points > CLEAR_OF_NOISE * gain.error_points
        )

    @property
    def points_per_minute(self) -> float:
        """Return points of the band for each minute of work; 0 if it was not flown."""
        return self.gain.points / self.minutes if self.gain is not None else 0.0

    def to_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "how": self.how,
            "minutes": self.minutes,
            "inputs": list(self.inputs),
            "band_now_points": self.band_now_points,
            **_gain(self.gain),
            "points_per_minute": self.points_per_minute if self.gain is not None else None,
            "clear": self.clear,
            "sentence": self.sentence,
        }


class Bar(NamedTuple):
    """Change of the odds, in points, with an input one standard deviation below and above."""

    name: str
    words: str
    one_sd: str  # in the unit of the card; empty if no card asks for it
    low_points: float
    low_error_points: float
    high_points: float
    high_error_points: float


@dataclass(frozen=True, slots=True)
class MeasureResult:
    """What to measure next, with all that stands behind it."""

    setup_name: str
    setup_hash: str
    version: str
    seed: int
    launches: int
    clean: Interval
    over_worlds: OddsSpread
    guessed: int
    measurable: int
    indices: Indices | None
    inputs: tuple[InputDoubt, ...]
    works: tuple[WorkGain, ...]
    bars: tuple[Bar, ...]
    reason: str  # why nothing is advised; empty if something is

    @property
    def band_points(self) -> float:
        """Return the width of the 5 to 95 % band of the odds, in points of percent."""
        return 100.0 * (self.over_worlds.p95 - self.over_worlds.p5)

    @property
    def advised(self) -> tuple[WorkGain, ...]:
        """Return the pieces of work that clearly narrow the band, the best paid minutes first."""
        return tuple(work for work in self.works if work.clear)

    def to_dict(self) -> dict[str, Any]:
        """Return JSON-ready data; no number is NaN or infinite."""
        over, found = self.over_worlds, self.indices
        return {
            "overarm_measure": SCHEMA,
            "setup": self.setup_name,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "seed": self.seed,
            "launches": self.launches,
            "clean": self.clean._asdict(),
            "what_we_do_not_know": {"p5": over.p5, "p50": over.p50, "p95": over.p95, "sd": over.sd},
            "band_points": self.band_points,
            "guessed": self.guessed,
            "measurable": self.measurable,
            "variance": found.variance if found else None,
            "variance_error": found.variance_error if found else None,
            "throw_noise_share": found.noise_share if found else None,
            "inputs": [item.to_dict() for item in self.inputs],
            "works": [item.to_dict() for item in self.works],
            "tornado": [item._asdict() for item in self.bars],
            "reason": self.reason,
        }


def work_sentence(work: WorkGain) -> str:
    """Return what a piece of work does, in one sentence."""
    names = "; ".join(plain_name(name) for name in work.inputs)
    head = f"{work.how[0].upper()}{work.how[1:]} ({names}), {work.minutes:.0f} min"
    if work.gain is None:
        return f"{head}: promises too little to be looked at closer."
    now, then, gain = work.band_now_points, work.gain.then_points, work.gain.points
    give = f"give or take {2.0 * work.gain.error_points:.1f}"
    if not work.clear:
        return f"{head}: no gain that can be told from none ({signed_points(gain)} points, {give})."
    return f"{head}: the band narrows from {now:.0f} to {then:.0f} points, by {gain:.1f}, {give}."


def _no_reason(found: Indices | None, guesses: dict[str, Guess], clean: Interval) -> str:
    """Return why nothing can be advised before any gain is looked at; empty if something may be."""
    if clean.share in (0.0, 1.0) and found is None:
        which = "clean" if clean.share == 1.0 else "not clean"
        return f"Every launch was {which}: whatever we do not know does not change that. Nothing to measure."
    if found is None or not found.clear:
        return (
            "What we do not know makes no difference to the odds that these launches can show: measuring "
            "narrows nothing visibly."
        )
    if not guesses:
        return "Nothing in this setup is guessed: every input of its cards is measured."
    if not any(guess.left < 1.0 for guess in guesses.values()):
        return "Nothing that is guessed here can be measured better with simple means."
    return ""


def said_reason(
    found: Indices | None, guesses: dict[str, Guess], clean: Interval, works: tuple[WorkGain, ...]
) -> str:
    """Return why nothing is advised; empty if something is."""
    reason = _no_reason(found, guesses, clean)
    if not reason and not any(work.clear for work in works):
        return "No single piece of work would visibly narrow the band of the odds."
    return reason

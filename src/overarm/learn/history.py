"""What was predicted and what happened, over many launches: scores, and how much so few launches can say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from overarm.learn.bench.cards import HistoryForm
from overarm.learn.scores import (
    Band,
    BrierParts,
    Coverage,
    Group,
    brier_parts,
    calibration_z,
    coverage,
    evenness_p,
    groups_of,
    log_score,
    rule_of_three,
    transformed,
)
from overarm.odds.format import plain_percent
from overarm.odds.intervals import Interval, exact

FEW_LAUNCHES = 30  # with fewer a score says little; common practice, no source
FAR_Z = 1.96
UNEVEN_P = 0.05
FEWEST_FOR_EVENNESS = 5


class Happened(NamedTuple):
    """One launch: the odds that were predicted, with their interval if there was one, and what happened."""

    odds: float
    low: float | None
    high: float | None
    clean: bool
    figures: tuple[Band, ...] = ()
    day: str = ""


class HistoryScore(NamedTuple):
    """How good the predictions were."""

    launches: int
    clean: Interval
    expected: float  # clean launches that the odds promised
    expected_low: float  # if every low end had been right
    expected_high: float
    brier: BrierParts
    log_score: float
    z: float | None
    groups: tuple[Group, ...]
    coverage: Coverage | None
    transformed: tuple[float, ...]
    even_p: float | None
    sentences: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        cover = self.coverage
        return {
            "launches": self.launches,
            "clean": self.clean._asdict(),
            "expected_clean": {"odds": self.expected, "low": self.expected_low, "high": self.expected_high},
            "brier": self.brier._asdict(),
            "log_score": self.log_score,
            "calibration_z": self.z,
            "groups": [item._asdict() | {"happened": item.happened._asdict()} for item in self.groups],
            "coverage": None
            if cover is None
            else {
                "inside": cover.inside,
                "figures": cover.figures,
                "expected": cover.expected,
                "share": cover.share._asdict(),
                "agrees": cover.agrees,
            },
            "transformed": list(self.transformed),
            "even_p": self.even_p,
            "sentences": list(self.sentences),
        }


def happened_in(form: HistoryForm) -> tuple[Happened, ...]:
    """Return the launches of a history form."""
    return tuple(
        Happened(
            row.odds_share.value,
            None if row.low_share is None else row.low_share.value,
            None if row.high_share is None else row.high_share.value,
            row.clean,
            tuple(Band(item.name, item.p5, item.p50, item.p95, item.was) for item in row.figures),
            row.day,
        )
        for row in form.launches
    )


def score_history(launches: Sequence[Happened]) -> HistoryScore:
    """Return the scores of some predictions. Raises ValueError without a launch."""
    if not launches:
        raise ValueError("a history needs a launch")
    predicted = np.array([item.odds for item in launches])
    clean = np.array([item.clean for item in launches], dtype=bool)
    bands = [band for item in launches for band in item.figures]
    fell = tuple(transformed(band) for band in bands)
    score = HistoryScore(
        launches=len(launches),
        clean=exact(int(clean.sum()), len(launches)),
        expected=float(predicted.sum()),
        expected_low=sum(item.odds if item.low is None else item.low for item in launches),
        expected_high=sum(item.odds if item.high is None else item.high for item in launches),
        brier=brier_parts(predicted, clean),
        log_score=log_score(predicted, clean),
        z=calibration_z(predicted, clean),
        groups=groups_of(predicted, clean),
        coverage=coverage(bands),
        transformed=fell,
        even_p=evenness_p(fell),
        sentences=(),
    )
    return score._replace(sentences=(*_clean_words(score), *_score_words(score), *_figure_words(score)))


def _clean_words(score: HistoryScore) -> list[str]:
    count = score.launches
    clean = round(score.clean.share * count)
    low, high = plain_percent(score.clean.low), plain_percent(score.clean.high)
    were = "launch was" if count == 1 else "launches were"
    many = "so few say" if count < FEW_LAUNCHES else "that says"
    first = f"{clean} of {count} {were} clean; {many} {low} to {high} (95 %, exact)."
    said = [f"{first} The odds promised {score.expected:.1f}."]
    if clean in (0, count):
        which = "failure" if clean == count else "clean launch"
        allowed = plain_percent(rule_of_three(count))
        share = "fail" if clean == count else "be clean"
        how = "95 %, one-sided; the rule of three, exact"
        said.append(f"No {which} in {count}: up to {allowed} may still {share} ({how}).")
    return said


def _score_words(score: HistoryScore) -> list[str]:
    parts = score.brier
    mean = f"always saying the mean share scores {parts.uncertainty:.3f}"
    said = [f"Brier score {parts.score:.3f} (0 is best; {mean}), log score {score.log_score:.3f}."]
    if score.z is not None and abs(score.z) > FAR_Z:
        how = (
            "were surer than what happened allows"
            if score.z > 0.0
            else "were more careful than they had to be"
        )
        said.append(f"The odds {how} (z {score.z:+.1f}).")
    elif score.z is not None:
        said.append(f"That is what true odds would score, as far as this can tell (z {score.z:+.1f}).")
    if score.launches < FEW_LAUNCHES:
        few = "One launch is" if score.launches == 1 else f"{score.launches} launches are"
        said.append(f"{few} few: luck makes most of this score.")
    return said


def _figure_words(score: HistoryScore) -> list[str]:
    cover = score.coverage
    if cover is None:
        return []
    low, high = plain_percent(cover.share.low), plain_percent(cover.share.high)
    how = "agrees with" if cover.agrees else "is not"
    fell = f"{cover.inside} of {cover.figures} figures fell into their 90 % interval ({low} to {high})"
    said = [f"{fell}: that {how} the 90 % promised."]
    if cover.figures > score.launches:
        said.append(
            "Figures of one launch move together: their interval is wider than this one, which takes "
            "them for independent."
        )
    if score.even_p is not None and cover.figures >= FEWEST_FOR_EVENNESS and score.even_p < UNEVEN_P:
        middle = float(np.mean(score.transformed))
        side = "higher" if middle > 0.5 else "lower"
        uneven = f"The figures did not fall evenly into their predictions (p {score.even_p:.2g})"
        said.append(f"{uneven}: on the average they came out {side}.")
    return said

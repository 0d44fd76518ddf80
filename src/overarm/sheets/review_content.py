"""The words of a review's report, as data for the page and the print."""

from __future__ import annotations

from typing import Any

from overarm.odds.format import with_interval
from overarm.review.result import LaunchReview, Review
from overarm.review.shown import EVENT_NAMES, LINK_NAMES, SHOWN, number, with_error
from overarm.review.words import counted, off_words
from overarm.sheets.palette import FINDINGS
from overarm.sheets.wording import fixed, opened, short, tied

KIND = {"good": "good", "watch": "watch", "stop": "stop", "not known": "not-known"}
CHANGE_HEADS = {
    "setting": "Change this setting",
    "habit": "Do this differently",
    "check": "Check this first",
    "none": "Change nothing",
}
MOST_NAME = 120
MARGIN_NAMES = LINK_NAMES


def content_of(review: Review) -> dict[str, Any]:
    """Return every word of the report."""
    setup = f"Setup {review.setup_name}" if review.setup_hash else "No setup was given: limits are not known"
    about = [f"{opened(review.form)}, {review.seconds:.0f} s, {counted(review)}", setup]
    if review.start_utc:
        about.insert(0, f"Recorded {review.start_utc.replace('T', ' ')[:16]} UTC")
    found: dict[str, Any] = {
        "name": short(review.name, MOST_NAME),
        "about": about,
        "remarks": list(review.remarks),
        "launches": [_launch(item) for item in review.launches],
        "repairs": [
            {"kind": KIND[item.word], "word": FINDINGS[item.word].word, "words": item.sentence}
            for item in review.repairs
        ],
        "sound": list(review.sound_lines),
        "foot": [
            f"Recording {review.sha256[:16]}",
            f"setup {review.setup_hash}" if review.setup_hash else "no setup",
            f"seed {review.seed}",
            f"version {review.version}",
        ],
        "caution": (
            "The tool compares a recording with a model; you decide. Local rules, your licence or club "
            "practice and the pilot in charge come first."
        ),
    }
    told: dict[str, Any] = tied(found)
    return told


def _launch(item: LaunchReview) -> dict[str, Any]:
    verdict = item.verdict
    at_s, zero = item.zero
    return {
        "number": item.record.number,
        "at": f"{at_s:.1f} s into the record",
        "zero": zero,
        "kind": KIND[verdict.word],
        "ink": FINDINGS[verdict.word].ink,
        "word": FINDINGS[verdict.word].word,
        "outcome": opened(verdict.outcome),
        "sentence": verdict.sentence,
        "weakest": _weakest(item),
        "change_head": CHANGE_HEADS[item.advice.kind],
        "change": _change(item),
        "swaps": [
            {
                "key": opened(change.key.rpartition(".")[2].replace("_", " ")),
                "before": change.before.replace("m/s2", "m/s²"),
                "after": change.after.replace("m/s2", "m/s²"),
            }
            for change in item.advice.changes
        ],
        "watch": _watch(item),
        "margins": [
            {
                "kind": KIND[one.word],
                "word": FINDINGS[one.word].word,
                "name": opened(MARGIN_NAMES[one.link]),
                "words": one.sentence,
            }
            for one in item.margins
        ],
        "expected": _expected(item),
        "off": _off(item),
        "again": None if item.again is None else f"{with_interval(item.again.clean)} of them end clean.",
        "given": "" if item.again is None else "; ".join(one.sentence for one in item.again.given),
        "trials": [
            {
                "card": one.is_card,
                "words": one.sentence,
                "kind": _trial_kind(one.carry_fires, one.throw_fires),
            }
            for one in item.trials
        ],
        "events": _events(item),
        "estimates": _estimates(item),
        "remarks": list(item.record.remarks),
        "strip_note": _strip_note(item),
    }


def _change(item: LaunchReview) -> str:
    """Return the advice; where the change itself stands above it, only what it gains."""
    gap = item.advice.gain
    if gap is None:
        return item.advice.sentence
    points, low, high = (f"{100.0 * share:.0f}" for share in (gap.share, gap.low, gap.high))
    return f"Of launches like this one {points} in 100 more end clean ({low} to {high})."


def _weakest(item: LaunchReview) -> dict[str, str] | None:
    if item.weakest is None:
        return None
    head = "Nearest to its limit" if item.verdict.word == "good" else "Weakest link"
    return {"head": head, "name": LINK_NAMES[item.weakest.link], "words": item.weakest.sentence}


def _watch(item: LaunchReview) -> list[dict[str, str]]:
    """Return settings that were flown otherwise than the card says."""
    return [
        {"kind": KIND[one.word], "word": FINDINGS[one.word].word, "words": one.sentence}
        for one in item.as_flown
        if one.word != "good"
    ]


def _expected(item: LaunchReview) -> str:
    found = item.prediction
    if found is None:
        return ""
    good = sum(place.word == "good" for place in found.places)
    used = f" With {' and '.join(one.sentence for one in found.used)}." if found.used else ""
    return (
        f"{with_interval(found.clean)} of {found.launches:,} launches of this setup were clean.{used} "
        f"{good} of {len(found.places)} figures lie within 5 to 95 % of what was to be expected."
    )


def _off(item: LaunchReview) -> str:
    off = item.prediction.most_off if item.prediction is not None else None
    return "" if off is None else f"Most off: {off_words(off)}"


def _trial_kind(carry: int | None, throw: bool | None) -> str:
    if carry is None and throw is None:
        return "not-known"
    if carry:
        return "stop"
    return "good" if throw else "watch"


def _events(item: LaunchReview) -> list[dict[str, str]]:
    zero, _ = item.zero
    rows = sorted(item.record.events.items(), key=lambda pair: pair[1].t_s)
    return [
        {
            "name": opened(EVENT_NAMES[name]),
            "at": f"{fixed(event.t_s - zero, 2)} s",
            "error": f"± {event.error_s:.2f}",
            "how": event.method,
        }
        for name, event in rows
    ]


def _estimates(item: LaunchReview) -> list[dict[str, str]]:
    places = {} if item.prediction is None else {place.name: place for place in item.prediction.places}
    rows = []
    for name, one in item.estimates.items():
        place = places.get(name)
        bound = f"{one.bound} " if one.bound else ""
        rows.append(
            {
                "name": opened(SHOWN[name].name),
                "value": "not known" if one.value is None else bound + with_error(name, one.value, one.error),
                "how": one.why_not if one.value is None else one.method,
                "expected": "" if place is None else f"{number(name, place.p5)} to {number(name, place.p95)}",
                "kind": "not-known" if one.value is None else KIND[place.word] if place is not None else "",
                "word": "" if place is None else FINDINGS[place.word].word,
            }
        )
    return rows


def _strip_note(item: LaunchReview) -> str:
    if item.prediction is None:
        return "As recorded."
    return "Line: as recorded. Hatched: 5 to 95 % of what was to be expected; dashed: its middle."

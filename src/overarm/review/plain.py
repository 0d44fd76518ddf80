"""A review as JSON-ready data."""

from __future__ import annotations

from typing import Any

from overarm.recordings.launch import LaunchRecord
from overarm.review.result import (
    SCHEMA,
    Advice,
    Again,
    Band,
    LaunchReview,
    Other,
    Prediction,
    Review,
)

DIGITS = 5


def review_dict(review: Review) -> dict[str, Any]:
    """Return a review as JSON-ready data; ``docs/reference/review.schema.json`` describes it."""
    return {
        "overarm_review": SCHEMA,
        "version": review.version,
        "seed": review.seed,
        "setup": review.setup_name,
        "setup_hash": review.setup_hash or None,
        "recording": {
            "name": review.name,
            "sha256": review.sha256,
            "form": review.form,
            "start_utc": review.start_utc,
            "seconds": review.seconds,
            "rates_hz": review.rates_hz,
        },
        "launches": [_launch(item, review) for item in review.launches],
        "spans": [item._asdict() for item in review.spans],
        "repairs": [item._asdict() for item in review.repairs],
        "remarks": list(review.remarks),
        "has_stop": review.has_stop,
        "sound": review.sound,
    }


def _launch(item: LaunchReview, review: Review) -> dict[str, Any]:
    return {
        **_record(item.record),
        "outcome": item.verdict.outcome,
        "verdict": item.verdict._asdict(),
        "weakest": item.weakest.link if item.weakest is not None else None,
        "margins": [margin._asdict() for margin in item.margins],
        "as_flown": [flown._asdict() for flown in item.as_flown],
        "estimates": {name: _estimate(one) for name, one in item.estimates.items()},
        "advice": _advice(item.advice),
        "trials": [trial._asdict() for trial in item.trials],
        "prediction": None if item.prediction is None else _prediction(item.prediction, review),
        "again": None if item.again is None else _again(item.again),
        "courses": [_band(band) for band in item.bands],
    }


def _record(record: LaunchRecord) -> dict[str, Any]:
    return {
        "number": record.number,
        "kind": record.kind,
        "from_s": record.from_s,
        "to_s": record.to_s,
        "ended": record.ended,
        "spans": [span._asdict() for span in record.spans],
        "events": {name: event._asdict() for name, event in record.events.items()},
        "remarks": list(record.remarks),
    }


def _estimate(one: Any) -> dict[str, Any]:
    found: dict[str, Any] = one._asdict()
    del found["name"]
    return found


def _advice(advice: Advice) -> dict[str, Any]:
    return {
        "kind": advice.kind,
        "sentence": advice.sentence,
        "changes": [item._asdict() for item in advice.changes],
        "gain": None if advice.gain is None else advice.gain._asdict(),
    }


def _prediction(found: Prediction, review: Review) -> dict[str, Any]:
    off = found.most_off
    return {
        "launches": found.launches,
        "worlds": found.worlds,
        "seed": review.seed,
        "clean": found.clean._asdict(),
        "outcomes": found.outcomes,
        "used": [item._asdict() for item in found.used],
        "quantiles": found.quantiles,
        "places": [item._asdict() for item in found.places],
        "most_off": None if off is None else off.name,
    }


def _again(found: Again) -> dict[str, Any]:
    return {
        "launches": found.launches,
        "given": [item._asdict() for item in found.given],
        "clean": found.clean._asdict(),
        "outcomes": found.outcomes,
        "others": [_other(item) for item in found.others],
    }


def _other(found: Other) -> dict[str, Any]:
    return {
        **found._asdict(),
        "changes": [item._asdict() for item in found.changes],
        "clean": found.clean._asdict(),
        "difference": found.difference._asdict(),
        "hand": found.hand._asdict(),
        "outcomes": [item._asdict() for item in found.outcomes],
    }


def _band(band: Band) -> dict[str, Any]:
    numbers = {key: [round(float(x), DIGITS) for x in getattr(band, key)] for key in band._fields[2:]}
    return {"name": band.name, "unit": band.unit, **numbers}

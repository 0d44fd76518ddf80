"""The answer of a review, and of the odds, as rows of a book."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from overarm.errors import InputError, Problem
from overarm.logbook.plain import float_in, int_in, plain, table_in, text_in
from overarm.logbook.tables import Row

MOST_LAUNCHES = 10_000
_LAUNCH_KEYS = {
    "number", "kind", "from_s", "to_s", "ended", "spans", "events", "estimates", "verdict", "outcome",
    "prediction",
}  # fmt: skip


def launches_in(review: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the launches of a review. Raises InputError if there is no list of them, or far too many."""
    found = review.get("launches")
    if not isinstance(found, list | tuple) or len(found) > MOST_LAUNCHES:
        cure = "Give the answer of overarm review --json"
        raise InputError([Problem("there is no list of launches in the review", cure, key="launches")])
    return [table_in(item, f"launches.{k}") for k, item in enumerate(found)]


def launch_row(launch: Mapping[str, Any], recording: Mapping[str, Any], version: str) -> Row:
    """Return the row of one launch of a review; setup, prediction and thrower are the caller's.

    Raises InputError with the key of what is missing or wrong.
    """
    from_s, to_s = float_in(launch, "from_s"), float_in(launch, "to_s")
    if to_s < from_s:
        cure = "Give the answer of overarm review --json"
        raise InputError([Problem("a launch ends before it begins", cure, key="to_s", value=str(to_s))])
    return {
        "recording": recording["id"],
        "number": int_in(launch, "number"),
        "setup": None,
        "prediction": None,
        "kind": text_in(launch, "kind"),
        "from_s": from_s,
        "to_s": to_s,
        "ended": text_in(launch, "ended", ""),
        "phases": plain(_spans(launch), "spans"),
        "events": plain(table_in(launch.get("events", {}), "events"), "events"),
        "estimates": plain(table_in(launch.get("estimates", {}), "estimates"), "estimates"),
        "verdict": plain(table_in(launch.get("verdict", {}), "verdict"), "verdict"),
        "outcome": text_in(launch, "outcome", ""),
        "more": plain({key: value for key, value in launch.items() if key not in _LAUNCH_KEYS}),
        "flown_utc": flown_utc(recording["start_utc"], from_s),
        "thrower": "",
        "version": version,
    }


def _spans(launch: Mapping[str, Any]) -> list[Any]:
    found = launch.get("spans", [])
    if not isinstance(found, list | tuple):
        raise InputError([Problem("is no list", "Give the answer of overarm review --json", key="spans")])
    return list(found)


def flown_utc(start_utc: str, after_s: float) -> str:
    """Return when something in a recording was, as ISO 8601 in UTC; empty if the start is not known."""
    try:
        start = datetime.fromisoformat(start_utc)
        then = (start if start.tzinfo is None else start.astimezone(UTC)) + timedelta(seconds=after_s)
    except (ValueError, OverflowError):
        return ""
    return then.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def prediction_row(answer: Mapping[str, Any], day: Mapping[str, float]) -> Row:
    """Return the row of a prediction: the answer of the odds, or the prediction in a review.

    Raises InputError with the key of what is missing or wrong, and for shares that are none.
    """
    clean = table_in(answer.get("clean"), "clean")
    low, share, high = (float_in(clean, key) for key in ("low", "share", "high"))
    if not 0.0 <= low <= share <= high <= 1.0:
        cure = "Give shares within 0 and 1, low, share and high in this order"
        raise InputError([Problem("is no share with its interval", cure, key="clean", value=str(share))])
    quantiles = answer.get("quantiles")
    if quantiles is None:
        low_point = answer.get("low_point_height_m")
        quantiles = {} if low_point is None else {"low_point_height_m": low_point}
    return {
        "setup": text_in(answer, "setup_hash"),
        "seed": int_in(answer, "seed"),
        "version": text_in(answer, "version"),
        "launches": int_in(answer, "launches"),
        "clean_low": low,
        "clean_share": share,
        "clean_high": high,
        "quantiles": plain(table_in(quantiles, "quantiles"), "quantiles"),
        "day": plain(table_in(answer.get("day", day), "day"), "day"),
    }

"""The settings as the recording shows them, beside those of the card."""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.odds.finding import Word
from overarm.review.result import AsFlown
from overarm.review.seen import Seen

TIMES_ERROR = 4.0
LATE_S = 1.0  # a wait that is longer by more than this is another detection, not another wait


class _Setting(NamedTuple):
    key: str
    estimate: str
    field: str
    name: str
    unit: str
    scale: float
    slack: float  # SI: differences up to this are none


SETTINGS = (
    _Setting("settings.start_wait", "start_wait_s", "start_wait_s", "start wait", "s", 1.0, 0.04),
    _Setting(
        "settings.throttle_rise", "throttle_rise_per_s", "throttle_rise_per_s", "throttle rise", "%/s", 100.0,
        0.08,
    ),
    _Setting(
        "settings.launch_ceiling", "throttle_ceiling", "launch_ceiling_share", "launch ceiling", "%", 100.0,
        0.03,
    ),
)  # fmt: skip


def as_flown(seen: Seen) -> tuple[AsFlown, ...]:
    """Return start wait, throttle rise and ceiling as recorded, each beside the card's.

    A difference is one beyond four standard errors and a little. A shorter wait than the card's is a stop:
    the hand has less time than was planned.
    """
    if seen.setup is None or seen.launch.kind != "launch":
        return ()
    return tuple(found for item in SETTINGS if (found := _beside(seen, item)) is not None)


def _beside(seen: Seen, item: _Setting) -> AsFlown | None:
    assert seen.setup is not None
    estimate = seen.estimates.get(item.estimate)
    card = getattr(seen.setup.settings, item.field).value
    if estimate is None or estimate.value is None:
        return None
    if item.key == "settings.launch_ceiling" and not _reached(seen):
        return None
    value, error = estimate.value, estimate.error
    gap = value - card
    same = abs(gap) <= item.slack * (card if item.unit == "%/s" else 1.0) + TIMES_ERROR * error
    if same or (estimate.bound == "at least" and gap < 0.0):
        return AsFlown(item.key, card, value, error, "good", _words(item, value, card, "as"))
    word: Word = "watch"
    if item.key == "settings.start_wait":
        if gap > LATE_S:
            said = (
                f"The motor started {gap:.1f} s later than this trigger would have asked for: it was not yet "
                "listening when the carry passed level and dwell, or other settings were flown."
            )
            return AsFlown(item.key, card, value, error, "watch", said)
        word = "stop" if gap < 0.0 and seen.style == "throw-started" else "watch"
    return AsFlown(item.key, card, value, error, word, _words(item, value, card, "not"))


def _reached(seen: Seen) -> bool:
    """Return whether the launch lasted long enough for the throttle to reach the ceiling of the card."""
    assert seen.setup is not None
    card, begin = seen.setup.settings, seen.event("first_throttle")
    rise = seen.value("throttle_rise_per_s") or card.throttle_rise_per_s.value
    return begin is not None and rise * (seen.end_s - begin.t_s) > card.launch_ceiling_share.value + 0.1


def _words(item: _Setting, value: float, card: float, how: str) -> str:
    digits = 2 if item.unit == "s" else 0
    shown, told = (f"{item.scale * x:.{digits}f}" for x in (value, card))
    said = f"The {item.name} flown was {shown} {item.unit}"
    return f"{said}, as the card says." if how == "as" else f"{said}; the card says {told} {item.unit}."


def overrides_of(flown: tuple[AsFlown, ...]) -> dict[str, float]:
    """Return the fields of the launch record that were flown otherwise than the card says, SI."""
    fields = {
        "settings.start_wait": "logic.start_wait_s",
        "settings.throttle_rise": "logic.throttle_rise_per_s",
        "settings.launch_ceiling": "logic.launch_ceiling",
    }
    return {
        fields[item.key]: item.flown
        for item in flown
        if item.word != "good" and math.isfinite(item.flown) and not started_late(item)
    }


def started_late(item: AsFlown) -> bool:
    """Return whether the card's trigger would have fired long before the motor started: in the carry."""
    return item.key == "settings.start_wait" and item.flown - item.card > LATE_S

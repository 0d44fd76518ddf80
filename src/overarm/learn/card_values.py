"""What was learned as values of the cards, ready to be written into a setup."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from overarm.describe.setup import Setup
from overarm.learn.bench.pull import PullReading
from overarm.learn.targets import amount_at, unit_for
from overarm.learn.update import Update
from overarm.learn.words import count_words
from overarm.units import CURRENT, FORCE, SHARE, VOLTAGE, from_si

ID_LETTERS = 8
LEAST_TO_TELL_SCATTER = 2  # readings; one says nothing of how they scatter
WIDEST_SHARE = 0.9  # of the value: what a spread of something positive may be
TIGHTEST_SHARE = 1e-3
MOST_DIGITS = 6


class CardValues(NamedTuple):
    """What is written where: text (or a list of readings) and a comment, by the path of the input."""

    changes: dict[str, Any]
    comments: dict[str, str]


def ids_of(update: Update) -> tuple[str, ...]:
    """Return the first letters of the hashes of the sources, each once, in order."""
    return tuple(dict.fromkeys(item.source[:ID_LETTERS] for item in update.evidence))


def card_values(setup: Setup, updates: Sequence[Update], pulls: Sequence[PullReading] = ()) -> CardValues:
    """Return what stands on the cards after learning, flagged measured, each with its spread.

    Nothing is written for an input without evidence, nor a scatter that only one reading stands behind.
    """
    changes: dict[str, Any] = {}
    comments: dict[str, str] = {}
    for update in updates:
        if not update.evidence:
            continue
        key = update.target.input
        said = f"learned from {count_words(update)} (evidence {' '.join(ids_of(update))})"
        if key == "power.thrust":
            found = _bench(setup, update, pulls)
            changes |= found
            comments["power.bench"] = said
            continue
        changes[key] = _text(setup, key, update.after.value, update.after.spread)
        comments[key] = said
        scatter = update.after.scatter
        if scatter is not None and len(update.evidence) >= LEAST_TO_TELL_SCATTER:
            changes[update.target.scatter] = _text(
                setup, update.target.scatter, scatter.value, scatter.spread
            )
            comments[update.target.scatter] = said
    return CardValues(changes, comments)


def _text(setup: Setup, key: str, value: float, spread: float) -> str:
    """Return a value as a card takes it: within its range, in its unit, with its spread."""
    accepts = amount_at(key)
    value = min(max(value, accepts.low), accepts.high)
    if accepts.kind == "lognormal":
        spread = min(spread, WIDEST_SHARE * value)
    unit = "%" if accepts.dimension is SHARE else unit_for(setup, key)
    dimension = accepts.dimension
    digits = _digits(value, spread)
    return f"{from_si(value, dimension, unit, digits)} +- {from_si(spread, dimension, unit, 2)} measured"


def _digits(value: float, spread: float) -> int:
    """Return how many digits of a value its spread lets count: one beyond the first of the spread."""
    if value == 0.0 or spread <= 0.0:
        return MOST_DIGITS
    return min(MOST_DIGITS, max(2, 2 + math.floor(math.log10(abs(value))) - math.floor(math.log10(spread))))


def _bench(setup: Setup, update: Update, pulls: Sequence[PullReading]) -> dict[str, Any]:
    """Return the thrust as readings of the power card: those that are there, made larger or smaller.

    Without readings on the card it gets those of the pull form, or one at the launch ceiling.
    """
    after, before = update.after, update.before
    share = max(TIGHTEST_SHARE, after.spread / after.value)
    spread = f"+- {100.0 * share:.2g} % measured"
    unit = unit_for(setup, "power.thrust")
    factor = after.value / before.value
    if setup.power.bench:
        return {
            f"power.bench.{k}.pull": f"{from_si(factor * row.pull_n.value, FORCE, unit)} {spread}"
            for k, row in enumerate(setup.power.bench)
        }
    ceiling = setup.settings.launch_ceiling_share.value
    if not pulls:
        return {
            "power.bench": [
                {"throttle": _percent(ceiling), "pull": f"{from_si(after.value, FORCE, unit)} {spread}"}
            ]
        }
    return {
        "power.bench": [_row(item, unit, spread) for item in sorted(pulls, key=lambda item: -item.throttle)]
    }


def _percent(share: float) -> str:
    return from_si(share, SHARE, "%")


def _row(item: PullReading, unit: str, spread: str) -> dict[str, str]:
    row = {"throttle": _percent(item.throttle), "pull": f"{from_si(item.pull_n.value, FORCE, unit)} {spread}"}
    if item.current_a is not None:
        row["current"] = f"{from_si(item.current_a.value, CURRENT, 'A')} measured"
    if item.volts_v is not None:
        row["volts"] = f"{from_si(item.volts_v.value, VOLTAGE, 'V')} measured"
    return row

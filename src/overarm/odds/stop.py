"""When enough launches have been flown.

Looking at an interval again and again and stopping at the first narrow one makes it look a little
narrower than it is. So nobody looks before `FEWEST_WORLDS` worlds, and only once a chunk.
"""

from __future__ import annotations

from typing import NamedTuple

from overarm.errors import InputError, Problem
from overarm.odds.intervals import Interval

DEFAULT_LAUNCHES = 10_000
MOST_LAUNCHES = 200_000  # with an interval width and no number of launches
LIMIT_LAUNCHES = 2_000_000
FEWEST_WORLDS = 40
NARROWEST = 0.002
MOST_TRACES = 50  # a trace is some thousands of numbers


class StopRule(NamedTuple):
    """At most so many launches, fewer if the 95 % interval gets as narrow as asked."""

    launches: int
    until_width: float | None = None


def _outside(key: str, value: float, cure: str) -> InputError:
    return InputError([Problem("is outside what can be flown", cure, key=key, value=f"{value:,g}")])


def stop_rule(launches: int | None, until_width: float | None, traces: int = 0) -> StopRule:
    """Return the rule for what was asked. InputError if it makes no sense."""
    if until_width is not None and not NARROWEST <= until_width <= 1.0:
        cure = f"Give a share from {NARROWEST:g} to 1, such as 0.04 for four points of percent."
        raise _outside("until-width", until_width, cure)
    if launches is None:
        launches = DEFAULT_LAUNCHES if until_width is None else MOST_LAUNCHES
    if not 1 <= launches <= LIMIT_LAUNCHES:
        raise _outside("launches", launches, f"Give a number from 1 to {LIMIT_LAUNCHES:,}.")
    if not 0 <= traces <= MOST_TRACES:
        raise _outside("trace", traces, f"Give a number from 0 to {MOST_TRACES:,}.")
    return StopRule(launches, until_width)


def reason_to_stop(rule: StopRule, done: int, worlds: int, interval: Interval) -> str | None:
    """Return why the campaign is over, or None to go on."""
    if rule.until_width is not None and worlds >= FEWEST_WORLDS and interval.width <= rule.until_width:
        wide, asked = 100.0 * interval.width, 100.0 * rule.until_width
        return f"the interval is {wide:.1f} points wide, {asked:.3g} were asked for"
    if done >= rule.launches:
        if rule.until_width is None:
            return f"all {rule.launches:,} launches were flown"
        return (
            f"{rule.launches:,} launches, the most allowed, were flown; the interval is still "
            f"{100.0 * interval.width:.1f} points wide"
        )
    return None

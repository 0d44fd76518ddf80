"""Hand and disc, line and motor in the launches that were flown: what the pictures of the race show too.

Limits: common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from overarm.flight.outcomes import Outcome
from overarm.odds.clear import CLEAR_EXTRA_S, CLEAR_QUANTILE, ROUNDING_S
from overarm.odds.finding import Finding
from overarm.odds.intervals import by_world, effective_launches, exact, figure_likeness, tail_likeness
from overarm.odds.links import LaunchFigures

MOST_HANDS_AT_RISK = 1e-3
HAND_AS_FLOWN = "hand and disc, as flown"
WAIT_AS_FLOWN = "start wait, as flown"
FEWEST_FOR_TAIL = round(1.0 / (1.0 - CLEAR_QUANTILE))  # launches that have a slowest one of 1000 among them
ONE_SIDED = 0.90  # two-sided level of a one-sided bound of 95 %

Table = NDArray[np.void]


def as_meant(table: Table) -> NDArray[np.bool_]:
    """Return which launches were begun by the person and left hand or hook as they should."""
    return ~np.isin(table["outcome"], (Outcome.FALSE_START, Outcome.HOOK_STUCK))


def hand_slack_s(table: Table) -> float:
    """Return what all but one launch of 1000 have between a clear hand and the first turn [s], or NaN."""
    use = (table["clear_s"] >= 0.0) & (table["first_spin_s"] >= 0.0) & as_meant(table)
    rows = table[use]
    if not len(rows):
        return math.nan
    return float(np.quantile(rows["first_spin_s"] - rows["clear_s"], 1.0 - CLEAR_QUANTILE))


def hand_wait_s(table: Table, wait_s: float) -> float:
    """Return the shortest start wait that keeps hand and disc apart [s]; NaN if nothing turned.

    Equation: ``wait - (q - 0.10 s)``, q the time between a clear hand and the first turn that all but one
    launch of 1000 exceed: a longer wait moves the first turn by as much.
    Source: 999 of 1000 and 0.10 s are common practice, no source.
    """
    slack = hand_slack_s(table)
    return math.nan if math.isnan(slack) else max(0.0, wait_s - (slack - CLEAR_EXTRA_S))


def line_wait_s(table: Table, start_delay_s: float) -> float:
    """Return the shortest start wait that keeps line and motor apart [s]; NaN if none left the line.

    Equation: time on the line in all but one launch of 1000, plus 0.10 s, less the start delay. The first
    turn says nothing: the wind turns the propeller on the line.
    """
    use = (table["detection_s"] >= 0) & (table["release_s"] >= 0) & as_meant(table)
    rows = table[use]
    if not len(rows):
        return math.nan
    on_line_s = float(np.quantile(rows["release_s"] - rows["detection_s"], CLEAR_QUANTILE))
    return max(0.0, on_line_s + CLEAR_EXTRA_S - start_delay_s)


def wait_as_said_s(needed_s: float) -> float:
    """Return a wait that is needed as it is said, to 0.01 s: never less than the hand needs."""
    return math.ceil(100.0 * (needed_s - ROUNDING_S)) / 100.0


def is_too_short(wait_s: float, needed_s: float) -> bool:
    """Return True if a start wait is shorter than the one that is needed, as that is said; not for NaN."""
    return math.isfinite(needed_s) and wait_s < wait_as_said_s(needed_s) - 1e-9


def too_short_words(wait_s: float, needed_s: float, what: str) -> str:
    """Return the sentence on a start wait that is too short for hand or line."""
    least = f"as flown at least {wait_as_said_s(needed_s):.2f} s"
    return f"The wait of {wait_s:.2f} s is too short for the {what}: {least}"


def most_hands_at_risk(table: Table, risky: NDArray[np.bool_]) -> float:
    """Return the largest share of launches with a hand at risk that the launches still allow, one-sided 95 %.

    Launches of one world are alike, but a handful of events does not show how much. What decides them, the
    time from a clear hand to the first turn, is known in every launch and shows it: its correlation within
    worlds, carried to its tail of one in 1000.
    """
    slack = table[(table["clear_s"] >= 0.0) & (table["first_spin_s"] >= 0.0)]
    alike = figure_likeness(slack["first_spin_s"] - slack["clear_s"], slack["world"])
    worlds = by_world(risky, table["world"])
    told = effective_launches(worlds, ONE_SIDED, tail_likeness(alike, MOST_HANDS_AT_RISK))
    return exact(float(np.mean(risky)) * told, told, ONE_SIDED).high


def at_risk(table: Table) -> NDArray[np.bool_]:
    """Return which launches put a hand at risk; a start in the hand before the throw counts too."""
    return np.isin(table["outcome"], (Outcome.HAND_AT_RISK, Outcome.FALSE_START))


def hand_as_flown(table: Table, style: str, pusher: bool, wait_s: float | None = None) -> Finding | None:
    """Return the finding on hand and disc over all launches that were flown.

    A start in the hand before the throw counts too. Stop: the disc turned within reach of a hand in more
    than one launch of 1000. Not known: too few launches to say that it did not. Watch: in one launch of 1000
    less than 0.10 s lay between a clear hand and the first turn, however few were flown; with the start wait
    of a thrown start given, the sentence has the wait that is needed. None where no disc passes a hand.
    """
    if style == "line-launched" or not pusher or not len(table):
        return None
    hands = at_risk(table)
    risky = int(np.sum(hands))
    numbers = {"at_risk": float(risky), "launches": float(len(table))}
    said = f"In the model the disc turned near a hand in {risky:,} of {len(table):,} launches"
    short, more = _short(table, style, wait_s)
    if risky / len(table) > MOST_HANDS_AT_RISK:
        words = f"{said}; one of 1000 is the most.{more}"
        return Finding(HAND_AS_FLOWN, "stop", words, numbers, combined=True)
    most, slack = most_hands_at_risk(table, hands), hand_slack_s(table)
    numbers |= {"most_share": most}
    if most > MOST_HANDS_AT_RISK or math.isnan(slack):
        words = f"{said}. More launches must show whether that is less than one of 1000.{more}"
        return Finding(HAND_AS_FLOWN, "watch" if short else "not known", words, numbers, combined=True)
    words = (
        f"{said}, and in all but one of 1000 the hand was clear {slack:.2f} s or more before the first turn; "
        f"{CLEAR_EXTRA_S:.2f} s is wanted.{more} How a hand moves after release is a guess of the model."
    )
    numbers |= {"slack_s": slack}
    return Finding(HAND_AS_FLOWN, "watch" if short else "good", words, numbers, combined=True)


def _short(table: Table, style: str, wait_s: float | None) -> tuple[bool, str]:
    """Return whether too little lies between a clear hand and the first turn, and the wait that is needed."""
    if wait_s is None or style != "throw-started":
        return hand_slack_s(table) < CLEAR_EXTRA_S - ROUNDING_S, ""
    needed = hand_wait_s(table, wait_s)
    short = is_too_short(wait_s, needed)
    return short, f" {too_short_words(wait_s, needed, 'hand')}." if short else ""


def hands_shown(hand: Finding) -> bool:
    """Return True if a finding of `hand_as_flown` has launches enough to show hands clear in 999 of 1000."""
    return hand.word != "stop" and "slack_s" in hand.numbers


def wait_as_flown(table: Table, launch: LaunchFigures) -> Finding | None:
    """Return the finding on a start wait that keeps no hand from a disc: off a line, or ahead of a tractor.

    Watch: in one launch of 1000 the motor turns before line or hand has been away for 0.10 s. Not known:
    fewer launches than one can say that of. None where `hand_as_flown` speaks, and with a start in the hand.
    """
    by_line, wait_s = launch.style == "line-launched", launch.start_wait_s
    if launch.style == "spin-in-hand" or (launch.pusher and not by_line) or not len(table):
        return None
    what = "line" if by_line else "hand"
    needed = line_wait_s(table, launch.start_delay_s) if by_line else hand_wait_s(table, wait_s)
    numbers = {"wait_s": wait_s, "launches": float(len(table))}
    if math.isfinite(needed):
        numbers |= {"needed_s": needed}
    if is_too_short(wait_s, needed):
        words = f"{too_short_words(wait_s, needed, what)}."
        return Finding(WAIT_AS_FLOWN, "watch", words, numbers, combined=True)
    if len(table) < FEWEST_FOR_TAIL or math.isnan(needed):
        words = f"More launches must show how long the {what} needs; {FEWEST_FOR_TAIL:,} at least."
        return Finding(WAIT_AS_FLOWN, "not known", words, numbers, combined=True)
    words = f"As flown the {what} needs {wait_as_said_s(needed):.2f} s; the motor waits {wait_s:.2f} s."
    return Finding(WAIT_AS_FLOWN, "good", words, numbers, combined=True)


def as_flown(table: Table, launch: LaunchFigures) -> tuple[Finding, ...]:
    """Return the findings that only launches can tell; with them the race of the pictures says the same."""
    hand = hand_as_flown(table, launch.style, launch.pusher, launch.start_wait_s)
    found = hand if hand is not None else wait_as_flown(table, launch)
    return () if found is None else (found,)

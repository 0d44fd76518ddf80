"""What a change does to the odds, as a few lines of plain text."""

from __future__ import annotations

import textwrap

from overarm.odds.format import plain_percent, with_interval
from overarm.odds.paired import Difference
from overarm.odds.paired_words import interval_words
from overarm.odds.what_if import WhatIf

WIDTH = 100
MOST_OUTCOMES = 4
ADVICE = "The tool gives odds from a model; you decide."
SMALL_POINTS = 2.0  # below it tenths of a point are shown


def points(difference: Difference) -> str:
    """Return a difference of odds and its interval in points of percent: "-20 points (-23 to -17)"."""
    ends = (difference.share, difference.low, difference.high)
    share, low, high = (100.0 * value for value in ends)
    digits = 1 if max(abs(low), abs(high)) < SMALL_POINTS else 0
    said = [f"{value:+.{digits}f}" for value in (share, low, high)]
    zero = f"{0.0:.{digits}f}"
    share_said, low_said, high_said = (zero if text[1:] == zero else text for text in said)
    return f"{share_said} points ({low_said} to {high_said})"


def _fold(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)


def _launches(number: int) -> str:
    return "no launch" if number == 0 else "1 launch" if number == 1 else f"{number:,} launches"


def _behind(found: WhatIf) -> str:
    """Say how many launches the change turned, and whether zero is left out."""
    gap, campaign = found.difference, found.campaign
    if found.before.setup_hash == found.after.setup_hash:
        return "Both setups are the same to the last digit: nothing was changed."
    told = interval_words(gap, found.few_worlds, campaign.worlds, campaign.launches)
    if not gap.won and not gap.lost:
        return told
    turned = (
        f"Of {campaign.launches:,} launches flown both ways it spoiled {_launches(gap.lost)} that had been "
        f"clean and made {_launches(gap.won)} clean that had not."
    )
    unclear = "" if gap.clear else "That is no clear change: fly more launches to see one."
    return " ".join(said for said in (turned, told, unclear) if said)


def _outcomes(found: WhatIf) -> list[str]:
    if not found.outcomes:
        return []
    flown = found.campaign.launches
    rows = found.outcomes[:MOST_OUTCOMES]
    width = max(len(item.outcome) for item in rows)
    lines = ["Outcomes that moved most:"]
    lines += [
        f"  {item.outcome:<{width}}  {plain_percent(item.before / flown):>6} -> "
        f"{plain_percent(item.after / flown)}"
        for item in rows
    ]
    return [*lines, ""]


def _findings(found: WhatIf) -> list[str]:
    turned = {item.name: item for item in found.turned}
    lines = [
        _fold(f"{item.name}: {item.before} -> {item.after}. {item.sentence}", "  ", "    ")
        for item in turned.values()
    ]
    if lines:
        lines = ["Findings that turn with it:", *lines, ""]
    stops = [item for item in found.stops if item.name not in turned]
    if stops:
        lines += ["STOP, with or without the change:"]
        lines += [_fold(f"{item.name}: {item.sentence}", "  ", "    ") for item in stops]
        lines.append("")
    return lines


def what_if_answer(found: WhatIf) -> str:
    """Return the answer for a person at a screen."""
    campaign = found.campaign
    lines = [f"CANCELLED after {campaign.launches:,} launches."] if campaign.cancelled else []
    new = [item.name for item in found.turned if item.after == "stop"]
    lines += [_fold(f"STOP with the change: {', '.join(new)}.")] if new else []
    lines += [
        f"{points(found.difference)} for the odds of a clean launch.",
        "",
        *(f"  {item.key}: {item.before} -> {item.after}" for item in found.changes),
        f"  as it is  {with_interval(found.before.clean)} clean",
        f"  changed   {with_interval(found.after.clean)} clean",
        "",
        _fold(_behind(found)),
        "",
        *_outcomes(found),
        *_findings(found),
    ]
    trail = (
        f"{campaign.launches:,} launches in {campaign.worlds:,} worlds, seed {campaign.seed}, setup "
        f"{found.before.setup_hash} against {found.after.setup_hash}, Overarm {campaign.version}; "
        f"{campaign.stopped_because}. {ADVICE}"
    )
    return "\n".join([*lines, _fold(trail)])

"""What to measure next, as a page of plain text."""

from __future__ import annotations

import textwrap

from overarm.odds.format import signed_points, whole_percent, with_interval
from overarm.odds.measured import Bar, InputDoubt, MeasureResult
from overarm.odds.words import ADVICE, WIDTH

MOST_DOUBTS = 12
LEAST_BAND_POINTS = 0.5
ALONE_SAYS_MORE = (
    "Alone: the share of the variance of the odds that would go on average if this input alone were known "
    "exactly. In all: the share that would be left if all others were."
)


def _wrapped(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)


def headline(result: MeasureResult) -> str:
    """Return the odds and their band in one line."""
    over, clean = result.over_worlds, f"{with_interval(result.clean)} clean"
    if result.band_points < LEAST_BAND_POINTS:
        return f"{clean}; what we do not know makes no visible difference."
    low, high = whole_percent(over.p5), whole_percent(over.p95)
    wide = f"a band of {result.band_points:.0f} points"
    return f"{clean}; over what we do not know from {low} to {high} %, {wide}."


def _advice(result: MeasureResult) -> list[str]:
    if result.reason:
        return [_wrapped(result.reason)]
    lines = ["Measure next, the most points of the band for each minute first:"]
    for place, work in enumerate(result.advised, start=1):
        head = f"  {place}. "
        said = f"{work.sentence} {work.points_per_minute:.2f} points a minute."
        lines.append(_wrapped(said, head, " " * len(head)))
    return lines


def _rest(result: MeasureResult) -> list[str]:
    """Say which work is not worth its minutes."""
    rest = [work for work in result.works if not work.clear]
    return (
        [_wrapped("Not worth it now:"), *(_wrapped(work.sentence, "  - ", "    ") for work in rest)]
        if rest
        else []
    )


def _doubt(item: InputDoubt) -> str:
    index = item.part
    no_way = "" if item.how is not None else ", with no simple way to know it better"
    state = f"guessed{no_way}" if item.guessed else "measured, as well as it is"
    alone = f"alone {100.0 * max(0.0, index.first):.0f} %, give or take {100.0 * index.first_error:.0f}"
    in_all = f"in all {100.0 * max(0.0, index.total):.0f} %, give or take {100.0 * index.total_error:.0f}"
    said = f"{item.words}: {alone}; {in_all}; {state}"
    return _wrapped(said, "  ", "    ")


def _doubts(result: MeasureResult) -> list[str]:
    found = result.indices
    if found is None or not found.clear:
        return []
    shown = [item for item in result.inputs if item.part.total > item.part.total_error][:MOST_DOUBTS]
    if not shown:
        return []
    return ["What makes the doubt:", *(_doubt(item) for item in shown), _wrapped(ALONE_SAYS_MORE, "  ", "  ")]


def _bar(bar: Bar) -> str:
    low = f"{signed_points(bar.low_points):>6} ± {2.0 * bar.low_error_points:3.1f}"
    high = f"{signed_points(bar.high_points):>6} ± {2.0 * bar.high_error_points:3.1f}"
    sd = f" (sd {bar.one_sd})" if bar.one_sd else ""
    return f"  {low}  {high}  {bar.words}{sd}"


def _bars(result: MeasureResult) -> list[str]:
    if not result.bars:
        return []
    head = "Tornado, points of the odds with an input one standard deviation (sd) below, and above:"
    return [head, *(_bar(bar) for bar in result.bars)]


def answer(result: MeasureResult) -> str:
    """Return the answer for a person at a screen."""
    holds = "A gain holds if the reading comes out where the card has it; the minutes are our own estimates."
    flown = f"{result.launches:,} launches, seed {result.seed}, setup {result.setup_hash}"
    trail = f"{flown}, Overarm {result.version}."
    blocks = [
        [_wrapped(headline(result))],
        _advice(result),
        _rest(result),
        _doubts(result),
        _bars(result),
        [_wrapped(f"{trail} {holds} {ADVICE}")],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)

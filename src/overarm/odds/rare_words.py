"""How rare an outcome is, in words."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING

from overarm.flight.outcomes import Outcome
from overarm.odds.names import WHEN_LOW, plain_name

if TYPE_CHECKING:
    from overarm.odds.rare_cause import Stand, Way
    from overarm.odds.rare_result import RareResult

WIDTH = 100
ADVICE = "The tool gives figures from a model; you decide."
GENERAL = (
    "Radio, firmware, servos that fail, a loose pack, a cracked propeller and other people.",
    "Whether inputs that somebody guessed really scatter as a bell curve does, so far out.",
)
_BY_OUTCOME = {
    Outcome.HAND_AT_RISK: (
        "How a hand really moves after release, and an arm that passes sideways through the disc.",
        "A hand that reaches for the model, and anything else that people do unasked.",
    ),
    Outcome.FALSE_START: ("A model that is knocked, dropped or laid down, and a hand that trips.",),
    Outcome.NO_START: ("A board that restarts, and a trigger that was never armed.",),
    Outcome.HOOK_STUCK: ("Why a ring sticks: only how often is on the card.",),
    Outcome.POWER_LOST: ("Heat, cells that are not alike, and the slow recovery of the pack.",),
    Outcome.STRUCK_OBSTACLE: ("Obstacles that are not on the card, and the lee behind those that are.",),
}


def left_out(outcome: Outcome) -> tuple[str, ...]:
    """Return what the model leaves out that bears on an outcome."""
    return (*_BY_OUTCOME.get(outcome, ()), *GENERAL)


def _unit(share: float) -> int:
    """Return of how many launches a share is told: one to ten of them are it."""
    if share <= 0.0:
        return 1000
    return int(10 ** max(2, math.ceil(-math.log10(share) - 1e-12)))


def of_launches(share: float, unit: int | None = None) -> str:
    """Return a share as "2.1 of 10,000 launches"."""
    unit = _unit(share) if unit is None else unit
    return f"{share * unit:.2g} of {unit:,} launches"


def at_most_words(share: float) -> str:
    """Return a bound as "at most 5.1 of 100,000 launches", rounded up."""
    unit = _unit(share)
    return f"at most {math.ceil(10.0 * share * unit - 1e-9) / 10.0:g} of {unit:,} launches"


def headline(result: RareResult) -> str:
    """Return the answer in one line."""
    name, share, guessed = result.trail.outcome, result.share, len(result.inputs.guessed)
    inputs = f"{guessed} input{'' if guessed == 1 else 's'} guessed"
    interval = result.interval
    if interval is not None:
        unit = _unit(interval.share)
        low, high = (f"{end * unit:.2g}" for end in (interval.low, interval.high))
        settled = "" if share.settled else ", but the search did not settle"
        return (
            f"{name}: {of_launches(interval.share, unit)} ({low} to {high}) in the model{settled}, {inputs}"
        )
    bound = at_most_words(result.at_most)
    if share.events == 0:
        return f"{name}: not found in the model, {bound} (95 %), {inputs}"
    return f"{name}: found, but no figure can be told; {bound} (95 %) in the model, {inputs}"


def _why_no_figure(result: RareResult) -> str:
    share, plain = result.share, f"{result.share.plain_launches:,} launches drawn as they come"
    if share.events == 0:
        return (
            f"A search of {result.trail.search_launches:,} launches found no way to it, and it did not "
            f"happen in {plain}. That is what the bound rests on; it is no proof that it cannot happen."
        )
    if share.rests_on_few:
        return (
            f"The figure would rest on few launches: the {share.events:,} in which it happened count as "
            f"{share.effective_events:.0f}, and one alone makes {100.0 * share.largest_share:.0f} % of it. "
            f"So there is only a bound, from the {plain}. Fly more, or ask with another seed."
        )
    return (
        "By the ways that were found it is less than one of a million launches, so far out in the tails of "
        f"guessed inputs that a figure means nothing. The bound is that of the {plain}."
    )


def _rests_on(result: RareResult) -> str:
    share, needed = result.share, result.plain_needed
    said = (
        f"It rests on {share.events:,} launches in which it happened, worth {share.effective_events:.0f} of "
        f"equal weight; one standard error is {100.0 * share.relative_error:.0f} %."
    )
    if needed is not None:
        said += f" Drawn as they come, {float(f'{needed:.2g}'):,.0f} launches would tell it as well."
    happened = f"it happened in {share.plain_events:,}" if share.plain_events else "it never happened"
    if not share.settled:
        said += " The search did not settle: there may be more ways to it, and the figure too low by them."
    return (
        f"{said} In the {share.plain_launches:,} launches that were drawn as they come, those of the search "
        f"too, {happened}; alone they allow {at_most_words(share.plain_at_most)}, whatever the search has "
        "missed."
    )


def _stand(stand: Stand, one_sd: str) -> str:
    if stand.name in WHEN_LOW and stand.sd < 0.0:
        return plain_name(stand.name)
    return f"{plain_name(stand.name)}: {stand.sd:+.1f} sd{f' (1 sd: {one_sd})' if one_sd else ''}"


def _way(way: Way, one_sd: dict[str, str]) -> str:
    stands = "; ".join(_stand(stand, one_sd.get(stand.name, "")) for stand in way.inputs)
    return _wrapped(f"{100.0 * way.part:.0f} %: {stands or 'no input stands out'}", "  ", "    ")


def _wrapped(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)


def answer(result: RareResult) -> str:
    """Return the answer for a person at a screen."""
    trail = result.trail
    lines = (
        [f"CANCELLED after {result.launches:,} launches; this is what they say."] if trail.cancelled else []
    )
    lines += [_wrapped(f"{headline(result)}."), ""]
    lines.append(_wrapped(_rests_on(result) if result.told else _why_no_figure(result)))
    if result.finding is not None:
        sign = {"stop": "STOP"}.get(result.finding.word, result.finding.word)
        lines += ["", _wrapped(f"{sign}  {result.finding.sentence}")]
    if result.ways and not result.share.rests_on_few:
        lines += [
            "",
            "How it comes about, and where inputs then stand, in standard deviations (sd) from their middle:",
        ]
        lines += [_way(way, result.inputs.one_sd) for way in result.ways]
    lines += ["", "The model leaves out:", *(_wrapped(item, "  ", "  ") for item in result.left_out), ""]
    trace = (
        f"{result.launches:,} launches, each with its own unknowns, {trail.search_launches:,} of them to "
        f"find it; seed {trail.seed}, setup {trail.setup_hash}, Overarm {trail.version}"
    )
    lines.append(_wrapped(f"{trace}; {trail.stopped_because}. {ADVICE}"))
    return "\n".join(lines)

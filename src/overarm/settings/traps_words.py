"""Traps in words."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from overarm.odds.format import percent, plain_percent, with_interval
from overarm.odds.intervals import Interval
from overarm.odds.what_if_words import points
from overarm.settings.traps_parts import BELONGS, PLAIN_WIND
from overarm.settings.traps_result import Cure, Trap, Traps

if TYPE_CHECKING:
    from overarm.settings.traps_parts import Part

WIDTH = 100
ADVICE = "The tool gives odds from a model; you decide."


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def launch_sentence(trap: Trap, style: str, breezy: Interval | None) -> str:
    """Return the sentence on a trap in the launch.

    ``breezy``: odds of the same in a plain wind, if that hides the trap.
    """
    what = _capital(_listed([f"{member.words} {member.value}" for member in trap.members]))
    alone, so = ("is acceptable by itself", "only") if len(trap.members) == 1 else (
        "are each acceptable", "together only"
    )  # fmt: skip
    said = (
        f"{what} {alone}; in this {style} launch {so} {percent(trap.odds)} are clean, with the "
        f"usual values {percent(trap.without)}."
    )
    if trap.calm is not None:
        said += f" If the wind drops to calm, {plain_percent(trap.calm)} are."
    said += "".join(f" {_capital(item.meaning)}." for item in trap.members if BELONGS in item.meaning)
    if breezy is not None:
        said += f" In a wind of {PLAIN_WIND} {percent(breezy)} are clean: that it worked in wind says little."
    best = trap.cures[0]
    return f"{said} {_capital(best.words)} {best.after} alone gains {points(best.gain)}."


def carry_sentence(found: tuple[Part, ...], feels: str, cure: Cure, spare: str) -> str:
    """Return the sentence on a trap while the model is carried."""
    what = _capital(_listed([f"{part.words} {part.value}" for part in found]))
    return (
        f"{what} are each acceptable; together a step of a walk starts the motor in somebody's hand: "
        f"{feels}. {_capital(cure.words)} {cure.after} alone cures it{spare}."
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _fold(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)


def _trap_lines(number: int, trap: Trap) -> list[str]:
    where = "in the launch" if trap.kind == "launch" else "while it is carried"
    lines = [_fold(f"{number}. TRAP {where}. {trap.sentence}", "", "   "), ""]
    if trap.after:
        lines[:0] = [f"With {_listed(list(trap.after))} in place:"]
    lines += [
        _fold(f"{member.meaning}.", f"   {member.words} {member.value}: ", "     ") for member in trap.members
    ]
    launch = trap.kind == "launch"
    of = "Clean launches" if launch else "Two-minute carries, nose-up, without a start"
    lines += [
        "",
        _fold(
            f"{of}: {with_interval(trap.odds)} as it is, {with_interval(trap.without)} with the usual "
            "values of its members.",
            "   ",
            "   ",
        ),
    ]
    lines += ["   Single changes that get out of it, by what they gain:"]
    width = max(len(f"{cure.words} {cure.after}") for cure in trap.cures)
    for cure in trap.cures:
        calm = "" if cure.calm is None else f"; in calm {plain_percent(cure.calm)}"
        name = f"{cure.words} {cure.after}"
        lines.append(f"     {name:<{width}}  {points(cure.gain)}, then {with_interval(cure.odds)}{calm}")
    return [*lines, ""]


def lines_of(found: Traps) -> list[str]:
    """Return the answer for a person at a screen, line by line."""
    many = len(found.traps)
    lines = ["CANCELLED; this is what was found so far, and it is not all."] if found.cancelled else []
    if not many and found.cancelled:
        lines.append(f"{found.setup_name}: not finished, so nothing is known about traps.")
    elif not many:
        lines.append(f"{found.setup_name}: no trap found.")
    else:
        lines.append(f"{found.setup_name}: {many} trap{'' if many == 1 else 's'}, values that fail together.")
    lines.append("")
    for number, trap in enumerate(found.traps, 1):
        lines += _trap_lines(number, trap)
    lines += [_fold(note) for note in found.notes]
    lines.append(
        _fold(
            f"{found.tried} variants of {found.launches:,} launches each, seed {found.seed}, setup "
            f"{found.setup_hash}, Overarm {found.version}. What a single check says stop to is not repeated "
            f"here; see overarm check. {ADVICE}"
        )
    )
    return lines

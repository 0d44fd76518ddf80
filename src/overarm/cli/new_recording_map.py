"""`--new-map` of `overarm review` and `overarm trigger`: draft the mapping of a recording by asking."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from overarm.cli.asking import NONE, ask_text, ask_yes, may_write
from overarm.cli.new_file import hold, put

if TYPE_CHECKING:
    from overarm.recordings.draft import Line, Unknown
    from overarm.recordings.propose import Proposal

BY_HAND = "Run it in a terminal, or write the mapping by hand; docs/reference/recording-mapping.md says how"


def draft(path: Path, recording: Path) -> None:
    """Ask which column of a recording is which channel, and write a mapping.

    Parameters: the file to write; a recording of that recorder. Raises InputError if there is nobody to ask,
    the recording is no table, or the file cannot be written.
    """
    from overarm.recordings.draft import mapping_text, unknown_table
    from overarm.recordings.mapping import load_mapping

    table = unknown_table(recording)
    force = may_write(path, BY_HAND)
    typer.echo(f"Enter takes what stands in brackets; {NONE} says that the column is none of ours.")
    offers = {item.column: item for item in table.proposals.found}
    time = next((item for item in table.proposals.found if item.channel == "time"), None)
    lines = [_time(table, time)]
    for column, head in enumerate(table.heads):
        offer = offers.get(column)
        if head != lines[0].head and offer is not None and offer.channel != "time":
            line = _line(head, offer, lines)
            lines += [line] if line is not None else []
    lines += _others(table, lines)
    removed = table.proposals.gravity_removed
    off = bool(removed) and ask_yes(f"\n{_sentence(removed)} Is gravity taken off the forces?", BY_HAND)
    rest = [head for head in table.heads if head not in {line.head for line in lines}]
    ignored = rest if rest and ask_yes(_rest_words(rest), BY_HAND, default=True) else []
    recorder = ask_text("The recorder in your own words", recording.name, BY_HAND)
    text = mapping_text(lines, ignored, gravity_removed=off, recorder=recorder)
    hold(text, path, load_mapping)
    put(text, path, over=force)
    typer.echo(f"{path}: written. Give it with the recording as --map {path}")


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _rest_words(rest: list[str]) -> str:
    more = " ..." if len(rest) > 5 else ""
    return f"Put the other {len(rest)} columns ({', '.join(rest[:5])}{more}) under ignore?"


def _time(table: Unknown, offer: Proposal | None) -> Line:
    from overarm.recordings.draft import Line

    said = f": {'; '.join(offer.reasons)}" if offer is not None else ""
    typer.echo(f"\nThe times{said}")
    head = _head(table, "  the column of the times", offer.head if offer is not None else "", [])
    fits = offer is not None and offer.head == head
    unit = _unit("time", offer.unit if fits and offer is not None else "s")
    return Line(head, "time", unit)


def _head(table: Unknown, question: str, default: str, taken: list[str], *, may_end: bool = False) -> str:
    """Ask for a column until it is one that the table has and that is free; NONE ends if it may."""
    there = {head.casefold(): head for head in table.heads}
    while True:
        answer = ask_text(question, default or NONE, BY_HAND)
        head = there.get(answer.casefold(), answer)
        if (head in table.heads and head not in taken) or (may_end and head == NONE):
            return head
        typer.echo(f"  {answer}: {'is tied already' if head in taken else 'is no column of the recording'}")


def _line(head: str, offer: Proposal, lines: list[Line]) -> Line | None:
    from overarm.recordings.draft import Line

    typer.echo(f"\n{head}: {offer.words}")
    channel = _channel(offer.channel, [line.channel for line in lines])
    if channel == NONE:
        return None
    if channel == "note":
        return Line(head, channel, "")
    if channel != offer.channel:
        return Line(head, channel, _unit(channel, ""), sign=_sign(channel))
    unit = _unit(channel, offer.unit)
    kept = unit == offer.unit
    scale, offset = (offer.scale, offer.offset) if kept else (1.0, 0.0)
    if kept and (scale != 1.0 or offset):
        typer.echo(f"  the number times {scale:g} plus {offset:g} is taken in {unit or 'shares of 1'}")
    return Line(head, channel, unit, scale, offset, _sign(channel) if scale > 0.0 else 1)


def _others(table: Unknown, lines: list[Line]) -> list[Line]:
    """Ask for columns of ours that nothing was offered for."""
    from overarm.recordings.draft import Line

    found: list[Line] = []
    while len(lines) + len(found) < len(table.heads):
        taken = [line.head for line in (*lines, *found)]
        head = _head(table, "\nAnother column that is ours", "", taken, may_end=True)
        if head == NONE:
            break
        channel = _channel("", [line.channel for line in (*lines, *found)])
        if channel == "note":
            found.append(Line(head, channel, ""))
        elif channel != NONE:
            found.append(Line(head, channel, _unit(channel, ""), sign=_sign(channel)))
    return found


def _channel(offered: str, taken: list[str]) -> str:
    """Ask for a channel until it is one of ours that is free."""
    from overarm.recordings.columns import channel_of, stems

    names = {channel: stem for stem, channel in stems().items()}
    while True:
        answer = ask_text("  the channel", offered if offered and offered not in taken else NONE, BY_HAND)
        channel = channel_of(answer)
        name = names[channel] if channel is not None else answer
        if name == NONE or (name not in taken and (channel is not None or name == "note")):
            return name
        why = "is tied already" if name in taken else f"is none of note, {', '.join(stems())}"
        typer.echo(f"  {answer}: {why}")


def _unit(channel: str, offered: str) -> str:
    """Ask for a unit until it is one of the channel's kind; NONE is no unit."""
    from overarm.recordings.draft import problem_with

    while True:
        answer = ask_text("  its unit", offered or NONE, BY_HAND)
        unit = "" if answer == NONE else answer
        problem = problem_with(channel, unit)
        if problem is None:
            return unit
        typer.echo(f"  {answer}: {problem}")


def _sign(channel: str) -> int:
    """Ask which way round a channel counts, where there are two ways."""
    from overarm.recordings.channels import ANGLES, CHANNELS, FORCES, RATES
    from overarm.recordings.columns import channel_of

    name = channel_of(channel) or ""
    if name not in (*FORCES, *RATES, *ANGLES, "climb_mps", "left_surface_rad", "right_surface_rad"):
        return 1
    typer.echo(f"  ours is: {CHANNELS[name].what}")
    return -1 if ask_yes("  does it count the other way round?", BY_HAND) else 1

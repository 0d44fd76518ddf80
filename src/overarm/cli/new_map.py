"""`overarm readback --new-map`: draft a mapping by asking."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import typer

from overarm.cli.new_file import hold, put
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.readback.draft import Line
    from overarm.readback.keys import SettingKey
    from overarm.readback.report import Reported

NONE = "-"
Answer = TypeVar("Answer")


def draft(path: Path, setup_file: Path | None, report_file: Path | None) -> None:
    """Ask for the aircraft's name of each of our keys and write a mapping.

    Parameters: the file to write; a setup and a report, from which matches are offered, or None.
    Raises InputError if there is nobody to ask or the file cannot be written.
    """
    from overarm.describe.reader import load
    from overarm.readback.draft import asked_keys, mapping_text, with_comma
    from overarm.readback.mapping import load_mapping
    from overarm.readback.report import read_report

    setup = load(setup_file) if setup_file is not None else None
    values = read_report(report_file).values if report_file is not None else ()
    force = path.exists()
    if force and not _yes(f"{path} is there already. Write over it?"):
        raise InputError([Problem("is there already", "Give another name", str(path))])
    typer.echo(f"Enter takes what stands in brackets; {NONE} says that the aircraft has no such setting.")
    sample = with_comma(values)
    comma = bool(sample) and _yes(f"{sample}: is that comma a decimal comma?")
    lines: list[Line] = []
    for key in asked_keys(setup):
        line = _line(key, values, [item.name for item in lines], setup)
        if line is not None:
            lines.append(line)
    rest = [item.name for item in values if item.name not in {line.name for line in lines}]
    ignored = rest if rest and _yes(_rest_words(rest)) else []
    aircraft = setup.name if setup is not None else ""
    text = mapping_text(lines, ignored, aircraft, decimal_comma=comma)
    hold(text, path, load_mapping)
    put(text, path, over=force)
    typer.echo(f"{path}: written. Check each unit, then: overarm readback SETUP FILE --map {path}")


def _rest_words(rest: list[str]) -> str:
    return f"Put the other {len(rest)} names ({', '.join(rest[:5])}) under ignore?"


def _yes(question: str) -> bool:
    return _ask(lambda: typer.confirm(question, default=False))


def _ask(question: Callable[[], Answer]) -> Answer:
    """Return an answer; InputError if nobody is there to give it, KeyboardInterrupt if it was cancelled."""
    try:
        return question()
    except typer.Abort:
        if sys.stdin is not None and sys.stdin.isatty():
            raise KeyboardInterrupt from None
        cure = "Run it in a terminal, or write the mapping by hand; docs/reference/mapping.md says how"
        raise InputError([Problem("a new mapping needs answers, and nobody gives them here", cure)]) from None


def _line(
    key: SettingKey, values: tuple[Reported, ...], taken: list[str], setup: Setup | None
) -> Line | None:
    from overarm.readback.compare import DECISIVE
    from overarm.readback.draft import Line, propose, usual_unit
    from overarm.readback.keys import value_in
    from overarm.units import from_si

    wanted = value_in(setup, key) if setup is not None else None
    has = ""
    if isinstance(wanted, float) and key.amount is not None:
        has = f"; the sheet has {from_si(wanted, key.amount.dimension, usual_unit(key))}"
    elif wanted is not None:
        has = f"; the sheet has {wanted}"
    typer.echo(f"\n{key.key}: {key.help[:1].lower()}{key.help[1:].rstrip('.')}{has}")
    offer = propose(key, values, taken, setup)
    name = _name(values, taken, offer.name if offer is not None else NONE)
    if name == NONE:
        if key.key in DECISIVE:
            typer.echo(f"  {key.key} decides when the propeller turns: a read-back without it is a stop")
        return None
    if key.amount is None:
        return Line(name, key.key, "", _words(key))
    fits = offer is not None and offer.agrees and offer.name == name
    unit = _unit(key, offer.unit if fits and offer is not None else usual_unit(key), agrees=fits)
    return Line(name, key.key, unit, {})


def _name(values: tuple[Reported, ...], taken: list[str], offered: str) -> str:
    """Ask for a name until it is one that the report has, and that is free."""
    there = {item.name.casefold(): item.name for item in values}
    while True:
        answer = str(_ask(lambda: typer.prompt("  its name in the aircraft", default=offered))).strip()
        name = there.get(answer.casefold(), answer)
        if name == NONE or (name not in taken and (not there or name in there.values())):
            return name
        typer.echo(f"  {answer}: {'is tied already' if name in taken else 'is not in the report'}")


def _unit(key: SettingKey, offered: str, *, agrees: bool) -> str:
    from overarm.readback.draft import problem_with_unit

    if agrees:
        typer.echo(
            f"  in {offered or 'plain shares of 1'} its number is that of the sheet; check it all the same"
        )
    while True:
        answer = str(_ask(lambda: typer.prompt("  its unit there", default=offered))).strip()
        problem = problem_with_unit(key, answer)
        if problem is None:
            return answer
        typer.echo(f"  {answer}: {problem}")


def _words(key: SettingKey) -> dict[str, str]:
    """Ask what the aircraft says for each choice."""
    found: dict[str, str] = {}
    for choice in map(str, key.choices):
        ask = f"  what it reports for {choice!r}"
        theirs = str(_ask(lambda ask=ask, choice=choice: typer.prompt(ask, default=choice))).strip()  # type: ignore[misc]
        if theirs != choice:
            found[theirs] = choice
    return found

"""`overarm check`: is a setup well formed, what follows from it, and what stands out."""

from __future__ import annotations

import json
import textwrap
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.exits import BAD_INPUT_EXIT, STOP_EXIT
from overarm.errors import InputError

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.odds.finding import Finding, Word

WIDTH = 100
ORDER: tuple[Word, ...] = ("stop", "watch", "not known", "good")


def check(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Say whether a setup is well formed, and what stands out. Nothing is flown."""
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.odds.check_answer import FORM, check_dict
    from overarm.odds.findings import findings, has_stop

    try:
        card = load(setup)
        derived = derive(card)
    except InputError as error:
        if not as_json:
            raise
        problems = [asdict(problem) for problem in error.problems]
        typer.echo(json.dumps({"overarm_check": FORM, "good": False, "problems": problems}, indent=2))
        raise typer.Exit(BAD_INPUT_EXIT) from None
    found = findings(card, derived)
    if as_json:
        typer.echo(json.dumps(check_dict(card, derived, found), indent=2, allow_nan=False))
    else:
        typer.echo("\n".join(lines(card, derived, found)))
    if has_stop(found):
        raise typer.Exit(STOP_EXIT)


def lines(card: Setup, derived: Derived, found: tuple[Finding, ...]) -> list[str]:
    """Return the answer for a person at a screen."""
    from overarm.cli.demo import figure_lines
    from overarm.cli.figures import more_lines
    from overarm.odds.check_answer import drawn_of

    said = [f"{card.name} ({card.style}): well formed, setup {card.hash()}", ""]
    said += [f"  {line}" for line in (*figure_lines(derived), *more_lines(derived))]
    said += [_folded(f"Note: {note}", "  ") for note in derived.notes]
    said += ["", "Findings, before anything is flown:"]
    for word in ORDER:
        picked = [item for item in found if item.word == word]
        if word == "good" and picked:
            said.append(_folded(", ".join(item.name for item in picked) + ".", f"  {word:<9}  "))
        elif word != "good":
            head = f"  {'STOP' if word == 'stop' else word:<9}  "
            said += [_folded(f"{item.name}: {item.sentence}", head) for item in picked]
    drawn = drawn_of(card)
    guessed = ", ".join(drawn.guessed)
    said += ["", _folded(f"{len(drawn.guessed)} of {drawn.count} uncertain inputs are guessed: {guessed}.")]
    return said


def _folded(text: str, head: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))

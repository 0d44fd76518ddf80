"""`overarm rare`: how often one outcome happens that plain launches hardly ever show."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from overarm.cli.bar import count_bar
from overarm.cli.brake import braking, end_cancelled
from overarm.cli.exits import CANCELLED_EXIT, STOP_EXIT


def rare(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    outcome: Annotated[
        str, typer.Option(help='An outcome, such as "hand at risk", "false start" or "rolled over".')
    ] = "hand at risk",
    until_error: Annotated[
        float, typer.Option(help="Stop when one standard error is this share of the figure.")
    ] = 0.2,
    launches: Annotated[int, typer.Option(help="The most that are flown, 20000 to 2000000.")] = 60_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same answer.", min=0)] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Say how often a rare outcome happens, and how it comes about."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.errors import Cancelled
    from overarm.odds.rare import rare as run_rare
    from overarm.odds.rare_words import answer

    card = load(setup)
    tell_if_first(card.style)
    with braking() as brake, count_bar(brake) as show:
        try:
            result = run_rare(
                card,
                outcome,
                seed,
                until_error=until_error,
                launches=launches,
                progress=lambda now: show(now.done, now.at_most, now.words),
                cancelled=lambda: brake.pulled,
            )
        except Cancelled:
            end_cancelled()
    typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False) if as_json else answer(result))
    if result.trail.cancelled:
        raise typer.Exit(CANCELLED_EXIT)
    if result.has_stop:
        raise typer.Exit(STOP_EXIT)

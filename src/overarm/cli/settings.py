"""`overarm settings`: the settings that work, why, and what they are worth."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled
from overarm.cli.exits import STOP_EXIT
from overarm.cli.far import Cluster, flyers

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.settings.result import SettingsResult


def settings(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    seed: Annotated[int, typer.Option(help="The same seed gives the same settings.", min=0)] = 1,
    launches: Annotated[
        int, typer.Option(help="Fresh launches behind the odds before and after.", min=5000, max=1_000_000)
    ] = 20_000,
    write: Annotated[
        Path | None,
        typer.Option(
            help="Write a new setup with these settings, beside the old one; comments stay.",
            show_default=False,
        ),
    ] = None,
    cluster: Cluster = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Find settings that work. Hands clear first, then obstacles, then the odds where they are flat."""
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.describe.rewrite import check_new
    from overarm.errors import Cancelled
    from overarm.settings.find import find_settings
    from overarm.settings.words import lines

    card = load(setup)
    if write is not None:
        check_new(setup, write)
    derived = derive(card)
    with braking() as brake, flyers(cluster, card.style) as crew, share_bar(brake) as show:
        try:
            result = find_settings(
                card,
                derived,
                seed,
                launches=launches,
                progress=show,
                cancelled=lambda: brake.pulled,
                flyers=crew,
            )
        except Cancelled:
            end_cancelled()
    told = [] if write is None else [_written(setup, write, card, result)]
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
        for line in told:
            typer.echo(line, err=True)
    else:
        typer.echo("\n".join([*lines(result), *told]))
    if result.has_stop:
        raise typer.Exit(STOP_EXIT)


def _written(setup: Path, target: Path, card: Setup, result: SettingsResult) -> str:
    """Write the new setup if there is something to write; return what to tell."""
    from overarm.describe.rewrite import rewritten, write_new
    from overarm.settings.written import changes_to_write

    if result.refused:
        return f"{target} is not written: there is nothing to advise."
    write_new(setup, target, rewritten(setup, changes_to_write(card, result)))
    return f"{target}"

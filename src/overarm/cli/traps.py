"""`overarm traps`: values of a setup that are acceptable one by one and fail together."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking
from overarm.cli.exits import CANCELLED_EXIT, STOP_EXIT

USUAL_VARIANTS = 80  # that are flown if there are two traps


def traps(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    launches: Annotated[int, typer.Option(help="Launches of each variant.")] = 1500,
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Find values that are acceptable one by one and fail together. Ranks the single changes that cure."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.settings.traps import traps_of

    card = load(setup)
    derived = derive(card)
    tell_if_first(card.style)
    with braking() as brake, share_bar(brake) as show:
        show("trying variants", 0.0)
        found = traps_of(
            card,
            derived,
            seed,
            launches,
            progress=lambda tried: show("trying variants", min(1.0, tried / USUAL_VARIANTS)),
            cancelled=lambda: brake.pulled,
        )
    typer.echo(
        json.dumps(found.to_dict(), indent=2, allow_nan=False) if as_json else "\n".join(found.lines())
    )
    if found.cancelled:
        raise typer.Exit(CANCELLED_EXIT)
    if found.traps:
        raise typer.Exit(STOP_EXIT)

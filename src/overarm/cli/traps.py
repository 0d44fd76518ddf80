"""`overarm traps`: values of a setup that are acceptable one by one and fail together."""

from __future__ import annotations

import json
import signal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from types import FrameType

TRAP_EXIT = 3
CANCELLED_EXIT = 130


def traps(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    launches: Annotated[int, typer.Option(help="Launches of each variant.")] = 1500,
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Find values that are acceptable one by one and fail together, and rank the single changes that cure."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.settings.traps import traps_of

    card = load(setup)
    derived = derive(card)
    tell_if_first()
    pulled = False

    def pull(_number: int, _frame: FrameType | None) -> None:
        nonlocal pulled
        if pulled:
            raise KeyboardInterrupt
        pulled = True

    before = signal.signal(signal.SIGINT, pull)
    try:
        found = traps_of(card, derived, seed, launches, cancelled=lambda: pulled)
    finally:
        signal.signal(signal.SIGINT, before)
    typer.echo(
        json.dumps(found.to_dict(), indent=2, allow_nan=False) if as_json else "\n".join(found.lines())
    )
    if found.cancelled:
        raise typer.Exit(CANCELLED_EXIT)
    if found.traps:
        raise typer.Exit(TRAP_EXIT)

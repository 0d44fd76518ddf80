"""`overarm readback`: what the aircraft reports, beside the sheet, and what each difference does."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from overarm.cli.exits import STOP_EXIT
from overarm.errors import InputError, Problem


def readback(
    files: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="SETUP FILE",
            help="Setup file (YAML), and what the aircraft reports: settings or a route.",
            show_default=False,
        ),
    ] = None,
    mapping: Annotated[
        Path | None,
        typer.Option("--map", help="Mapping of its names to ours (YAML).", show_default=False),
    ] = None,
    route: Annotated[
        Path | None,
        typer.Option(help="The route that was loaded up; the plan's if left out.", show_default=False),
    ] = None,
    launches: Annotated[int, typer.Option(help="Launches for each difference.")] = 10_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    new_map: Annotated[
        Path | None,
        typer.Option(help="Draft a mapping by asking, and write it here.", show_default=False),
    ] = None,
    report: Annotated[
        Path | None,
        typer.Option("--from", help="With --new-map: a report of the aircraft.", show_default=False),
    ] = None,
) -> None:
    """Compare what the aircraft reports with the sheet. Each difference with what it does."""
    given = files or []
    if new_map is not None and len(given) <= 2:
        from overarm.cli.new_map import draft

        draft(new_map, given[0] if given else None, report or (given[1] if len(given) == 2 else None))
        return
    if report is not None:
        raise InputError([Problem("--from is for a new mapping", "Add --new-map FILE")])
    if len(given) != 2:
        cure = "Write overarm readback SETUP FILE --map MAPPING, or overarm readback --new-map MAPPING"
        raise InputError([Problem("a setup and a file of the aircraft are needed", cure)])
    setup, file = given
    _compare(setup, file, (mapping, route), (launches, seed), as_json=as_json)


def _compare(
    setup: Path,
    file: Path,
    others: tuple[Path | None, Path | None],
    flying: tuple[int, int],
    *,
    as_json: bool,
) -> None:
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.readback.run import readback as run_readback
    from overarm.readback.words import answer

    def before_flying() -> bool:
        tell_if_first(card.style)
        return False

    card = load(setup)
    mapping, planned = others
    launches, seed = flying
    result = run_readback(
        card, file, mapping, planned=planned, launches=launches, seed=seed, cancelled=before_flying
    )
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
    else:
        typer.echo(answer(result))
    if result.has_stop:
        raise typer.Exit(STOP_EXIT)

"""`overarm measure`: which minutes of bench work narrow the odds most."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled, heeding
from overarm.cli.picture_file import check_picture, write_picture


def measure(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    launches: Annotated[int, typer.Option(help="Launches in all, 10000 to 2000000.")] = 120_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same answer.", min=0)] = 1,
    picture: Annotated[
        Path | None,
        typer.Option(help="Draw the tornado into this file, .svg or .png.", show_default=False),
    ] = None,
    phone: Annotated[bool, typer.Option("--phone", help="Draw it narrow, for a phone.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Say what to measure next: points of the odds for minutes. And what makes the doubt."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.errors import Cancelled
    from overarm.odds.measure import check_asked
    from overarm.odds.measure import measure as run_measure

    check_asked(launches, seed)
    if picture is not None:
        check_picture(picture)
    card = load(setup)
    tell_if_first(card.style)
    with braking() as brake, share_bar(brake) as show:
        try:
            result = run_measure(card, launches, seed, progress=heeding(brake, show))
        except Cancelled:
            end_cancelled()
    if picture is not None:
        from overarm.sheets.tornado import picture_bytes

        write_picture(picture, picture_bytes(result, picture.suffix.lower(), narrow=phone))
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
        return
    from overarm.odds.measure_words import answer

    typer.echo(answer(result))
    if picture is not None:
        typer.echo(str(picture))

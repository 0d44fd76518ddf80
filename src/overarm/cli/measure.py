"""`overarm measure`: which minutes of bench work narrow the odds most."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled, heeding

if TYPE_CHECKING:
    from overarm.odds.measured import MeasureResult

ENDINGS = (".svg", ".png")


def _ready(picture: Path) -> None:
    """Raise InputError if the picture could not be written, before anything is flown."""
    import tempfile

    from overarm.errors import InputError, Problem

    if picture.suffix.lower() not in ENDINGS:
        cure = f"End it with {' or '.join(ENDINGS)}"
        raise InputError(
            [Problem("is no kind of picture that can be drawn", cure, key="picture", value=str(picture))]
        )
    if picture.is_dir():
        raise InputError([Problem("is a folder", "Name a file in it", key="picture", value=str(picture))])
    try:
        with tempfile.TemporaryFile(prefix=".overarm-", dir=picture.parent):
            pass
    except OSError as error:
        said = f"cannot be written: {error.strerror}"
        cure = "Choose a folder that is there and that you may write to"
        raise InputError([Problem(said, cure, key="picture", value=str(picture))]) from error


def _draw(result: MeasureResult, picture: Path, phone: bool) -> None:
    from overarm.errors import InputError
    from overarm.files import write_whole
    from overarm.sheets.tornado import picture_bytes

    data = picture_bytes(result, picture.suffix.lower(), narrow=phone)
    try:
        write_whole(picture, data)
    except OSError as error:
        raise InputError(f"{picture}: the picture cannot be written: {error.strerror}") from error


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
    """Say which measurement narrows the odds most for its minutes, and what makes the doubt."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.errors import Cancelled
    from overarm.odds.measure import check_asked
    from overarm.odds.measure import measure as run_measure

    check_asked(launches, seed)
    if picture is not None:
        _ready(picture)
    card = load(setup)
    tell_if_first()
    with braking() as brake, share_bar(brake) as show:
        try:
            result = run_measure(card, launches, seed, progress=heeding(brake, show))
        except Cancelled:
            end_cancelled()
    if picture is not None:
        _draw(result, picture, phone)
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
        return
    from overarm.odds.measure_words import answer

    typer.echo(answer(result))
    if picture is not None:
        typer.echo(str(picture))

"""`overarm trigger`: recorded carries, shakes and throws, and the level and dwell that tell them apart."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled
from overarm.cli.exits import STOP_EXIT
from overarm.cli.picture_file import check_picture, write_picture

if TYPE_CHECKING:
    from overarm.trigger.result import TriggerResult
    from overarm.trigger.settings import Listening


def trigger(
    recordings: Annotated[
        list[str],
        typer.Argument(
            help="Recordings; FILE=carry (shake, throw, other) says what one shows.", show_default=False
        ),
    ],
    setup: Annotated[
        Path | None,
        typer.Option(help="Setup file (YAML) with trigger, board and person.", show_default=False),
    ] = None,
    label: Annotated[
        str, typer.Option(help="What all of them show: carry, shake, throw or other.", show_default=False)
    ] = "",
    mapping: Annotated[
        Path | None,
        typer.Option("--map", help="Mapping of a recording's columns to ours (YAML).", show_default=False),
    ] = None,
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="KEY=VALUE",
            help="Try another trigger, such as settings.jerk_level=8 m/s2; may be repeated.",
            show_default=False,
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(help="Draw ladder and map into this file, .svg or .png.", show_default=False),
    ] = None,
    phone: Annotated[bool, typer.Option("--phone", help="Draw it narrow, for a phone.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Run recorded carries and throws through a trigger. Advises the level and dwell between them."""
    from overarm.errors import Cancelled
    from overarm.recordings.reading import opened
    from overarm.trigger.labels import asked_of
    from overarm.trigger.run import run_trigger

    if picture is not None:
        check_picture(picture)
    listening = _listening(setup, changes or [])
    files = asked_of(recordings, label)
    with braking() as brake, share_bar(brake) as show:
        try:
            read = []
            for place, one in enumerate(files):
                show("reading", 0.3 * place / len(files))
                if brake.pulled:
                    end_cancelled()
                read.append((opened(one.file, mapping), one.label))
            result = run_trigger(
                read,
                listening,
                progress=lambda what, share: show(what, 0.3 + 0.7 * share),
                cancelled=lambda: brake.pulled,
            )
        except Cancelled:
            end_cancelled()
    _tell(result, picture, phone, as_json=as_json)


def _listening(setup: Path | None, changes: list[str]) -> Listening:
    """Return what to listen with: the setup with its changes, or the usual settings."""
    from overarm.describe.change import changed, parse_changes
    from overarm.describe.reader import load
    from overarm.errors import InputError, Problem
    from overarm.trigger.settings import listening_of, usual

    if setup is None:
        if changes:
            cure = "Add --setup FILE"
            raise InputError([Problem("changes a setup, and there is none", cure, key="--set")])
        return usual()
    card = load(setup)
    return listening_of(changed(card, parse_changes(changes)) if changes else card)


def _tell(result: TriggerResult, picture: Path | None, phone: bool, *, as_json: bool) -> None:
    """Write the picture, print the answer, and end with 3 if there is a stop."""
    if picture is not None:
        from overarm.sheets.trigger_picture import picture_bytes

        write_picture(picture, picture_bytes(result, picture.suffix.lower(), narrow=phone))
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
    else:
        from overarm.trigger.words import answer

        typer.echo(answer(result))
        if picture is not None:
            typer.echo(str(picture))
    if result.has_stop:
        raise typer.Exit(STOP_EXIT)

"""`overarm learn`: what launches and bench tests teach about a setup."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import count_bar
from overarm.cli.brake import braking, end_cancelled
from overarm.cli.new_file import put
from overarm.cli.picture_file import check_picture, write_picture
from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.learn.result import LearnResult


def learn(
    files: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="SETUP EVIDENCE...",
            help="Setup file (YAML), then forms (YAML) and answers of review (JSON).",
            show_default=False,
        ),
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option(help="Write a new setup with what was learned, beside the old one.", show_default=False),
    ] = None,
    launches: Annotated[
        int, typer.Option(help="Fly so many with the cards before and after; 0 for none.", min=0)
    ] = 0,
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1,
    picture: Annotated[
        Path | None,
        typer.Option(
            help="Draw predicted against happened into this file, .svg or .png.", show_default=False
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    new_form: Annotated[
        str | None,
        typer.Option(
            help="Write an empty form into FILE: pull, swing, glide, tilt, clear or history.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Learn from launches and bench tests. Says where they disagree with the cards, and how little it is."""
    given = files or []
    if new_form is not None:
        _write_form(new_form, given)
        return
    if len(given) < 2:
        cure = "Write overarm learn SETUP EVIDENCE..., or overarm learn --new-form NAME FILE"
        raise InputError([Problem("a setup and evidence are needed", cure)])
    if picture is not None:
        check_picture(picture)
    result = _learned(given, (launches, seed), write)
    if picture is not None:
        _draw(result, picture)
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
        return
    from overarm.learn.answer_words import answer

    typer.echo(answer(result))
    if picture is not None:
        typer.echo(str(picture))


def _learned(given: list[Path], flying: tuple[int, int], write: Path | None) -> LearnResult:
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.errors import Cancelled
    from overarm.learn.run import learn as run_learn
    from overarm.learn.write import check_target, write_setup
    from overarm.odds.format import with_interval

    setup_file, launches, seed = given[0], *flying
    card = load(setup_file)
    if write is not None:
        check_target(setup_file, write)
    if launches:
        tell_if_first(card.style)
    with braking() as brake, count_bar(brake) as show:
        try:
            result = run_learn(
                card,
                given[1:],
                launches=launches,
                seed=seed,
                progress=lambda now: show(now.done, now.at_most, f"so far {with_interval(now.clean)}"),
                cancelled=lambda: brake.pulled,
            )
        except Cancelled:
            end_cancelled()
    if result.odds is not None and result.odds.campaign.cancelled:
        end_cancelled()
    if write is None:
        return result
    write_setup(setup_file, write, result)
    return replace(result, written=str(write))


def _write_form(name: str, given: list[Path]) -> None:
    import datetime as dt

    from overarm.learn.bench.empty import empty_form

    if len(given) != 1:
        raise InputError([Problem("one file is needed", f"Write overarm learn --new-form {name} FILE.yaml")])
    file = given[0]
    text = empty_form(name, dt.datetime.now(dt.UTC).astimezone().date().isoformat())
    if file.suffix.lower() not in (".yaml", ".yml"):
        raise InputError([Problem("is no name of a form", "Let it end in .yaml", str(file))])
    put(text, file, over=False)
    typer.echo(str(file))


def _draw(result: LearnResult, picture: Path) -> None:
    from overarm.sheets.reliability import picture_bytes

    if result.history is None:
        cure = "Give a history form: overarm learn --new-form history FILE"
        raise InputError([Problem("there is nothing to draw without a history", cure, key="picture")])
    write_picture(picture, picture_bytes(result.history, picture.suffix.lower()))

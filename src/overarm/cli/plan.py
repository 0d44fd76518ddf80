"""`overarm plan`: the climb-out against the obstacles, and the way home."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import count_bar
from overarm.cli.brake import braking, end_cancelled
from overarm.cli.exits import STOP_EXIT

if TYPE_CHECKING:
    from overarm.plan.result import PlanResult


def plan(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    launches: Annotated[int, typer.Option(help="For the fan, and in each of 16 directions.")] = 1000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same plan.", min=0)] = 1,
    out: Annotated[
        Path | None,
        typer.Option(help="Folder for map files, pictures and the plan as JSON.", show_default=False),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Plan the climb-out and the way home. Obstacles, wind and pack count."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.errors import Cancelled
    from overarm.plan.run import plan as run_plan

    card = load(setup)
    if out is not None:
        _ready(out)
    tell_if_first(card.style, samples=True)
    with braking() as brake, count_bar(brake) as show:
        try:
            result = run_plan(
                card,
                launches,
                seed,
                progress=lambda now: show(now.done, now.of, now.what),
                cancelled=lambda: brake.pulled,
            )
        except Cancelled:
            end_cancelled()
    elevation = card.site.elevation_m
    known_m = None if elevation.known == "default" else elevation.value
    told = [] if out is None else _saved(result, out, known_m)
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
    else:
        from overarm.plan.words import answer

        typer.echo("\n".join([answer(result), *told]))
    if result.has_stop:
        raise typer.Exit(STOP_EXIT)


def _ready(folder: Path) -> None:
    """Make the folder and try it before anything is flown."""
    from overarm.sheets.write import ready_folder

    try:
        ready_folder(folder)
    except OSError as error:
        raise _unwritable(folder, error) from error


def _unwritable(folder: Path, error: OSError) -> Exception:
    from overarm.errors import InputError, Problem

    return InputError(
        [Problem(f"the plan cannot be written: {error.strerror}", "Choose another --out.", file=str(folder))]
    )


def _saved(result: PlanResult, folder: Path, elevation_m: float | None) -> list[str]:
    """Write pictures and JSON, and map files where the launch point is known; return what to tell.

    All of them are written, or none.
    """
    from overarm.files import file_stem, write_together
    from overarm.plan.exports.files import map_files
    from overarm.sheets.pictures import draw_plan

    stem = file_stem(result.setup_name, "plan")
    text = json.dumps(result.to_dict(), indent=2, allow_nan=False)
    files = {folder / f"{stem}.json": text.encode("utf-8")}
    for name, picture in draw_plan(result, narrow=False).items():
        files[folder / f"{stem}-{name}.svg"] = picture.svg.encode("utf-8")
    said = []
    if result.ground is None:
        said.append("No map files: the site card has no launch_point and launch_direction.")
    else:
        files |= map_files(result, folder, elevation_m=elevation_m)
    try:
        write_together(files)
    except OSError as error:
        raise _unwritable(folder, error) from error
    return [*said, *(str(path) for path in files)]

"""`overarm fleet`: many aeroplanes, throwers and winds in one table of odds."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking
from overarm.cli.exits import CANCELLED_EXIT, STOP_EXIT
from overarm.cli.far import Cluster

if TYPE_CHECKING:
    from overarm.cli.brake import Brake
    from overarm.fleet.folder import Folder
    from overarm.fleet.result import FleetResult
    from overarm.fleet.study import Study


def fleet(
    study: Annotated[
        Path, typer.Argument(help="Study file (YAML): setups, throwers, winds.", show_default=False)
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            help="Folder of the study; one that is there goes on where it was. By default it is named after "
            "the study, in this folder.",
            show_default=False,
        ),
    ] = None,
    cluster: Cluster = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Fly every setup with every thrower and wind of a study. Says where the odds are low."""
    from overarm.files import file_stem
    from overarm.fleet.folder import opened
    from overarm.fleet.study import load_study
    from overarm.fleet.words import answer

    read = load_study(study)
    place = out if out is not None else Path(file_stem(read.name, "fleet"))
    with braking() as brake, opened(place) as folder:
        result = _flown(read, folder, brake, cluster)
        if result.cancelled:
            typer.echo(
                f"cancelled: {result.done} of {len(result.rows)} cells are kept in {place}; "
                "the same command goes on from there",
                err=True,
            )
            raise typer.Exit(CANCELLED_EXIT)
        files = folder.write(result.to_dict(), result.to_csv())
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
    else:
        typer.echo("\n".join([answer(result), *(str(file) for file in files)]))
    if result.has_stop:
        raise typer.Exit(STOP_EXIT)


def _flown(study: Study, folder: Folder, brake: Brake, cluster: str | None) -> FleetResult:
    """Fly a study here, or on a cluster if there is an address."""
    from overarm.cli.far import workers
    from overarm.cli.first import tell_if_first
    from overarm.fleet.run import FlyCells, fly_study, here

    def fly(fly_cells: FlyCells) -> FleetResult:
        with share_bar(brake) as show:
            return fly_study(
                study,
                folder,
                fly=fly_cells,
                progress=lambda done, of: show(f"{done} of {of} cells", done / of),
                cancelled=lambda: brake.pulled,
            )

    if cluster is None:
        tell_if_first(*(card.style for _, card in study.setups))
        return fly(here)
    with workers(cluster) as found:
        return fly(found.cells)

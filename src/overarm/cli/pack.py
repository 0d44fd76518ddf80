"""`overarm pack`: the field pack, one HTML page for a phone without a network."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from overarm.cli.bar import share_bar
from overarm.cli.brake import braking, end_cancelled, heeding
from overarm.cli.exits import STOP_EXIT
from overarm.cli.sheet import planned, today_words

ODDS_SHARE, PLAN_SHARE = 0.1, 0.2  # of the work, done by then


def pack(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    out: Annotated[Path, typer.Option(help="Folder for the page; made if missing.")] = Path(),
    launches: Annotated[
        int, typer.Option(help="Launches behind the odds; a corner of the table has a twentieth.", min=1)
    ] = 10_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same pack.", min=0)] = 1,
    date: Annotated[str, typer.Option(help="Date as it is shown; today if not given.")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Write the field pack: a page for a phone without a network. Today's odds, the checks, the notes."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.derived import derive
    from overarm.describe.reader import load
    from overarm.errors import Cancelled, InputError
    from overarm.odds.run import odds
    from overarm.sheets.field_pack import make_pack, pack_dict, pack_path, save_pack
    from overarm.sheets.write import ready_folder

    card = load(setup)
    try:
        ready_folder(out)
        tell_if_first(card.style, samples=True)
        derived = derive(card)
        with braking() as brake, share_bar(brake) as show:
            tell = heeding(brake, show)
            tell("flying the launches", 0.0)
            result = odds(card, launches, seed, cancelled=lambda: brake.pulled)
            tell("planning", ODDS_SHARE)
            way, lost = planned(card, seed, lambda what, share: tell(what, ODDS_SHARE + share / 2.0))
            made = make_pack(
                card,
                derived,
                result,
                date=date or today_words(),
                progress=lambda what, share: tell(what, PLAN_SHARE + (1.0 - PLAN_SHARE) * share),
                plan=way,
                no_way=lost,
            )
        path = pack_path(out, card.name)
        size = save_pack(made, path)
    except Cancelled:
        end_cancelled()
    except OSError as error:
        raise InputError(f"{out}: not written: {error.strerror}; choose another --out") from error
    if as_json:
        answer = pack_dict(made, str(path), size, result, lost)
        typer.echo(json.dumps(answer, indent=2, allow_nan=False))
    else:
        cells = ", ".join(f"{count} {word}" for word, count in made.counts.items())
        typer.echo(f"{result.headline}\n{path} ({size / 1024:.0f} KiB; cells of the table: {cells})")
    if made.stops:
        raise typer.Exit(STOP_EXIT)

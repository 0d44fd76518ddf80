"""`overarm odds`: the odds of a clean launch, the weakest link, and what to measure next."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from overarm.cli.bar import count_bar
from overarm.cli.brake import braking, end_cancelled
from overarm.cli.exits import CANCELLED_EXIT, STOP_EXIT
from overarm.cli.far import Cluster, flyers
from overarm.cli.record import from_record

if TYPE_CHECKING:
    from overarm.odds.result import OddsResult
    from overarm.odds.run import Progress
    from overarm.odds.what_if import WhatIf


class Asked(NamedTuple):
    """The options of the command."""

    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)]
    launches: Annotated[
        int | None,
        typer.Option(help="How many; 10000, or with --until-width at most 200000.", show_default=False),
    ] = None
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1
    until_width: Annotated[
        float | None,
        typer.Option(help="Stop when the 95 % interval is this narrow, such as 0.04.", show_default=False),
    ] = None
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False
    trace: Annotated[
        int, typer.Option(help="Keep samples of so many launches, 50 at most (with --json).", min=0)
    ] = 0
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="KEY=VALUE",
            help="Fly it with this changed, such as settings.start_wait=0.7s; may be given several times.",
            show_default=False,
        ),
    ] = None
    against: Annotated[
        bool, typer.Option("--vs", help="With --set: what the change does to the odds, with its interval.")
    ] = False
    cluster: Cluster = None


def _odds(asked: Asked) -> None:
    """Say how likely a clean launch is. And what breaks it, and what to measure next."""
    from overarm.describe.change import changed, parse_changes
    from overarm.describe.reader import load
    from overarm.errors import Cancelled, InputError
    from overarm.odds.run import odds as run_odds
    from overarm.odds.what_if import what_if

    if asked.trace and not asked.as_json:
        raise InputError("--trace keeps samples for a program; add --json")
    wanted = parse_changes(asked.changes or [])
    if asked.against:
        _check_against(wanted, asked.trace)
    before = load(asked.setup)
    after = changed(before, wanted) if wanted else before
    result: OddsResult | WhatIf
    flown = flyers(asked.cluster, before.style, after.style, samples=asked.trace > 0)
    with braking() as brake, flown as crew, count_bar(brake) as show:
        how: Any = {
            "until_width": asked.until_width,
            "progress": _so_far(show),
            "cancelled": lambda: brake.pulled,
            "flyers": crew,
        }
        try:
            if asked.against:
                result = what_if(before, wanted, asked.launches, asked.seed, **how)
            else:
                result = run_odds(after, asked.launches, asked.seed, trace=asked.trace, **how)
        except Cancelled:
            end_cancelled()
    in_words = not asked.as_json
    typer.echo(_in_words(result) if in_words else json.dumps(result.to_dict(), indent=2, allow_nan=False))
    code = exit_code(result)
    if code:
        raise typer.Exit(code)


def _so_far(show: Callable[[int, int, str], None]) -> Callable[[Progress], None]:
    """Return what tells a bar how far a campaign is and what it says so far."""
    from overarm.odds.format import with_interval

    return lambda now: show(now.done, now.at_most, f"so far {with_interval(now.clean)}")


def _check_against(wanted: dict[str, str], trace: int) -> None:
    """Refuse a comparison with nothing to compare, or with samples."""
    from overarm.errors import InputError, Problem

    if not wanted:
        cure = "Say what to change, such as --set settings.start_wait=0.7s, or leave out --vs"
        raise InputError(
            [Problem("--vs compares a change with the setup as it is, and nothing is changed", cure)]
        )
    if trace:
        cure = "Leave out --vs to get the samples of the changed setup"
        raise InputError([Problem("--trace does not go with --vs", cure)])


def _in_words(result: OddsResult | WhatIf) -> str:
    from overarm.odds.what_if import WhatIf
    from overarm.odds.what_if_words import what_if_answer
    from overarm.odds.words import answer

    return what_if_answer(result) if isinstance(result, WhatIf) else answer(result)


def exit_code(result: OddsResult | WhatIf) -> int:
    """Return 130 if it was cancelled, 3 if a finding says stop (after the change), 0 otherwise."""
    if result.campaign.cancelled:
        return CANCELLED_EXIT
    return STOP_EXIT if result.has_stop else 0


odds = from_record("odds", Asked, _odds)

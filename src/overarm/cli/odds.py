"""`overarm odds`: the odds of a clean launch, the weakest link, and what to measure next."""

from __future__ import annotations

import json
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from types import FrameType

    from overarm.odds.result import OddsResult
    from overarm.odds.run import Progress

STOP_EXIT = 3
CANCELLED_EXIT = 130


class _Brake:
    """Ctrl-C asks the campaign to end; a second Ctrl-C, or one before it flies, ends at once."""

    def __init__(self) -> None:
        self.pulled = False
        self.flying = False

    def pull(self, _number: int, _frame: FrameType | None) -> None:
        if self.pulled or not self.flying:
            raise KeyboardInterrupt
        self.pulled = True


@contextmanager
def _brake() -> Iterator[_Brake]:
    brake = _Brake()
    before = signal.signal(signal.SIGINT, brake.pull)
    try:
        yield brake
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _progress_bar(brake: _Brake) -> Iterator[Callable[[Progress], None]]:
    """Yield what draws a bar on the error channel, if that is a screen."""

    def quiet(_now: Progress) -> None:
        brake.flying = True

    if not sys.stderr.isatty():
        yield quiet
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("launches"), BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}"))
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def show(now: Progress) -> None:
            from overarm.odds.format import with_interval

            brake.flying = True
            bar.update(
                task, completed=now.done, total=now.at_most, description=f"so far {with_interval(now.clean)}"
            )

        yield show


def odds(
    setup: Annotated[Path, typer.Argument(help="Setup file (YAML).", show_default=False)],
    launches: Annotated[
        int | None,
        typer.Option(help="How many; 10000, or with --until-width at most 200000.", show_default=False),
    ] = None,
    seed: Annotated[int, typer.Option(help="The same seed gives the same launches.", min=0)] = 1,
    until_width: Annotated[
        float | None,
        typer.Option(help="Stop when the 95 % interval is this narrow, such as 0.04.", show_default=False),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    trace: Annotated[
        int, typer.Option(help="Keep samples of so many launches, 50 at most (with --json).", min=0)
    ] = 0,
) -> None:
    """Say how likely a clean launch is, what breaks it, and what to measure next."""
    from overarm.cli.first import tell_if_first
    from overarm.describe.reader import load
    from overarm.errors import InputError
    from overarm.odds.run import NothingFlown
    from overarm.odds.run import odds as run_odds

    if trace and not as_json:
        raise InputError("--trace keeps samples for a program; add --json")
    card = load(setup)
    tell_if_first()
    with _brake() as brake, _progress_bar(brake) as show:
        try:
            result = run_odds(
                card,
                launches,
                seed,
                until_width=until_width,
                trace=trace,
                progress=show,
                cancelled=lambda: brake.pulled,
            )
        except NothingFlown:
            raise KeyboardInterrupt from None
    if as_json:
        typer.echo(json.dumps(result.to_dict(), indent=2, allow_nan=False))
    else:
        from overarm.odds.words import answer

        typer.echo(answer(result))
    code = exit_code(result)
    if code:
        raise typer.Exit(code)


def exit_code(result: OddsResult) -> int:
    """Return 130 if it was cancelled, 3 if a finding says stop, 0 otherwise."""
    if result.campaign.cancelled:
        return CANCELLED_EXIT
    return STOP_EXIT if result.has_stop else 0

"""Ctrl-C as a brake: the first asks a long command to end well, the second ends it."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NoReturn

import typer

from overarm.cli.exits import CANCELLED_EXIT

if TYPE_CHECKING:
    from types import FrameType


def end_cancelled() -> NoReturn:
    """Say that the work was cancelled and end with 130."""
    typer.echo("cancelled", err=True)
    raise typer.Exit(CANCELLED_EXIT)


class Brake:
    """Ctrl-C asks the campaign to end; a second Ctrl-C, or one before it flies, ends at once."""

    def __init__(self) -> None:
        self.pulled = False
        self.flying = False

    def pull(self, _number: int, _frame: FrameType | None) -> None:
        """Take one Ctrl-C."""
        if self.pulled or not self.flying:
            raise KeyboardInterrupt
        self.pulled = True


def heeding(brake: Brake, show: Callable[[str, float], None]) -> Callable[[str, float], None]:
    """Return what tells a bar the same, and raises Cancelled once the brake is pulled."""
    from overarm.errors import Cancelled

    def tell(what: str, share: float) -> None:
        show(what, share)
        if brake.pulled:
            raise Cancelled

    return tell


@contextmanager
def braking() -> Iterator[Brake]:
    """Yield a brake that Ctrl-C pulls, until the block is left."""
    brake = Brake()
    before = signal.signal(signal.SIGINT, brake.pull)
    try:
        yield brake
    finally:
        signal.signal(signal.SIGINT, before)

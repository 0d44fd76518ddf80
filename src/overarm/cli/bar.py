"""Bars on the error channel for long work, where somebody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from overarm.cli.brake import Brake


@contextmanager
def share_bar(brake: Brake | None = None) -> Iterator[Callable[[str, float], None]]:
    """Yield what is told "what is being done" and which share of all is done.

    From here on Ctrl-C asks the work to end well: raised into compiled code that is just being loaded, it
    would be lost there, or end the process with a fault.
    """
    if brake is not None:
        brake.flying = True
    if not sys.stderr.isatty():
        yield lambda _what, _share: None
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("flying", total=1.0)

        def show(what: str, share: float) -> None:
            bar.update(task, description=what, completed=share)

        yield show


@contextmanager
def count_bar(brake: Brake) -> Iterator[Callable[[int, int, str], None]]:
    """Yield what is told how many launches are flown, of how many, and what they say so far.

    From here on Ctrl-C asks the work to end well, as in `share_bar`.
    """
    brake.flying = True
    if not sys.stderr.isatty():
        yield lambda _done, _of, _words: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("launches"), BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}"))
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def show(done: int, of: int, words: str) -> None:
            bar.update(task, completed=done, total=of, description=words)

        yield show

"""A bar on the error channel for long work, where somebody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from overarm.cli.brake import Brake


@contextmanager
def share_bar(brake: Brake | None = None) -> Iterator[Callable[[str, float], None]]:
    """Yield what is told "what is being done" and which share of all is done.

    From the first word on, Ctrl-C asks the work to end well.
    """

    def heard() -> None:
        if brake is not None:
            brake.flying = True

    if not sys.stderr.isatty():
        yield lambda _what, _share: heard()
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    with Bar(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("flying", total=1.0)

        def show(what: str, share: float) -> None:
            heard()
            bar.update(task, description=what, completed=share)

        yield show

"""The option --cluster: who flies for a command, this machine or workers elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from overarm.cluster.workers import Workers
    from overarm.odds.flyers import Flyers

Cluster = Annotated[
    str | None,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Fly on the workers of a Dask cluster, such as tcp://10.0.0.5:8786; the answer is the same.",
        show_default=False,
    ),
]


@contextmanager
def workers(address: str) -> Iterator[Workers]:
    """Yield the workers of a cluster; what a person should know is told on the error channel."""
    from overarm.cluster.connect import workers_at

    with workers_at(address, lambda text: typer.echo(text, err=True)) as found:
        yield found


@contextmanager
def flyers(address: str | None, *styles: str, samples: bool = False) -> Iterator[Flyers]:
    """Yield who flies: the workers at an address, or this machine if there is none.

    ``styles``, ``samples``: as in `overarm.cli.first.tell_if_first`.
    """
    from overarm.cli.first import tell_if_first
    from overarm.odds.flyers import HERE

    if address is None:
        tell_if_first(*styles, samples=samples)
        yield HERE
        return
    with workers(address) as found:
        yield found

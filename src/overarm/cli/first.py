"""Tell a person who waits why the first run on a machine takes longer."""

from __future__ import annotations

import typer

ENGINE = "_fly_blocks"  # the last function that is compiled, in overarm.flight.campaign


def tell_if_first() -> None:
    """Say on the error channel that the engine is being compiled, if it is."""
    from overarm.jit import compiled_before

    if not compiled_before(ENGINE):
        typer.echo("Compiling the engine for this machine: once, about a minute.", err=True)

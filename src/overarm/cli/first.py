"""Tell a person who waits why the first run on a machine takes longer, and how long."""

from __future__ import annotations

import typer

LINE = "line-launched"
# The last function that is compiled for launches of each kind, in overarm.flight.campaign, and what it takes
# besides what they share [s of one core]: docs/decisions/0012-eight-abreast.md.
BY_HAND, BY_LINE, SAMPLES = "_fly_blocks", "_fly_blocks_on_line", "_fly_rows"
SHARED_S = 50
TAKES_S = {BY_HAND: 10, BY_LINE: 10, SAMPLES: 10}


def tell_if_first(*styles: str, samples: bool = False) -> None:
    """Say on the error channel that the engine is being compiled, and for about how long, if it is.

    Parameters
    ----------
    styles : str
        Of the launches that will be flown.
    samples : bool
        If single launches will be flown with their samples, too.
    """
    from overarm.jit import compiled_before

    wanted = [BY_LINE if LINE in styles else ""]
    wanted += [BY_HAND if set(styles) - {LINE} else "", SAMPLES if samples else ""]
    missing = [name for name in wanted if name and not compiled_before(name)]
    if not missing:
        return
    begun = compiled_before(BY_HAND) or compiled_before(BY_LINE)
    takes_s = sum(TAKES_S[name] for name in missing) + (0 if begun else SHARED_S)
    how_long = f"about {takes_s} s" if begun else "about a minute"
    what = "more of the engine" if begun else "the engine"
    typer.echo(f"Compiling {what} for this machine: once, {how_long}.", err=True)

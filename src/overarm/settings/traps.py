"""Trap finder: values that are acceptable one by one and fail together, layer by layer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import overarm
from overarm.errors import Cancelled, InputError, Problem
from overarm.odds.findings import findings
from overarm.settings.traps_bench import Bench
from overarm.settings.traps_carry import find_carry_trap, suggested
from overarm.settings.traps_launch import find_launch_trap
from overarm.settings.traps_parts import stopped
from overarm.settings.traps_result import Cure, Trap, Traps

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

LAUNCHES = 1500
FEWEST, MOST = 500, 100_000
MOST_LAYERS = 4


def traps_of(
    setup: Setup,
    derived: Derived,
    seed: int = 1,
    launches: int = LAUNCHES,
    progress: Callable[[int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Traps:
    """Return the traps of a setup: smallest sets of acceptable values that fail together.

    Parameters
    ----------
    setup, derived : Setup, Derived
    seed, launches : int
        Every variant flies the same launches of this seed.
    progress, cancelled : callable, optional
        Told after each variant how many were flown; asked in between whether to end.

    Returns
    -------
    Traps
        The first trap, then what is left once its best cure is in place, and so on; those of the launch
        before those of the carry.

    Raises
    ------
    InputError
        For a number of launches that makes no sense.
    """
    if not FEWEST <= launches <= MOST:
        cure = f"Give a number from {FEWEST} to {MOST:,}."
        raise InputError([Problem("cannot show a trap", cure, key="launches", value=f"{launches:,}")])
    bench = Bench(setup, seed, launches, progress, cancelled)
    found: list[Trap] = []
    ended = False
    try:
        _layers(bench, derived, found)
    except Cancelled:
        ended = True
    named = stopped(findings(setup, derived))
    notes = tuple(f"{key} is no part of a trap: a check says stop to it by itself." for key in named)
    return Traps(
        setup_name=setup.name,
        setup_hash=setup.hash(),
        version=overarm.__version__,
        seed=seed,
        launches=launches,
        tried=bench.tried,
        traps=tuple(found),
        notes=notes,
        cancelled=ended,
    )


def _layers(bench: Bench, derived: Derived, found: list[Trap]) -> None:
    """Find trap after trap, each with the best cure of those before in place."""
    cures: dict[str, str] = {}
    while len(found) < MOST_LAYERS:
        after = tuple(f"{key}={value}" for key, value in cures.items())
        trap = find_launch_trap(bench, cures, after) or find_carry_trap(*bench.made(cures), after)
        if trap is None:
            return
        found.append(trap)
        best = _best(trap, derived, bench)
        if best.key in cures or best.key.startswith("thrower."):
            return
        cures[best.key] = best.after


def _best(trap: Trap, derived: Derived, bench: Bench) -> Cure:
    return suggested(trap.cures, bench.setup, derived) if trap.kind == "carry" else trap.cures[0]

"""What must be the same on every worker, so that the same seed gives the same answer anywhere."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import overarm
from overarm.errors import InputError, Problem
from overarm.odds.source import source_hash

ENGINE = (
    "_fly_blocks_on_line"  # the last function that `overarm selfcheck` compiles, in overarm.flight.campaign
)


class Mark(NamedTuple):
    """What a machine flies with."""

    version: str  # of Overarm
    sources: str  # hash of its code
    compiler: str  # version of Numba and of what it compiles with
    processor: str
    compiled: bool  # it has the engine ready


def mark_here() -> dict[str, Any]:
    """Return the mark of this process, as plain data: another Overarm may have other fields."""
    import llvmlite
    import llvmlite.binding
    import numba

    from overarm.flight import campaign  # noqa: F401  its functions give the cache its folder
    from overarm.jit import compiled_before

    return Mark(
        overarm.__version__,
        source_hash(),
        f"{numba.__version__}, {llvmlite.__version__}",
        str(llvmlite.binding.get_host_cpu_name()),
        bool(compiled_before(ENGINE)),
    )._asdict()


def mark_of(told: Mapping[str, Any]) -> Mark:
    """Return a mark from what a process told of itself; what it does not tell is unknown."""
    return Mark(*(told.get(field, "unknown") for field in Mark._fields))


def check_marks(here: Mark, there: Mapping[str, Mark]) -> None:
    """Refuse workers that would not give the same bytes.

    Parameters: the mark of this machine; that of each worker, by its address.
    Raises InputError naming each worker that differs.
    """
    problems = []
    for address, mark in there.items():
        if (mark.version, mark.sources) != (here.version, here.sources):
            what = f"{mark.version}, code {mark.sources}; here {here.version}, code {here.sources}"
            cure = "Install the same Overarm on every worker and start it again"
            problems.append(Problem("flies with another Overarm", cure, key=address, value=what))
        elif mark.compiler != here.compiler:
            what = f"{mark.compiler}; here {here.compiler}"
            cure = "Install the packages of the same lock on every worker and start it again"
            problems.append(Problem("compiles with another Numba", cure, key=address, value=what))
    if problems:
        raise InputError(problems)


def remarks(here: Mark, there: Mapping[str, Mark]) -> list[str]:
    """Return what a person should know who waits for these workers and keeps their answer."""
    told = []
    cold = sum(not mark.compiled for mark in there.values())
    if cold:
        which = "It compiles" if len(there) == 1 else f"{cold} of {len(there)} workers compile"
        told.append(f"{which} the engine first: once on each machine, about a minute.")
    others = sorted({mark.processor for mark in there.values()} - {here.processor})
    if others:
        told.append(
            f"Workers have other processors ({', '.join(others)}; here {here.processor}): "
            "the last digits of a launch may differ from those flown here."
        )
    return told

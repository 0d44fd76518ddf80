"""The same launches flown with several inputs side by side, in one loop over all cores."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import CHUNK, fly_numbered

if TYPE_CHECKING:
    from overarm.flight.campaign import Inputs
    from overarm.review.day import OneAWorld


def fly_beside(
    all_inputs: Sequence[Inputs], drawn: OneAWorld, tell: Callable[[float], None]
) -> list[NDArray[np.void]]:
    """Return the summaries of the same launches with each of some inputs, shape (launches,) each.

    All that have the same propeller and obstacles are flown in one loop, launch by launch: one wait of the
    cores for each other instead of one for each inputs, and no core with the long flights alone.
    ``tell`` hears the share that is done, and may raise Cancelled.
    """
    found: dict[int, NDArray[np.void]] = {}
    for group in _groups(all_inputs):
        begun = len(found)

        def heard(share: float, begun: int = begun, size: int = len(group)) -> None:
            tell((begun + size * share) / len(all_inputs))

        tables = _fly([all_inputs[k] for k in group], drawn, heard)
        found |= dict(zip(group, tables, strict=True))
    return [found[k] for k in range(len(all_inputs))]


def _groups(all_inputs: Sequence[Inputs]) -> list[list[int]]:
    """Return which inputs can be flown in one loop, by their places."""
    groups: dict[tuple[bytes, bytes], list[int]] = {}
    for k, one in enumerate(all_inputs):
        groups.setdefault((one.table.tobytes(), one.obstacles.tobytes()), []).append(k)
    return list(groups.values())


def _fly(
    all_inputs: Sequence[Inputs], drawn: OneAWorld, tell: Callable[[float], None]
) -> list[NDArray[np.void]]:
    wide, step = len(all_inputs), max(1, CHUNK // len(all_inputs))
    parts = []
    for first in range(0, len(drawn), step):
        tell(first / len(drawn))
        rows = slice(first, first + step)
        records = np.stack([drawn.records(one, rows) for one in all_inputs], axis=1)
        numbers = np.repeat(drawn.numbers[rows], wide)
        flown = fly_numbered(all_inputs[0], records.reshape(-1), drawn.seed, numbers)
        parts.append(flown.reshape(-1, wide))
    tables = np.concatenate(parts)
    return [np.ascontiguousarray(tables[:, k]) for k in range(wide)]

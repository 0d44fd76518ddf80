"""The smallest set of differences that still fails."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

Part = TypeVar("Part")


def minimal_failing(parts: Sequence[Part], fails: Callable[[tuple[Part, ...]], bool]) -> tuple[Part, ...]:
    """Return some of the parts that fail together, none of which can be left out.

    Parameters: the parts, all of which fail together; the test. Method: halves, then ever finer pieces
    and what is left without each of them, until no single part can go.
    Source: A. Zeller & R. Hildebrandt (2002), IEEE Trans. Software Eng. 28, 183, algorithm ddmin.
    """
    left, pieces = tuple(parts), 2
    while len(left) > 1:
        size = len(left) / pieces
        cuts = [left[round(k * size) : round((k + 1) * size)] for k in range(pieces)]
        alone = next((cut for cut in cuts if cut and fails(cut)), None)
        if alone is not None:
            left, pieces = alone, 2
            continue
        rest = [tuple(item for item in left if item not in cut) for cut in cuts] if pieces > 2 else []
        fewer = next((some for some in rest if some and fails(some)), None)
        if fewer is not None:
            left, pieces = fewer, max(pieces - 1, 2)
        elif pieces < len(left):
            pieces = min(2 * pieces, len(left))
        else:
            break
    return left

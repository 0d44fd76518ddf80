"""Where launches with given inputs are flown, counted and told of; a toy can stand in for the aeroplane."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from overarm.errors import Cancelled
from overarm.odds.mixture import Floats, Ints, Proposal, placed

CHUNK = 2000
# The launches of a search are none of those that `overarm odds` flies with the same seed.
FIRST_NUMBER = 2**32


@dataclass(frozen=True, slots=True)
class Space:
    """The inputs of a launch as standard normal numbers, and what a launch with them comes to.

    ``near`` is minus infinity where it happened; launches that come to it in different ways are of different
    kinds. Both steer the search; only what happened is counted.
    """

    names: tuple[str, ...]
    plain: Callable[[int, int], Floats]  # (first, n): the numbers of n launches drawn as they come, (n, d)
    near: Callable[
        [Floats, Ints], tuple[Floats, Ints]
    ]  # (scores, launch numbers): how near, and of what kind

    @property
    def dimension(self) -> int:
        """Return the number of inputs."""
        return len(self.names)


class Batch(NamedTuple):
    """Launches drawn from one proposal."""

    scores: Floats  # (n, d)
    numbers: Ints  # of the launches; they make gusts and noise of the sensor
    cloud: Ints  # which cloud of the proposal each came from
    near: Floats  # (n,)
    kind: Ints  # (n,)

    @property
    def events(self) -> Ints:
        """Return the rows in which it happened."""
        return np.flatnonzero(np.isneginf(self.near))


class Range:
    """Flies launches of a space one number after the other, until somebody cancels."""

    def __init__(
        self,
        space: Space,
        tell: Callable[[int], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
    ) -> None:
        self.space = space
        self.flown = 0
        self._tell = tell
        self._cancelled = cancelled

    def fly(self, scores: Floats, numbers: Ints) -> tuple[Floats, Ints]:
        """Fly launches; return how near each came, and its kind. Cancelled if somebody asked for it."""
        near, kind = np.empty(len(scores)), np.empty(len(scores), dtype=np.int64)
        for k in range(0, len(scores), CHUNK):
            if self._cancelled is not None and self._cancelled():
                raise Cancelled("cancelled before there was anything to say")
            part = slice(k, k + CHUNK)
            near[part], kind[part] = self.space.near(scores[part], numbers[part])
            self.flown += len(near[part])
            if self._tell is not None:
                self._tell(self.flown)
        return near, kind

    def draw(self, proposal: Proposal, launches: int) -> Batch:
        """Draw launches from a proposal and fly them, each with a number that none had before."""
        first = FIRST_NUMBER + self.flown
        scores, cloud = placed(proposal, self.space.plain(first, launches))
        numbers = first + np.arange(launches, dtype=np.int64)
        return Batch(scores, numbers, cloud, *self.fly(scores, numbers))

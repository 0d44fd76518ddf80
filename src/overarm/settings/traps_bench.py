"""Flies a setup with changes, each variant once and all with the same random numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from overarm.errors import Cancelled
from overarm.odds.assess import clean_share, is_clean
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference
from overarm.odds.what_if import Pair

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

CHUNK = 500
ROUGH = 300  # launches for a first look at a change
Changes = Mapping[str, str]


class Bench:
    """Variants of one setup and their launches."""

    def __init__(
        self,
        setup: Setup,
        seed: int,
        launches: int,
        progress: Callable[[int], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
    ) -> None:
        self.setup, self.seed, self.launches = setup, seed, launches
        self.tried = 0
        self._progress, self._cancelled = progress, cancelled or (lambda: False)
        self._made: dict[frozenset[tuple[str, str]], tuple[Setup, Derived]] = {}
        self._flown: dict[tuple[str, int], NDArray[np.void]] = {}

    def made(self, changes: Changes) -> tuple[Setup, Derived]:
        """Return the setup with changes and its derived figures."""
        from overarm.describe.change import changed
        from overarm.describe.derived import derive

        wanted = frozenset(changes.items())
        if wanted not in self._made:
            setup = changed(self.setup, changes) if changes else self.setup
            self._made[wanted] = (setup, derive(setup))
        return self._made[wanted]

    def fly(self, changes: Changes, launches: int | None = None) -> NDArray[np.void]:
        """Return the launches of the setup with changes, the first ones if fewer are asked for.

        Raises Cancelled.
        """
        from overarm.flight.campaign import run
        from overarm.flight.inputs import inputs_of

        setup, derived = self.made(changes)
        wanted = self.launches if launches is None else launches
        name = (setup.hash(), wanted)
        if name not in self._flown:
            flight = run(inputs_of(setup, derived), wanted, self.seed, chunk=CHUNK, cancelled=self._cancelled)
            tables = [chunk.table for chunk in flight]
            if sum(len(table) for table in tables) < wanted:
                raise Cancelled
            self._flown[name] = np.concatenate(tables)
            self.tried += 1
            if self._progress is not None:
                self._progress(self.tried)
        return self._flown[name]

    def rough_gain(self, before: Changes, after: Changes) -> float:
        """Return the gain that the first launches show."""
        old = self.fly(before)[:ROUGH]
        return float(np.mean(is_clean(self.fly(after, ROUGH)))) - float(np.mean(is_clean(old)))

    def odds(self, changes: Changes) -> Interval:
        """Return the odds of a clean launch with changes."""
        return clean_share(self.fly(changes))

    def gain(self, before: Changes, after: Changes) -> Difference:
        """Return the odds of one variant less those of another."""
        return Pair(self.fly(before), self.fly(after)).difference

"""What a difference does: the same launches flown again with what the aircraft has."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.errors import InputError
from overarm.odds.intervals import Interval
from overarm.odds.paired import Difference

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

Asked = Callable[[], bool]


class Consequence(NamedTuple):
    """What becomes of the odds; ``refused`` says why nothing could be flown instead."""

    difference: Difference | None
    clean: Interval | None
    new_stops: tuple[str, ...] = ()
    refused: str = ""
    hands_before: int = 0  # launches of the sheet with a hand at risk
    hands_after: int = 0

    @property
    def words(self) -> str:
        """Return the difference in points, such as "-27 points (-30 to -24)"."""
        if self.difference is None:
            return self.refused
        share, low, high = (100.0 * part for part in self.difference[:3])
        said = f"{_points(share)} points ({_points(low)} to {_points(high)})"
        if self.hands_after > self.hands_before:
            return f"{said}; a hand is at risk in {self.hands_after:,} launches, {self.hands_before:,} before"
        return said if self.difference.clear else f"{said}, no clear difference"


def _points(value: float) -> str:
    shown = f"{value:+.0f}" if abs(value) >= 9.95 else f"{value:+.1f}"
    return "0" if float(shown) == 0.0 else shown


@dataclass(frozen=True, slots=True)
class Flights:
    """The launches of the sheet, to compare others with."""

    setup: Setup
    launches: int
    seed: int
    clean: NDArray[np.bool_]
    world: NDArray[np.integer[Any]]
    stops: frozenset[str]
    share: Interval
    hands: int
    cancelled: Asked | None = None

    def with_changes(self, changes: Mapping[str, Any]) -> Consequence:
        """Return what other settings do to the same launches."""
        from overarm.describe.change import changed
        from overarm.odds.paired import paired

        try:
            setup = changed(self.setup, changes)
            flown = _flown(setup, self.launches, self.seed, self.cancelled)
        except InputError as error:
            first = error.problems[0]
            said = f"{first.key}: {first.message}" if first.key else first.message
            return Consequence(None, None, (), f"no launch can be computed with it: {said}")
        difference = paired(self.clean, flown.clean, flown.world)
        new = tuple(sorted(flown.stops - self.stops))
        return Consequence(difference, flown.share, new, "", self.hands, flown.hands)


def fly_sheet(setup: Setup, launches: int, seed: int, cancelled: Asked | None = None) -> Flights:
    """Fly a setup as the sheet has it.

    Parameters: the setup; how many launches; the seed; what is asked before each chunk of launches.
    Raises InputError for a setup that cannot be derived, KeyboardInterrupt if it was cancelled.
    """
    return _flown(setup, launches, seed, cancelled)


def _flown(setup: Setup, launches: int, seed: int, cancelled: Asked | None) -> Flights:
    from overarm.describe.derived import derive
    from overarm.flight.campaign import run
    from overarm.flight.inputs import inputs_of
    from overarm.odds.as_flown import as_flown, at_risk
    from overarm.odds.assess import clean_share, is_clean
    from overarm.odds.findings import findings
    from overarm.odds.known import figures_of

    derived = derive(setup)
    chunks = [chunk.table for chunk in run(inputs_of(setup, derived), launches, seed, cancelled=cancelled)]
    if sum(map(len, chunks)) < launches:
        raise KeyboardInterrupt
    table = np.concatenate(chunks)
    found = (*findings(setup, derived), *as_flown(table, figures_of(setup)))
    stops = frozenset(item.name for item in found if item.word == "stop")
    hands = int(np.count_nonzero(at_risk(table)))
    clean = is_clean(table)
    return Flights(setup, launches, seed, clean, table["world"], stops, clean_share(table), hands, cancelled)

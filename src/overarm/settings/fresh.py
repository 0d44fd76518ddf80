"""Launches that took part in no choice, and what they say about settings."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.errors import Cancelled
from overarm.odds.as_flown import HAND_AS_FLOWN, as_flown
from overarm.odds.assess import clean_share
from overarm.odds.finding import Finding
from overarm.odds.flyers import HERE, Flyers
from overarm.odds.intervals import Interval

if TYPE_CHECKING:
    from overarm.describe.cards import Setup


class Flown(NamedTuple):
    """Launches of a setup with fresh numbers, and what its findings say."""

    setup: Setup
    table: NDArray[np.void]
    findings: tuple[Finding, ...]

    @property
    def clean(self) -> Interval:
        """Return the share of clean launches."""
        return clean_share(self.table)

    @property
    def stops(self) -> tuple[Finding, ...]:
        """Return the findings that say stop."""
        return tuple(item for item in self.findings if item.word == "stop")

    @property
    def hand(self) -> Finding | None:
        """Return the finding on hand and disc as flown; None where no disc passes a hand."""
        return next((item for item in self.findings if item.name == HAND_AS_FLOWN), None)


def fresh(
    setup: Setup, launches: int, seed: int, cancelled: Callable[[], bool], flyers: Flyers = HERE
) -> Flown:
    """Fly a setup over the whole day, wind band and all. Raises Cancelled."""
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of
    from overarm.odds.findings import findings
    from overarm.odds.known import figures_of

    derived = derive(setup)
    chunks = flyers.chunks(inputs_of(setup, derived), launches, seed, cancelled)
    tables = [chunk.table for chunk in chunks]
    if sum(len(table) for table in tables) < launches:
        raise Cancelled
    table = np.concatenate(tables)
    return Flown(setup, table, (*findings(setup, derived), *as_flown(table, figures_of(setup))))

"""No cure of a trap at the price of a hand: the limits that protect people, on paper and as flown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from overarm.odds.as_flown import at_risk, hand_as_flown
from overarm.odds.gather import gather_facts
from overarm.settings.carry import carry_of
from overarm.settings.limits import Margin, Rank, on_paper

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

SAME = 1e-9  # of a margin, in units of its scale


def _people(setup: Setup, derived: Derived) -> dict[str, Margin]:
    found = on_paper(gather_facts(setup, derived), carry_of(setup))
    return {item.name: item for item in found if item.rank is Rank.PEOPLE}


def less_clear(before: tuple[Setup, Derived], after: tuple[Setup, Derived]) -> bool:
    """Return True if a change breaks a limit that protects people, or a broken one further.

    The limits are those of `overarm.settings.limits.on_paper`: hand and disc, draw-back, line, false starts.
    """
    old = _people(*before)
    return any(
        not item.kept and (name not in old or old[name].kept or item.spare < old[name].spare - SAME)
        for name, item in _people(*after).items()
    )


def hands_as_clear(setup: Setup, before: NDArray[np.void], after: NDArray[np.void]) -> bool:
    """Return True if as flown no stop is said to hand and disc after a change, and no more hands are at risk.

    Parameters: the setup, and its launches before and after the change, flown with the same numbers.
    """
    hand = hand_as_flown(after, setup.style, setup.power.position == "pusher")
    if hand is not None and hand.word == "stop":
        return False
    return int(np.sum(at_risk(after))) <= int(np.sum(at_risk(before)))

"""Launches by their outcome: of a setup as it is, and of changes that bring the other outcomes about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.derived import Derived, derive
from overarm.errors import InputError
from overarm.flight.campaign import Inputs, run
from overarm.flight.inputs import inputs_of
from overarm.flight.outcomes import Outcome

# What brings an outcome about that a good setup does not have by itself; the first that works is taken.
CHANGES: dict[str, tuple[Mapping[str, str], ...]] = {
    "hand at risk": ({"settings.start_wait": "0.1 s"},),
    "false start": (
        {"settings.jerk_level": "2 m/s2"},
        {"settings.jerk_level": "3 m/s2", "thrower.carry_pitch": "24 deg"},
        {"thrower.carry_pitch": "40 deg"},
    ),
    "no start": ({"settings.jerk_level": "45 m/s2"},),
    "power lost": ({"power.pack_resistance": "1 ohm"},),
    "rolled over": (
        {
            "thrower.release_bank": "57 deg",
            "thrower.release_bank_scatter": "25 deg",
            "airframe.surfaces.travel": "6 deg",
        },
    ),
    "stalled": ({"day.wind": "2.5 m/s", "day.wind_angle": "180 deg"}, {"settings.launch_ceiling": "40 %"}),
    "grounded": ({"day.wind": "2.5 m/s", "day.wind_angle": "180 deg"}, {"settings.launch_ceiling": "40 %"}),
    "dipped": ({"day.wind": "2.5 m/s", "day.wind_angle": "180 deg"}, {"settings.climb_pitch": "25 deg"}),
    "mushed": ({"settings.launch_ceiling": "40 %"}, {"power.pack_resistance": "1 ohm"}),
    "struck obstacle": ({"site.obstacles.0.distance": "25 m", "site.obstacles.0.height": "20 m"},),
    "over height": ({"site.legal_ceiling": "40.01 m", "settings.handover_height": "40 m"},),
    "hook stuck": (),
}
LAUNCHES = 500


class Choice(NamedTuple):
    """One launch with the outcome that was asked for."""

    setup: Setup
    derived: Derived
    inputs: Inputs
    seed: int
    launch: int
    outcome: str
    changes: Mapping[str, str]


class Campaign(NamedTuple):
    """A setup with some changes, and its launches by the label of their outcome."""

    setup: Setup
    derived: Derived
    inputs: Inputs
    launches: Mapping[str, list[int]]


def choices_of(
    setup: Setup, outcomes: Iterable[str], seed: int, most: int, launches: int = LAUNCHES
) -> dict[str, list[Choice]]:
    """Return up to ``most`` launches of a setup that end in each of some outcomes, by their labels.

    The setup itself is looked through first, then the changes of `CHANGES`. The list is empty if none of
    them brings an outcome about, as a hook cannot be stuck on a model that is thrown.
    """
    flown: dict[str, Campaign | None] = {}
    told: dict[str, list[Choice]] = {}
    for outcome in outcomes:
        told[outcome] = []
        for changes in ({}, *CHANGES.get(outcome, ())):
            key = str(sorted(changes.items()))
            if key not in flown:
                flown[key] = _campaign(setup, changes, seed, launches)
            campaign = flown[key]
            found = campaign.launches.get(outcome, []) if campaign is not None else []
            if campaign is not None and found:
                spread = found[:: max(1, len(found) // most)][:most]  # far apart: of different worlds
                made = campaign.setup, campaign.derived, campaign.inputs
                told[outcome] = [Choice(*made, seed, k, outcome, changes) for k in spread]
                break
    return told


def _campaign(setup: Setup, changes: Mapping[str, str], seed: int, launches: int) -> Campaign | None:
    """Fly a setup with some changes; None if it has no card that they are on."""
    try:
        made = changed(setup, changes) if changes else setup
    except InputError:
        return None
    derived = derive(made)
    inputs = inputs_of(made, derived)
    found: dict[str, list[int]] = {}
    for chunk in run(inputs, launches, seed):
        for k, number in enumerate(chunk.table["outcome"]):
            found.setdefault(Outcome(number).label, []).append(chunk.first + k)
    return Campaign(made, derived, inputs, found)

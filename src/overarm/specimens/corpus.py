"""Many recordings that differ as those of a club do: setups, outcomes, rates, what else happens, defects."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.describe.cards import Setup
from overarm.flight.outcomes import Outcome
from overarm.specimens.luck import stream
from overarm.specimens.options import Extra, Options, Rates
from overarm.specimens.pick import LAUNCHES, choices_of
from overarm.specimens.spoil import MEASURED, SPOILERS

CLEAN = Outcome.CLEAN.label
CLEAN_SHARE, DEFECT_SHARE, SECOND_SHARE = 0.5, 0.25, 0.12
IN_THE_AIR_SHARE, LOG_ENDS_SHARE = 0.05, 0.10
EXTRA_SHARES: tuple[tuple[Extra, float], ...] = (
    ("turn round", 0.5),
    ("nose-up carry", 0.25),
    ("shake", 0.15),
    ("aborted throw", 0.15),
)
INERTIAL_HZ = (25.0, 50.0, 100.0, 200.0, 400.0)


class Order(NamedTuple):
    """One recording to be made: which setup with which changes, which launch, and what it is like."""

    setup: str  # the key of the setup
    changes: Mapping[str, str]
    outcome: str
    seed: int
    launch: int
    options: Options


class Found(NamedTuple):
    """Launches of one setup that end in one outcome."""

    outcome: str
    changes: Mapping[str, str]
    launches: tuple[int, ...]


def found_of(
    setups: Mapping[str, Setup], seed: int, most: int, launches: int = LAUNCHES
) -> dict[str, list[Found]]:
    """Return for each setup the launches of every outcome that can be brought about, ``most`` of each.

    ``launches``: how many are looked through for each setup and change.
    """
    labels = [one.label for one in Outcome if one is not Outcome.FAILED_NUMERICALLY]
    return {
        key: [
            Found(label, chosen[0].changes, tuple(one.launch for one in chosen))
            for label, chosen in choices_of(setup, labels, seed, most, launches).items()
            if chosen
        ]
        for key, setup in setups.items()
    }


def orders_of(found: Mapping[str, list[Found]], count: int, seed: int) -> list[Order]:
    """Return ``count`` orders: half of them clean launches, the setups and the other outcomes in turn."""
    keys = sorted(found)
    others = {key: [one for one in found[key] if one.outcome != CLEAN] for key in keys}
    made = []
    for k in range(count):
        key = keys[k % len(keys)]
        luck = stream(seed, k, "order")
        usual = [one for one in found[key] if one.outcome == CLEAN]
        turn = k // len(keys)
        clean = bool(usual) and (luck.random() < CLEAN_SHARE or not others[key])
        pick = usual[0] if clean else others[key][turn % len(others[key])]
        launch = pick.launches[int(luck.integers(len(pick.launches)))]
        options = options_of(luck, pick.launches)
        made.append(Order(key, pick.changes, pick.outcome, seed, launch, options))
    return made


def options_of(luck: np.random.Generator, launches: Iterable[int]) -> Options:
    """Draw what a recording is like; ``launches``: those that may follow in the same file."""
    rates = Rates(
        inertial_hz=float(luck.choice(INERTIAL_HZ)),
        attitude_hz=float(luck.choice([10.0, 25.0, 50.0])),
        satellite_hz=float(luck.choice([5.0, 10.0])),
        baro_hz=float(luck.choice([10.0, 25.0, 50.0])),
        throttle_hz=float(luck.choice([10.0, 25.0])),
        power_hz=float(luck.choice([5.0, 10.0])),
        propeller_hz=10.0 if luck.random() < 0.3 else 0.0,
        airspeed_hz=10.0 if luck.random() < 0.4 else 0.0,
        state_hz=10.0 if luck.random() < 0.5 else 0.0,
    )
    extras = tuple(name for name, share in EXTRA_SHARES if luck.random() < share)
    follows = int(luck.choice(list(launches)))
    two, air, ends, spoilt = luck.random(4)
    names = (*SPOILERS, *MEASURED)
    if not rates.airspeed_hz:
        names = tuple(name for name in names if name != "airspeed zero")
    defect = str(luck.choice(names))
    return Options(
        rates=rates,
        extras=extras,
        before="in the air" if air < IN_THE_AIR_SHARE else "carried",
        after="log ends" if ends < LOG_ENDS_SHARE else "as it ends",
        second=follows if two < SECOND_SHARE else None,
        defects=(defect,) if spoilt < DEFECT_SHARE else (),
        range_mps2=float(luck.choice([4.0, 8.0, 16.0], p=[0.15, 0.25, 0.6])) * GRAVITY_MPS2,
    )

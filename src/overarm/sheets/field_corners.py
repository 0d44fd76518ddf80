"""The corners of the field pack's table: odds flown for each wind, gust, air temperature and pack voltage.

Every corner is flown with the same random numbers, so that two of them differ by the day alone.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.describe.change import changed
from overarm.odds.as_flown import at_risk
from overarm.odds.assess import clean_share
from overarm.odds.intervals import Interval
from overarm.physics.wind import Air, gust_sigmas
from overarm.sheets.launches import LEAST_HAND_SHARE

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.flight.campaign import Inputs
    from overarm.sheets.subject import Subject

WINDS_MPS = (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
NEAR_MPS = 0.6  # an edge of the sheet's band takes the place of a wind that is nearer than this
GUST_RATIOS = (1.5, 2.0)  # highest gust over the mean
AIR_C = (0.0, 15.0, 35.0)
BELOW_FULL_V, ABOVE_FULL_V = 0.20, 0.05  # a cell, against the pack of the card
LEAST_PACK_C = 15.0  # what check 9 asks for
PER_WORLD, WORLDS_AT_ONCE = 5, 80
WATCHED_S, CROSSINGS_HZ = 120.0, 0.2
ZERO_K = 273.15


class Grid(NamedTuple):
    """Where the corners are; each axis rises."""

    winds_mps: tuple[float, ...]  # mean headwind at the hand
    gust_ratios: tuple[float, ...]  # highest gust of two minutes over that mean
    air_c: tuple[float, ...]
    pack_volts: tuple[float, ...]  # whole pack, at rest

    @property
    def shape(self) -> tuple[int, int, int, int]:
        """Return how many there are of gusts, winds, temperatures and volts."""
        return len(self.gust_ratios), len(self.winds_mps), len(self.air_c), len(self.pack_volts)


class Corner(NamedTuple):
    """What the launches of one corner came to."""

    clean: Interval
    launches: int
    hands_at_risk: int


Corners = dict[tuple[int, int, int, int], Corner]  # by place: gust, wind, temperature, volts


def winds_with(band: tuple[float, float] | None) -> tuple[float, ...]:
    """Return the winds of the table, with the edges of the sheet's band among them [m/s]."""
    winds = list(WINDS_MPS)
    for edge in (round(wind, 1) for wind in band or ()):
        if edge in winds:
            continue
        nearest = min(winds, key=lambda wind: abs(wind - edge))
        if abs(nearest - edge) < NEAR_MPS and nearest not in (0.0, *(band or ())):
            winds.remove(nearest)
        winds.append(edge)
    return tuple(sorted(winds))


def grid_of(subject: Subject, band: tuple[float, float] | None) -> Grid:
    """Return the corners for a setup: its own pack, and the band of its sheet."""
    low, edge, high = (
        round(subject.pack_volts + volts * subject.cells, 2) for volts in (-BELOW_FULL_V, 0.0, ABOVE_FULL_V)
    )
    edge = round(subject.least_volts, 1)
    return Grid(
        winds_with(band), GUST_RATIOS, AIR_C, (math.floor(low * 10) / 10, edge, math.ceil(high * 10) / 10)
    )


def highest_in_two_minutes() -> float:
    """Return how many standard deviations the highest of two minutes of gusts lies above their mean.

    Equation: ``sqrt(2 ln(f T)) + 0.577/sqrt(2 ln(f T))`` with f = 0.2 upward crossings a second (own
    estimate), T = 120 s. Source: A. G. Davenport (1964), Proc. Inst. Civ. Eng. 28, 187 (from memory).
    """
    root = math.sqrt(2.0 * math.log(CROSSINGS_HZ * WATCHED_S))
    return root + 0.5772 / root


def gust_scale(ratio: float, hand_height_m: float, roughness_m: float, hand_share: float) -> float:
    """Return the gust scale whose highest gust in two minutes is ``ratio`` times the mean at the hand.

    Parameters: height of the hand [m], roughness of the ground [m], mean wind at the hand over that at 10 m.
    """
    along_mps, _ = gust_sigmas(Air(0.0, 1.0, 0.0, roughness_m, 1.0), hand_height_m)
    return (ratio - 1.0) * max(hand_share, LEAST_HAND_SHARE) / (highest_in_two_minutes() * along_mps)


def pack_c(air_c: float, card_c: float) -> float:
    """Return how warm the pack is taken to be [deg C]: as the air, not under 15 and not over the card's."""
    return max(LEAST_PACK_C, min(air_c, card_c))


def inputs_for(setup: Setup, air_c: float, pack_volts: float) -> Inputs:
    """Return what a campaign needs in air and with a pack like that; wind and gusts held, not drawn."""
    from overarm.describe.derived import derive
    from overarm.flight.inputs import inputs_of, without_rules

    warm = pack_c(air_c, setup.day.pack_temperature_k.value - ZERO_K)
    today = changed(
        setup,
        {
            "day.temperature": f"{air_c:g} C measured",
            "day.pack_temperature": f"{warm:g} C measured",
            "day.pack_volts": f"{pack_volts:g} V measured",
        },
    )
    return without_rules(inputs_of(today, derive(today)), ("air.wind_10m_mps", "air.gust_scale"))


def in_wind(inputs: Inputs, subject: Subject, wind_mps: float, ratio: float) -> Inputs:
    """Return inputs in a mean headwind at the hand with gusts of a ratio to it."""
    base = inputs.base.copy()
    share = max(subject.hand_share, LEAST_HAND_SHARE)
    base["air"]["wind_10m_mps"] = wind_mps / share
    base["air"]["wind_angle_rad"] = 0.0
    base["air"]["gust_scale"] = gust_scale(ratio, subject.release_height_m, subject.roughness_m, share)
    return dataclasses.replace(inputs, base=base)


def spread_out(inputs: Inputs, launches: int, seed: int) -> NDArray[np.void]:
    """Fly a few launches of each of many worlds and return their summaries, shape (launches,).

    The worlds are those of any campaign of this seed. Few of each tell more than all of a few: what nobody
    has measured differs from world to world.
    """
    from overarm.flight.campaign import fly_numbered
    from overarm.flight.draw import WORLD_SIZE, draw

    rows = []
    for first in range(0, launches, PER_WORLD * WORLDS_AT_ONCE):
        count = min(PER_WORLD * WORLDS_AT_ONCE, launches - first)
        start = first // PER_WORLD * WORLD_SIZE
        flown = np.arange(count) // PER_WORLD * WORLD_SIZE + np.arange(count) % PER_WORLD
        records, _ = draw(inputs.base, inputs.rules, int(flown[-1]) + 1, seed, start)
        rows.append(fly_numbered(inputs, records[flown], seed, start + flown))
    return np.concatenate(rows)


def fly_corner(inputs: Inputs, launches: int, seed: int, *, disc_passes_hand: bool) -> Corner:
    """Fly one corner; hands at risk are counted only where the disc passes a hand."""
    table = spread_out(inputs, launches, seed)
    risky = int(np.count_nonzero(at_risk(table))) if disc_passes_hand else 0
    return Corner(clean_share(table), launches, risky)


def _places(grid: Grid) -> Iterator[tuple[int, int]]:
    _, _, airs, volts = grid.shape
    return ((t, v) for t in range(airs) for v in range(volts))


def fly_corners(
    setup: Setup,
    subject: Subject,
    grid: Grid,
    launches: int,
    seed: int,
    progress: Callable[[str, float], None] | None = None,
) -> Corners:
    """Fly every corner of a grid.

    Parameters
    ----------
    setup, subject
        The cards, and the same as a sheet sees it.
    grid : Grid
    launches, seed : int
        Of each corner, all with the same random numbers.
    progress : callable, optional
        Told what is being done and which share of it is done.

    Returns
    -------
    dict
        Place (gust, wind, temperature, volts) to `Corner`. Raises InputError if a card takes no such day.
    """
    passes = subject.pusher and not subject.by_line
    gusts, winds, airs, volts = grid.shape
    found: Corners = {}
    for t, v in _places(grid):
        inputs = inputs_for(setup, grid.air_c[t], grid.pack_volts[v])
        for g in range(gusts):
            for w in range(winds):
                if progress is not None:
                    progress("flying the table", len(found) / (gusts * winds * airs * volts))
                here = in_wind(inputs, subject, grid.winds_mps[w], grid.gust_ratios[g])
                found[g, w, t, v] = fly_corner(here, launches, seed, disc_passes_hand=passes)
    return found

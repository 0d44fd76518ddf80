"""The hard limits of the settings: people first, then obstacles, then the aeroplane.

Each limit has a margin in units of its own scale: not below zero means kept. Limits on paper are closed
forms on the figures of a setup; limits as flown look at a table of launches.
Source of the limits: common practice, no source; behind the clear time stands a guess about arms, so the
extra 0.10 s is the protection and not the tail of the guess.
"""

from __future__ import annotations

import math
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.flight.outcomes import Outcome
from overarm.odds import checks, clear
from overarm.odds.as_flown import at_risk
from overarm.odds.facts import Facts, detection_lead_s, draw_back, felt_still_mps2
from overarm.settings.carry import Carry, false_start_share

MOST_FALSE_STARTS = 1.0 / 50.0  # of two-minute carries
MOST_MISSED = 0.02
MOST_AT_RISK = 1e-3
SLACK_QUANTILE = 0.01
LEAST_ROLL = 2.0
LEAST_CELL_V = 3.2
LEAST_OVER_FLOOR_V = 1.0
OBSTACLE_QUANTILE = 0.05
LEVEL_OVER_CARRY_MPS2 = 3.0
TILT_OVER_CARRY_RAD = math.radians(10.0)
MOST_OF_PEAK = 0.6
TIMES_DWELL = 1.5
STEEP_RAD, STEEP_THRUST = math.radians(15.0), 0.7
NEVER_S = 60.0
TIME_HAIR_S = 1e-6
FAR_M = 900.0


class Rank(IntEnum):
    """Whom a limit protects; the lower comes first."""

    PEOPLE = 0
    OBSTACLES = 1
    AIRCRAFT = 2


class Margin(NamedTuple):
    """One limit: how far it is kept (not below zero) or broken, in units of its scale, and in words."""

    name: str
    rank: Rank
    spare: float
    words: str

    @property
    def kept(self) -> bool:
        """Return True if the limit is kept."""
        return self.spare >= -1e-9


def wait_needed_s(facts: Facts) -> float:
    """Return the shortest start wait that keeps a hand clear of a pusher's disc [s].

    The time at which 999 of 1000 hands are clear after a cue in the throw, plus 0.10 s.
    """
    return clear.clear_time_s(facts) + clear.CLEAR_EXTRA_S


def _draw_back(facts: Facts) -> Margin:
    """Return the limit that the draw-back of the arm must not fire the cue, nor nearly.

    Else the wait counts from before the throw, and covers less of it. Nearly: with a level that is 1.5 m/s²
    lower, which is what noise, sway, tilt and another draw-back may add.
    """
    level = facts.cue.level_mps2 - clear.CLOSE_MPS2
    above = draw_back(facts._replace(cue=facts.cue._replace(level_mps2=level))).above_s
    words = (
        f"the end of the draw-back is above {level:.1f} m/s² for {above:.2f} s; with a dwell of "
        f"{facts.cue.dwell_s:.2f} s it may fire the cue before the throw"
    )
    # Just as long as the dwell would fire it.
    spare = facts.cue.dwell_s - above if above > 0.0 else facts.cue.dwell_s
    return Margin("draw-back", Rank.PEOPLE, (spare - TIME_HAIR_S) / 0.1, words)


def _people(facts: Facts, carry: Carry) -> list[Margin]:
    found = []
    wait = facts.plan.start_wait_s
    if facts.style == "throw-started" and facts.power.pusher:
        needed = wait_needed_s(facts)
        words = f"hands need {needed:.2f} s to be clear with 0.10 s to spare"
        found.append(Margin("hand clear", Rank.PEOPLE, (wait - needed) / 0.5, words))
        found.append(_draw_back(facts))
    if facts.by_line:
        turns = wait + facts.power.start_delay_s - detection_lead_s(facts)
        words = "the propeller must not turn before 0.10 s after the model leaves the line"
        found.append(Margin("off the line", Rank.PEOPLE, (turns - clear.CLEAR_EXTRA_S) / 0.5, words))
    share = false_start_share(carry)
    words = f"{100.0 * share:.0f} % of two-minute carries would start it; 2 % is the most"
    found.append(Margin("false starts", Rank.PEOPLE, (MOST_FALSE_STARTS - share) / 0.2, words))
    still = felt_still_mps2(facts.cue, facts.cue.carry_pitch_rad)
    least = max(still + LEVEL_OVER_CARRY_MPS2, still + facts.cue.sway_mps2)
    words = (
        f"carried, the cue feels {still:.1f} m/s² by itself; {least:.1f} m/s² is the lowest level for that"
    )
    found.append(Margin("carry margin", Rank.PEOPLE, (facts.cue.level_mps2 - least) / 5.0, words))
    tilt = checks.self_start_tilt(facts).numbers.get("spare_deg")
    if tilt is not None:
        spare = math.radians(tilt) - TILT_OVER_CARRY_RAD
        words = f"held still {tilt:.0f}° above its carrying pose it would start by itself; 10° is the least"
        found.append(Margin("self-start tilt", Rank.PEOPLE, spare / math.radians(30.0), words))
    return found


def _trigger(facts: Facts) -> list[Margin]:
    numbers = checks.trigger_margin(facts).numbers
    if not numbers:
        return []
    share = 1.0 if facts.in_hand else MOST_OF_PEAK
    times = 1.0 / 0.7 if facts.in_hand else TIMES_DWELL
    peak, above = numbers["peak_mps2"], numbers["above_s"]
    what = "shake" if facts.in_hand else "pull of the line" if facts.by_line else "weak throw"
    high = f"a {what} peaks at {peak:.0f} m/s²; a level above {share * peak:.1f} m/s² may miss it"
    long = f"a {what} is above the level for {above:.2f} s; a dwell above {above / times:.2f} s may miss it"
    return [
        Margin("level within reach", Rank.AIRCRAFT, (share * peak - facts.cue.level_mps2) / 10.0, high),
        Margin("dwell within reach", Rank.AIRCRAFT, (above - times * facts.cue.dwell_s) / 0.1, long),
    ]


def _aeroplane(facts: Facts) -> list[Margin]:
    power, plan = facts.power, facts.plan
    reserve = checks.roll_reserve(facts).numbers["reserve"]
    words = f"at a slow release the surfaces roll {reserve:.1f} times as hard as the torque; 2 is wanted"
    found = [Margin("roll reserve", Rank.AIRCRAFT, (reserve - LEAST_ROLL) / 2.0, words)]
    volts = min(
        power.full_volts_v - power.floor_volts_v - LEAST_OVER_FLOOR_V,
        power.full_volts_v - LEAST_CELL_V * power.cells,
    )
    words = f"the pack sags to {power.full_volts_v:.1f} V at this throttle"
    found.append(Margin("volts", Rank.AIRCRAFT, volts / 2.0, words))
    if power.thrust_to_weight < STEEP_THRUST:
        steep = (STEEP_RAD - plan.climb_pitch_rad) / math.radians(10.0)
        words = f"a thrust of {power.thrust_to_weight:.2f} of the weight is too little for more than 15°"
        found.append(Margin("climb pitch", Rank.AIRCRAFT, steep, words))
    return found


def on_paper(facts: Facts, carry: Carry) -> tuple[Margin, ...]:
    """Return the limits that need no flight."""
    return (*_people(facts, carry), *_trigger(facts), *_aeroplane(facts))


def as_flown(table: NDArray[np.void], facts: Facts, over_m: NDArray[np.float64] | None) -> tuple[Margin, ...]:
    """Return the limits that a table of launches shows.

    ``over_m``: least height of each launch over what is wanted above the obstacles, `FAR_M` or more for a
    launch that passes none; None without obstacles.
    """
    count = len(table)
    missed = float(np.mean(table["outcome"] == Outcome.NO_START))
    words = f"{100.0 * missed:.1f} % of the starts would be missed; 2 % is the most"
    found = [Margin("missed starts", Rank.AIRCRAFT, (MOST_MISSED - missed) / 0.1, words)]
    risky = at_risk(table)
    share = float(np.mean(risky))
    words = f"a hand is at risk in {int(np.sum(risky)):,} of {count:,} launches of the model"
    found.append(Margin("hand at risk", Rank.PEOPLE, (MOST_AT_RISK - share) / 0.01, words))
    if facts.style == "throw-started" and facts.power.pusher:
        both = table[(table["clear_s"] >= 0.0) & (table["first_spin_s"] >= 0.0)]
        slack = NEVER_S
        if len(both):
            slack = float(np.quantile(both["first_spin_s"] - both["clear_s"], SLACK_QUANTILE))
        words = (
            f"one launch of 100 has {slack:.2f} s between a clear hand and the first turn; 0.10 s is wanted"
        )
        spare = (slack - clear.CLEAR_EXTRA_S) / 0.5
        found.append(Margin("clear as flown", Rank.PEOPLE, spare, words))
    return (*found, *([] if over_m is None else [_over_obstacles(over_m)]))


def _over_obstacles(over_m: NDArray[np.float64]) -> Margin:
    passed = over_m[over_m < FAR_M]
    spare_m = float(np.quantile(passed, OBSTACLE_QUANTILE)) if len(passed) else 0.0
    low = "too low" if spare_m < 0.0 else "to spare"
    words = (
        f"one launch of twenty is {abs(spare_m):.1f} m {low} over the obstacles, of which 5 m and a tenth of "
        "the distance are wanted"
    )
    return Margin("obstacles", Rank.OBSTACLES, spare_m / 10.0, words)

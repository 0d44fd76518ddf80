"""The race: speed that drains after release against thrust that arrives. The combined check.

Every setting of a setup can be usual for some launch style and the set still lose the race, because
start wait, throttle rise, climb pitch, throw, wind and stall speed act together.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.flight.verdict import DIP_M
from overarm.odds.facts import Facts, detection_lead_s
from overarm.odds.finding import Finding, Word

BUDGET_RATIO = 1.05
# Path of the climb below the pitch held; common practice, no source.
CLIMB_BELOW_PITCH_RAD = math.radians(3.0)
SLOWEST_THROW_STARTED_PER_S = 0.60
WIND_SD_MPS = 0.5


class Race(NamedTuple):
    """The numbers of the race; speeds in m/s, times in s after release (negative: before)."""

    budget_mps: float
    budget_sd_mps: float
    height_worth_mps: float
    need: float  # thrust needed over weight
    first_thrust_s: float
    match_s: float  # thrust covers drag and climb; infinite if it never does
    loss_mps: float
    rise_that_wins_per_s: float  # infinite if no rise does
    unsure_mps: float  # one standard deviation of the budget, with what we do not know of the throw


def lost_share(exponent: float) -> float:
    """Return the share of its rise for which thrust is as good as absent: ``k/(k+1)`` for s^k."""
    return exponent / (exponent + 1.0)


def throttle_needed(ceiling: float, need: float, thrust_to_weight: float, exponent: float) -> float:
    """Return the throttle whose thrust over weight is ``need``: ``ceiling (n/R)^(1/k)``; above it if none."""
    return float(ceiling * (need / thrust_to_weight) ** (1.0 / exponent))


def latest_thrust_s(
    budget_mps: NDArray[np.float64] | float, need: float, arriving_s: float, exponent: float
) -> NDArray[np.float64] | float:
    """Return when, after release, thrust has to begin so that the speed lost is just the budget [s].

    Parameters: speed budget [m/s]; thrust needed over weight; rise until thrust matches [s]; exponent of
    thrust over throttle. Equation: ``B/(g n) - k/(k+1) tau``, from ``B = g n (t0 + k/(k+1) tau)``.
    """
    return budget_mps / (GRAVITY_MPS2 * need) - lost_share(exponent) * arriving_s


def _loss_mps(need: float, first_s: float, arriving_s: float, exponent: float) -> float:
    """Return the speed lost from release until thrust matches.

    Equation: ``g n [t0 + k/(k+1) tau]`` for t0 >= 0; for thrust that has begun before release the
    same integral of ``g n (1 - ((t - t0)/tau)^k)`` from release on.
    """
    if first_s >= 0.0:
        seconds = first_s + lost_share(exponent) * arriving_s
    else:
        begun = min(1.0, -first_s / arriving_s)
        seconds = arriving_s * ((1.0 - begun) - (1.0 - begun ** (exponent + 1.0)) / (exponent + 1.0))
    return GRAVITY_MPS2 * need * seconds


def run_race(facts: Facts) -> Race:
    """Return the numbers of the race in closed form.

    Equations, with n = 1/E + sin(climb), R = thrust over weight at the launch ceiling, k the exponent
    of thrust over throttle: throttle needed ``s* = ceiling (n/R)^(1/k)``; thrust begins
    ``t0 = wait + start delay - (release - detection)``; it matches at ``t0 + s*/rise``; speed lost
    ``g n [t0 + k/(k+1) s*/rise]``; budget ``B = v + headwind - 1.05 Vs``. Height is worth
    ``g (h - 0.7 m)/V`` once. The budget is unsure by the scatter of the throw, by how far off its mean
    may be, and by 0.5 m/s of wind, as independent parts.
    Source: own derivation from ``m dV/dt = T - D - W sin(climb)``; climb 3 degrees below the pitch
    held and 1.05 Vs are common practice, no source.
    """
    plan, power, throw, airframe = facts.plan, facts.power, facts.throw, facts.airframe
    climb_rad = max(0.0, plan.climb_pitch_rad - CLIMB_BELOW_PITCH_RAD)
    need = 1.0 / airframe.glide_ratio + math.sin(climb_rad)
    airspeed = throw.speed_mps + throw.headwind_mps
    budget = airspeed - BUDGET_RATIO * airframe.stall_speed_mps
    worth = GRAVITY_MPS2 * max(0.0, throw.height_m - DIP_M) / max(airspeed, 1.0)
    first_s = plan.start_wait_s + power.start_delay_s - detection_lead_s(facts)
    spread = math.hypot(throw.speed_sd_mps, WIND_SD_MPS)
    unsure = math.hypot(spread, throw.speed_spread_mps)
    k = power.thrust_exponent
    if need > power.thrust_to_weight:
        return Race(budget, spread, worth, need, first_s, math.inf, math.inf, math.inf, unsure)
    throttle = throttle_needed(plan.launch_ceiling, need, power.thrust_to_weight, k)
    arriving_s = throttle / plan.rise_per_s
    loss = _loss_mps(need, first_s, arriving_s, k)
    left_s = budget / (GRAVITY_MPS2 * need) - max(first_s, 0.0)
    wins = lost_share(k) * throttle / left_s if left_s > 0.0 else math.inf
    return Race(budget, spread, worth, need, first_s, first_s + arriving_s, loss, wins, unsure)


def _word(facts: Facts, race: Race) -> Word:
    if race.loss_mps > race.budget_mps + race.height_worth_mps + race.budget_sd_mps:
        return "stop"
    slow = facts.style == "throw-started" and facts.plan.rise_per_s < SLOWEST_THROW_STARTED_PER_S
    # Without a loss nothing is raced: full thrust was felt before the throw.
    scant = race.loss_mps > 0.0 and race.budget_mps - race.loss_mps <= race.unsure_mps
    return "watch" if scant or slow else "good"


def _cure(facts: Facts, race: Race) -> str:
    if facts.in_hand:
        return "Hold it until the full pull is felt."
    wins = race.rise_that_wins_per_s
    if wins <= 3.0:
        return f"A rise of {math.ceil(20.0 * wins) * 5} %/s or more would pay for it."
    return (
        "No throttle rise alone would pay for it: more headwind, a harder throw, less climb pitch or a "
        "lighter model would; a shorter wait is never the cure."
    )


def _sentence(facts: Facts, race: Race, word: Word) -> str:
    rise = f"{100.0 * facts.plan.rise_per_s:.0f} %/s"
    if math.isinf(race.loss_mps):
        return (
            f"Full thrust is {facts.power.thrust_to_weight:.2f} of the weight, but holding this climb needs "
            f"{race.need:.2f}: thrust never covers drag and climb. Hold less pitch."
        )
    if race.loss_mps == 0.0:
        return "Full thrust is there before release: no speed is lost."
    said = (
        f"Thrust covers drag and climb {race.match_s:.1f} s after release; until then the model loses "
        f"{race.loss_mps:.1f} m/s of a budget of {race.budget_mps:.1f} m/s."
    )
    left = race.budget_mps - race.loss_mps
    if word == "good":
        return f"{said} {left:.1f} m/s are left."
    slow = facts.style == "throw-started" and facts.plan.rise_per_s < SLOWEST_THROW_STARTED_PER_S
    trap = (
        f" A rise of {rise} belongs to spin-in-hand; here the throw comes first and the thrust late."
        if slow
        else ""
    )
    if left >= 0.0:
        scant = (
            f" Only {left:.1f} m/s are left; throw and wind differ by {race.unsure_mps:.1f} m/s "
            "(one standard deviation)."
            if left <= race.unsure_mps
            else ""
        )
        return f"{said}{trap}{scant}"
    short = " Height and a better throw could still save it." if word == "watch" else ""
    return f"{said}{trap}{short} {_cure(facts, race)}"


def race_finding(facts: Facts) -> Finding:
    """Return the finding of the race.

    Good: more than one standard deviation of the budget is left. Stop: not even all height and a throw
    one standard deviation better than usual pay for it. Watch in between, and for a throttle rise below
    60 %/s when the throw starts the motor.
    """
    race = run_race(facts)
    word = _word(facts, race)
    numbers = {name: value for name, value in race._asdict().items() if math.isfinite(value)}
    return Finding("the race", word, _sentence(facts, race, word), numbers, combined=True)

"""Judge a finished launch: the first outcome that applies, people first.

The order is that of the numbers in `overarm.flight.outcomes.Outcome`. *Hand at risk*: the disc
turned before it was past the hand (or, spun in the hand on purpose, a pusher's disc passed the hand
while turning). *False start*: the cue fired before the person began. *Stalled*: it came down after
at least a quarter of a second beyond the stall.
"""

from __future__ import annotations

from typing import Any

from overarm.flight.autopilot import NEVER
from overarm.flight.held import TURNING_TIP_MPS
from overarm.flight.outcomes import Outcome
from overarm.flight.record import STYLE_LINE_LAUNCHED, STYLE_SPIN_IN_HAND
from overarm.flight.watch import (
    END_GROUND,
    END_HANDED_OVER,
    END_NUMBERS,
    END_POWER,
    END_ROLLED,
    END_STRUCK,
    ROLLED_OVER_RAD,
)
from overarm.jit import scalar

CLEAN = int(Outcome.CLEAN)
FAILED_NUMERICALLY = int(Outcome.FAILED_NUMERICALLY)
HAND_AT_RISK = int(Outcome.HAND_AT_RISK)
FALSE_START = int(Outcome.FALSE_START)
HOOK_STUCK = int(Outcome.HOOK_STUCK)
NO_START = int(Outcome.NO_START)
POWER_LOST = int(Outcome.POWER_LOST)
ROLLED_OVER = int(Outcome.ROLLED_OVER)
STALLED = int(Outcome.STALLED)
STRUCK_OBSTACLE = int(Outcome.STRUCK_OBSTACLE)
GROUNDED = int(Outcome.GROUNDED)
MUSHED = int(Outcome.MUSHED)
DIPPED = int(Outcome.DIPPED)
OVER_HEIGHT = int(Outcome.OVER_HEIGHT)

DIP_M = 0.7
LONG_STALL_S = 0.25
STUCK_SLACK_S = 0.5


@scalar
def hand_at_risk(rec: Any, out: Any) -> bool:
    """Return True if a turning disc met a hand that should have been gone."""
    if rec.logic.style == STYLE_LINE_LAUNCHED:
        return False
    if rec.logic.style == STYLE_SPIN_IN_HAND:
        return rec.propeller.behind > 0.5 and out.reach_tip_mps > TURNING_TIP_MPS
    return out.reach_tip_mps > TURNING_TIP_MPS


@scalar
def came_down(out: Any, end: float) -> int:
    """Return why a launch that did not reach handover came down or stayed low."""
    if end == END_ROLLED or out.max_bank_rad > ROLLED_OVER_RAD:
        return ROLLED_OVER
    if out.stall_s >= LONG_STALL_S:
        return STALLED
    if end == END_STRUCK:
        return STRUCK_OBSTACLE
    if end == END_GROUND:
        return GROUNDED
    return MUSHED


@scalar
def handed_over(rec: Any, out: Any) -> int:
    """Return what a launch that reached handover met on its way or has ahead."""
    if out.obstacle_gap_m < 0.0:
        return STRUCK_OBSTACLE
    if out.low_point_m < DIP_M:
        return DIPPED
    if out.top_height_m > rec.logic.legal_ceiling_m:
        return OVER_HEIGHT
    return CLEAN


@scalar
def judge(rec: Any, out: Any, end: float, slack_s: float, gave_up: bool) -> int:
    """Return the outcome number of a launch that ended with ``end``."""
    if end == END_NUMBERS:
        return FAILED_NUMERICALLY
    if hand_at_risk(rec, out):
        return HAND_AT_RISK
    if out.detection_s != NEVER and out.detection_s < rec.hand.carry_s:
        return FALSE_START
    if slack_s > STUCK_SLACK_S:
        return HOOK_STUCK
    if out.detection_s == NEVER:
        return NO_START
    if end == END_POWER or out.lowest_volts_v < rec.pack.floor_volts:
        return POWER_LOST
    if end != END_HANDED_OVER or gave_up:
        return came_down(out, end)
    return handed_over(rec, out)


@scalar
def verdict(rec: Any, out: Any, end: float, slack_s: float, gave_up: bool) -> None:
    """Write the outcome."""
    out.outcome = judge(rec, out, end, slack_s, gave_up)

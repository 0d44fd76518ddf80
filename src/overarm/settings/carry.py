"""How often the model starts while it is carried: two minutes of walking, many carries at once.

Each carry has its own pose, steps, tilt and bias. The cue of a step is a half sine above what the pose
feels at rest; it fires when it stays above the level for the dwell, or at rest if the pose alone does.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

CARRY_S = 120.0
CARRIES = 20_000
SEED = 1855
STEP_LOG_SD = 0.20  # of the hardest step of a carry about the usual one; own estimate
NOD_SD_RAD = math.radians(3.0)  # of the pose within a carry; own estimate


class Carry(NamedTuple):
    """What a cue feels while the model is carried, with its spreads (one standard deviation)."""

    level_mps2: float
    dwell_s: float
    raw: bool  # it feels gravity along the body; else tilt is taken out
    filter_hz: float
    pitch_rad: float
    pitch_sd_rad: float
    pitch_high_rad: float  # of the pose window; a cue above it does not fire
    step_mps2: float
    step_hz: float
    tilt_rad: float
    tilt_sd_rad: float
    bias_mps2: float
    bias_sd_mps2: float


def time_above_s(carry: Carry, still_mps2: object, step_mps2: object) -> object:
    """Return how long one step keeps the cue above its level, for arrays of pose and step.

    Equations: ``acos(x)/(pi f)`` with ``x = (L - still)/A``; the whole time (infinite) for x <= -1,
    none for x >= 1. The filter takes ``1/sqrt(1 + (f/fc)^2)`` of A. Source: a sine above a level.
    """
    gain = 1.0 / math.hypot(1.0, carry.step_hz / carry.filter_hz) if carry.filter_hz > 0.0 else 1.0
    size = np.maximum(gain * np.asarray(step_mps2, dtype=float), 1e-9)
    share = (carry.level_mps2 - np.asarray(still_mps2, dtype=float)) / size
    above = np.arccos(np.clip(share, -1.0, 1.0)) / (math.pi * carry.step_hz)
    return np.where(share <= -1.0, np.inf, above)


def false_start_share(carry: Carry) -> float:
    """Return the share of two-minute carries in which the cue fires by itself [0..1].

    Over 20 000 fixed draws of pose, tilt, bias and hardest step; the most nose-up moment of a carry is
    ``sqrt(2 ln n)`` standard deviations of the nod above its pose, n its number of steps.
    Source: largest of n normal numbers, e.g. S. Coles (2001), An Introduction to Statistical Modeling of
    Extreme Values, chapter 3; sizes of step and nod: own estimates.
    """
    draws = np.random.default_rng(SEED).standard_normal((4, CARRIES))
    nods = math.sqrt(2.0 * math.log(max(2.0, CARRY_S * carry.step_hz)))
    pitch = carry.pitch_rad + carry.pitch_sd_rad * draws[0] + nods * NOD_SD_RAD
    tilt = carry.tilt_rad + carry.tilt_sd_rad * draws[1]
    bias = carry.bias_mps2 + carry.bias_sd_mps2 * draws[2]
    still = (GRAVITY_MPS2 * np.sin(pitch + tilt) if carry.raw else 0.0) + bias
    step = carry.step_mps2 * np.exp(STEP_LOG_SD * draws[3])
    fires = np.asarray(time_above_s(carry, still, step)) >= carry.dwell_s
    return float(np.mean(fires & (pitch <= carry.pitch_high_rad)))


def carry_of(setup: Setup) -> Carry:
    """Return what the cue of a setup feels while the model is carried as its thrower card says."""
    from overarm.flight.groups import board_group, hand_group, trigger_group

    hand, board, trigger, thrower = hand_group(setup), board_group(setup), trigger_group(setup), setup.thrower
    cards = setup.airframe.board
    scatter = thrower.carry_pitch_scatter_rad.value if thrower is not None else 0.0
    unsure = thrower.carry_pitch_rad.spread if thrower is not None else 0.0
    return Carry(
        level_mps2=trigger.level_mps2,
        dwell_s=trigger.dwell_s,
        raw=trigger.gravity_free < 0.5,
        filter_hz=board.filter_hz,
        pitch_rad=hand.carry_pitch_rad,
        pitch_sd_rad=math.hypot(scatter, unsure),
        pitch_high_rad=trigger.pitch_high_rad,
        step_mps2=hand.step_mps2,
        step_hz=hand.step_hz,
        tilt_rad=board.tilt_rad,
        tilt_sd_rad=cards.tilt_rad.spread,
        bias_mps2=board.bias_mps2,
        bias_sd_mps2=cards.bias_mps2.spread,
    )

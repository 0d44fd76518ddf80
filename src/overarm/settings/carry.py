"""How often the model starts while it is carried: two minutes of walking, many carries at once.

Each carry has its own pose, steps, tilt and bias. The cue of a step is a half sine above what the pose
feels at rest; it fires when it stays above the level for the dwell, or at rest if the pose alone does.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Numbers = float | Floats

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
    pitch_high_rad: float  # of the pose window; in a pose above it the cue does not fire
    step_mps2: float
    step_hz: float
    tilt_rad: float
    tilt_sd_rad: float
    bias_mps2: float
    bias_sd_mps2: float


class Walk(NamedTuple):
    """A walk as the cue feels it: a pose, its nod, and a step; numbers or arrays of many walks."""

    pitch_rad: Numbers
    tilt_rad: Numbers
    bias_mps2: Numbers
    step_mps2: Numbers
    up_rad: float  # how far above its pose the nose comes at the moment of the step
    down_rad: float  # how far below its pose it comes at some other


class Felt(NamedTuple):
    """What the hardest step of a walk does to the cue."""

    peak_mps2: Floats  # the filter taken off, as the cue reads it
    above_s: Floats  # time above the level; infinite if the pose alone is
    fires: Bools


def nod_rad(carry: Carry) -> float:
    """Return how far the nose comes above and below its pose in two minutes [rad].

    Equation: ``sqrt(2 ln n)`` standard deviations of the nod, n the number of steps.
    Source: largest of n normal numbers, e.g. S. Coles (2001), An Introduction to Statistical Modeling of
    Extreme Values, chapter 3; size of the nod: own estimate.
    """
    return math.sqrt(2.0 * math.log(max(2.0, CARRY_S * carry.step_hz))) * NOD_SD_RAD


def read_step_mps2(carry: Carry, step_mps2: Numbers) -> Floats:
    """Return what is left of a step behind the filter: ``A/sqrt(1 + (f/fc)^2)``."""
    gain = 1.0 / math.hypot(1.0, carry.step_hz / carry.filter_hz) if carry.filter_hz > 0.0 else 1.0
    return gain * np.asarray(step_mps2, dtype=float)


def time_above_s(carry: Carry, still_mps2: Numbers, step_mps2: Numbers) -> Floats:
    """Return how long one step keeps the cue above its level, for arrays of pose and step.

    Equations: ``acos(x)/(pi f)`` with ``x = (L - still)/A``; the whole time (infinite) for x <= -1,
    none for x >= 1. A is what the filter leaves of the step. Source: a sine above a level.
    """
    size = np.maximum(read_step_mps2(carry, step_mps2), 1e-9)
    share = (carry.level_mps2 - np.asarray(still_mps2, dtype=float)) / size
    above = np.arccos(np.clip(share, -1.0, 1.0)) / (math.pi * carry.step_hz)
    return np.where(share <= -1.0, np.inf, above)


def felt(carry: Carry, walk: Walk) -> Felt:
    """Return what a walk does to the cue; the one answer to whether a step fires it.

    The pose is the most nose-up one that the walk comes to and the pose window admits: a window keeps a
    step from firing only in poses above it, and a nose that nods comes back below. A still time is no help
    here: it is over after one pause on the way, and the next step finds the cue armed.

    Equation: ``g sin(pose + tilt) + bias`` at rest, a sine of the step on top (`time_above_s`).
    """
    top = np.minimum(np.asarray(walk.pitch_rad) + walk.up_rad, carry.pitch_high_rad)
    admitted = np.asarray(walk.pitch_rad) - walk.down_rad <= carry.pitch_high_rad
    still = (GRAVITY_MPS2 * np.sin(top + walk.tilt_rad) if carry.raw else 0.0) + walk.bias_mps2
    above = time_above_s(carry, still, walk.step_mps2)
    return Felt(still + read_step_mps2(carry, walk.step_mps2), above, (above >= carry.dwell_s) & admitted)


def even_step(carry: Carry) -> Felt:
    """Return what one even step does to the cue, in the pose of the card and with its middle values."""
    walk = Walk(carry.pitch_rad, carry.tilt_rad, carry.bias_mps2, carry.step_mps2, 0.0, nod_rad(carry))
    return felt(carry, walk)


def false_start_share(carry: Carry) -> float:
    """Return the share of two-minute carries in which the cue fires by itself [0..1].

    Over 20 000 fixed draws of pose, tilt, bias and hardest step, that step at the most nose-up moment.
    """
    draws = np.random.default_rng(SEED).standard_normal((4, CARRIES))
    nod = nod_rad(carry)
    walk = Walk(
        carry.pitch_rad + carry.pitch_sd_rad * draws[0],
        carry.tilt_rad + carry.tilt_sd_rad * draws[1],
        carry.bias_mps2 + carry.bias_sd_mps2 * draws[2],
        carry.step_mps2 * np.exp(STEP_LOG_SD * draws[3]),
        nod,
        nod,
    )
    return float(np.mean(felt(carry, walk).fires))


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

"""What the room listens with: the trigger and the filter of a setup, or the usual ones of the trade."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.physics.hand import stroke_peak
from overarm.physics.sensor import Board
from overarm.physics.trigger import Trigger
from overarm.recordings.cue import USUAL_BOARD

if TYPE_CHECKING:
    from overarm.describe.cards import Setup

# Settings to begin with for 0.8 to 2 kg; common practice, no source.
USUAL_LEVEL_MPS2, USUAL_DWELL_S, USUAL_FILTER_HZ = 8.0, 0.10, 10.0
USUAL_CARRY_RAD, USUAL_CARRY_SD_RAD = math.radians(5.0), math.radians(6.0)  # own estimate
USUAL_BIAS_SD_MPS2, USUAL_TILT_SD_RAD = 0.3, math.radians(3.0)  # of a board that nobody measured
_TURN = 2.0 * math.pi

Starts = Literal["throw", "shake", "either"]


class Listening(NamedTuple):
    """The trigger of the room, and what a setup says about board and person; SI units."""

    name: str
    setup_hash: str  # "" without a setup
    trigger: Trigger
    filter_hz: float
    board: Board
    starts: Starts  # the gesture that has to start it
    tilt_rad: float
    tilt_sd_rad: float
    bias_mps2: float
    bias_sd_mps2: float
    carry_rad: float  # the most nose-up pose to expect, two standard deviations up
    carry_low_rad: float
    wind_up: tuple[float, float] | None  # m/s2 that the draw-back of the arm makes, from the card
    throw: tuple[float, float] | None  # peaks, two standard deviations either way
    shake: tuple[float, float] | None

    @property
    def raw(self) -> bool:
        """Return whether the cue feels tilt."""
        return self.trigger.gravity_free < 0.5

    @property
    def at_rest_mps2(self) -> float:
        """Return what the cue reads at rest in the most nose-up pose [m/s2]."""
        tilt = (
            GRAVITY_MPS2 * math.sin(min(self.carry_rad + self.tilt_rad, 0.5 * math.pi)) if self.raw else 0.0
        )
        return tilt + self.bias_mps2


def usual() -> Listening:
    """Return what to listen with if there is no setup."""
    trigger = Trigger(
        USUAL_LEVEL_MPS2, USUAL_DWELL_S, 1.0, 0.0, 0.0, 2.0, -_TURN, _TURN, _TURN, 0.0
    )  # fmt: skip
    return Listening(
        name="no setup: usual settings of the trade", setup_hash="", trigger=trigger,
        filter_hz=USUAL_FILTER_HZ, board=USUAL_BOARD, starts="either", tilt_rad=0.0,
        tilt_sd_rad=USUAL_TILT_SD_RAD, bias_mps2=0.0,
        bias_sd_mps2=USUAL_BIAS_SD_MPS2, carry_rad=USUAL_CARRY_RAD + 2.0 * USUAL_CARRY_SD_RAD,
        carry_low_rad=USUAL_CARRY_RAD - 2.0 * USUAL_CARRY_SD_RAD, wind_up=None, throw=None, shake=None,
    )  # fmt: skip


def listening_of(setup: Setup) -> Listening:
    """Return what a setup listens with."""
    from overarm.flight.groups import board_group, hand_group, trigger_group

    board, hand, thrower = board_group(setup), hand_group(setup), setup.thrower
    cards = setup.airframe.board
    sd = math.radians(2.0)
    if thrower is not None:
        sd = math.hypot(thrower.carry_pitch_scatter_rad.value, thrower.carry_pitch_rad.spread)
    tilt = GRAVITY_MPS2 * math.sin(hand.carry_pitch_rad + board.tilt_rad) + board.bias_mps2
    wind_up = throw = shake = None
    if thrower is not None:
        speed, scatter = thrower.release_speed_mps, thrower.release_speed_scatter_mps.value
        off = 2.0 * math.hypot(scatter, speed.spread)
        throw = (
            stroke_peak(max(0.5, speed.value - off), hand.stroke_m),
            stroke_peak(speed.value + off, hand.stroke_m),
        )
        if hand.windup_m > 0.0:
            pull = 0.5 * hand.windup_m * (math.pi / hand.windup_s) ** 2
            wind_up = (0.5 * pull + tilt, 1.5 * pull + tilt)
    if setup.style == "spin-in-hand" and thrower is not None:
        kept = 1.0 / math.hypot(1.0, hand.shake_hz / board.filter_hz) if board.filter_hz > 0.0 else 1.0
        size = kept * hand.shake_m * (2.0 * math.pi * hand.shake_hz) ** 2
        travel, rate = thrower.shake_travel_m, thrower.shake_rate_hz
        share = 2.0 * math.hypot(travel.spread / travel.value, 2.0 * rate.spread / rate.value)
        shake = (size * max(0.2, 1.0 - share) + tilt, size * (1.0 + share) + tilt)
    return Listening(
        name=setup.name, setup_hash=setup.hash(), trigger=trigger_group(setup), filter_hz=board.filter_hz,
        board=board, starts="shake" if setup.style == "spin-in-hand" else "throw", tilt_rad=board.tilt_rad,
        tilt_sd_rad=cards.tilt_rad.spread, bias_mps2=board.bias_mps2, bias_sd_mps2=cards.bias_mps2.spread,
        carry_rad=hand.carry_pitch_rad + 2.0 * sd, carry_low_rad=hand.carry_pitch_rad - 2.0 * sd,
        wind_up=wind_up, throw=throw, shake=shake,
    )  # fmt: skip

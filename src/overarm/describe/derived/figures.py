"""The derived figures of a setup, as one frozen value."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.propulsion import Match
from overarm.describe.derived.reach import HandReach
from overarm.physics.motor import Motor, Pack
from overarm.physics.propeller import Propeller
from overarm.physics.rigid_body import Mass
from overarm.physics.surfaces import Surfaces
from overarm.physics.wing import Wing

# Where two throttles say nothing about it: thrust goes with this power of the throttle.
USUAL_EXPONENT = 1.75
LEAST_EXPONENT, MOST_EXPONENT = 0.5, 4.0


def thrust_exponent(one: Match, other: Match) -> float:
    """Return the power k of the throttle with which thrust grows from one match to another.

    Equation: ``k = ln(T1/T2)/ln(s1/s2)``. Without thrust, at equal throttles, or outside 0.5 to 4 (the
    drive is saturated or hardly turns), the usual 1.75. Source: common practice, no source.
    """
    if min(one.thrust_n, other.thrust_n, one.throttle, other.throttle) <= 0.0:
        return USUAL_EXPONENT
    apart = math.log(one.throttle / other.throttle)
    if abs(apart) < 1e-6:
        return USUAL_EXPONENT
    exponent = math.log(one.thrust_n / other.thrust_n) / apart
    return exponent if LEAST_EXPONENT <= exponent <= MOST_EXPONENT else USUAL_EXPONENT


@dataclass(frozen=True, slots=True, eq=False)
class Derived:
    """What follows from the cards at their central values.

    ``wing.lift_max`` is the peak at zero elevator; ``lift_max`` the trimmed one that sets the stall
    speed. ``full`` and ``half`` are standing matches at the launch ceiling and at half throttle.
    ``roll_reserve`` is roll authority over shaft torque at 0.7, 1.0 and 1.2 times the stall speed,
    after the elevon travel that pitch needs; ``roll_authority_ratio`` the same with the whole travel.
    ``pitch_reserve`` is pitch authority over the thrust line's moment at the stall speed (99 when
    there is no moment to speak of), ``thrust_line_share`` its inverse. ``hand_reach`` is None where
    no hand is near a disc that passes it; ``self_start_tilt_rad`` is None where no tilt starts it.
    """

    wing: Wing
    mass: Mass
    surfaces: Surfaces
    propeller: Propeller
    propeller_table: npt.NDArray[np.float64]  # (2, 65), thrust and torque over the advance angle
    motor: Motor
    pack: Pack
    density_kgpm3: float
    lift_max: float
    stall_speed_mps: float
    stall_elevator_rad: float
    trim_elevator_rad: float  # at 1.3 times the stall speed
    static_margin_share: float
    best_glide_ratio: float
    best_glide_speed_mps: float
    reynolds: float
    full: Match
    half: Match
    thrust_to_weight: float
    spool_time_s: float
    roll_reserve: dict[float, float]
    roll_authority_ratio: dict[float, float]
    pitch_reserve: float
    thrust_line_share: float
    hand_reach: HandReach | None
    self_start_tilt_rad: float | None
    blade_pass_full_hz: float
    blade_pass_half_hz: float
    rpm_at_tip_25: float
    rpm_at_tip_60: float
    notes: tuple[str, ...]
    sources: tuple[str, ...]

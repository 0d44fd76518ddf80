"""How much roll and pitch authority is left against the propeller at low speed."""

from __future__ import annotations

from typing import NamedTuple

from overarm.describe.derived.aerodynamics import Aerodynamics, trim_elevator
from overarm.describe.derived.propulsion import Match
from overarm.physics.propeller import Propeller
from overarm.physics.surfaces import Surfaces

SPEED_RATIOS = (0.7, 1.0, 1.2)
MOST_RESERVE = 99.0


class Authority(NamedTuple):
    """Ratios of authority to what the propeller asks; see ``Derived`` for their meaning."""

    roll_reserve: dict[float, float]
    roll_whole_travel: dict[float, float]
    pitch_reserve: float
    thrust_line_share: float


def _over(authority_nm: float, load_nm: float) -> float:
    if abs(load_nm) * MOST_RESERVE <= abs(authority_nm):
        return MOST_RESERVE
    return authority_nm / abs(load_nm)


def authority(
    found: Aerodynamics, surfaces: Surfaces, propeller: Propeller, full: Match, density_kgpm3: float
) -> Authority:
    """Return roll and pitch reserve at full throttle.

    Equations: roll ``q S b Cl_a a / Q`` with a the aileron travel, for elevons less what trim takes;
    pitch ``q S c |Cm_e| e / (T z_T)`` at the stall speed, Cm_e about the balance point.
    Source: statics; the slipstream over the surfaces is left out.
    """
    wing = found.wing
    roll_reserve, whole = {}, {}
    for ratio in SPEED_RATIOS:
        speed_mps = ratio * found.stall_speed_mps
        moment_nm = 0.5 * density_kgpm3 * speed_mps**2 * wing.area_m2 * wing.span_m * wing.roll_aileron
        travel_rad = surfaces.roll_travel_rad
        whole[ratio] = _over(moment_nm * travel_rad, full.torque_nm)
        if surfaces.mixed > 0.5:
            needed = trim_elevator(wing, found.lift_max / max(1.0, ratio) ** 2)
            travel_rad = max(0.0, surfaces.pitch_travel_rad - abs(needed))
        roll_reserve[ratio] = _over(moment_nm * travel_rad, full.torque_nm)
    arm = (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m
    pitch_slope = abs(wing.moment_elevator - wing.lift_elevator * arm)
    pressure_n = 0.5 * density_kgpm3 * found.stall_speed_mps**2 * wing.area_m2
    pitch_nm = pressure_n * wing.chord_m * pitch_slope * surfaces.pitch_travel_rad
    load_nm = full.thrust_n * propeller.height_m
    return Authority(roll_reserve, whole, _over(pitch_nm, load_nm), abs(load_nm) / pitch_nm)

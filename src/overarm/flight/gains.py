"""Gains of the attitude loops from the aeroplane itself, as a careful builder would tune them.

The rate loop is given three times the bandwidth of the angle loop at 1.2 times the stall speed:
gain = 3 response / (control power), control power = dynamic pressure x area x length x derivative /
inertia. Source: cascaded loops by bandwidth separation, Beard and McLain, *Small Unmanned Aircraft*
(2012), section 6.1; the factor 3 and the integral are our own estimates.
"""

from __future__ import annotations

from overarm.physics.control import Control
from overarm.physics.rigid_body import Mass
from overarm.physics.surfaces import Surfaces
from overarm.physics.wing import Wing

BANDWIDTH_RATIO = 3.0
DESIGN_SPEED_RATIO = 1.2
LARGEST_GAIN_S = 1.0
RATE_LIMIT_RADPS = 2.0
INTEGRAL_PER_S = 1.5


def tuned_control(
    wing: Wing,
    mass: Mass,
    surfaces: Surfaces,
    stall_speed_mps: float,
    density_kgpm3: float,
    responses_per_s: tuple[float, float],
    integral_share: float,
    habits: tuple[bool, bool],
) -> Control:
    """Return the gains for wanted responses (pitch, roll) [1/s].

    ``integral_share`` is the most that an integral may hold, as a share of the travel; ``habits``
    say whether the integrals run while the model is held, and whether the attitude is speed-aided.
    """
    speed = DESIGN_SPEED_RATIO * stall_speed_mps
    load = 0.5 * density_kgpm3 * speed * speed * wing.area_m2
    arm = (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m
    pitch_power = load * wing.chord_m * abs(wing.moment_elevator - wing.lift_elevator * arm) / mass.iyy_kg_m2
    roll_power = load * wing.span_m * abs(wing.roll_aileron) / mass.ixx_kg_m2
    pitch, roll = responses_per_s
    return Control(
        pitch_response_per_s=pitch,
        pitch_gain_s=min(LARGEST_GAIN_S, BANDWIDTH_RATIO * pitch / pitch_power),
        pitch_integral_per_s=INTEGRAL_PER_S,
        roll_response_per_s=roll,
        roll_gain_s=min(LARGEST_GAIN_S, BANDWIDTH_RATIO * roll / roll_power),
        roll_integral_per_s=INTEGRAL_PER_S,
        integral_limit_rad=integral_share * surfaces.pitch_travel_rad,
        rate_limit_radps=RATE_LIMIT_RADPS,
        design_speed_mps=speed,
        winds_up=1.0 if habits[0] else 0.0,
        speed_aided=1.0 if habits[1] else 0.0,
    )

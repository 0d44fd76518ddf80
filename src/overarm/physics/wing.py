"""Lift, drag, side force and moments of the whole aeroplane, below and beyond the stall.

Linear coefficients below the stall; a sigmoid blends into a separated flat plate above it; the two
half wings stall by their own local incidence, so that a rolling or warped wing drops a tip.

Sources: linear build-up and sigmoid blend: Beard and McLain, *Small Unmanned Aircraft*, Princeton
(2012), chapter 4, equations 4.9 and 4.10. Separated plate: Hoerner, *Fluid-Dynamic Lift* (1985),
chapter 4, normal force 1/(0.222 + 0.283/sin(alpha)). The stalled centre of pressure and the local
incidence model are our own estimates.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.exponent import exponential
from overarm.jit import scalar
from overarm.trig import inverse_tangent, sine_cosine

# The separated plate carries its load near 0.42 chord, the attached wing near 0.27 chord.
STALLED_SHIFT = 0.15
# exp(-12) is 6e-6: below this the blend is left out.
BLEND_REACH = 12.0
# Uneven stalling of the half wings is looked at from here: exp(-6) of the lost lift is 0.1 % of the lift.
TIP_REACH = 6.0
LEAST_AIRSPEED_MPS = 0.1
# A plate square to the wind has no more drag to gain.
MOST_EXCESS_RAD = 0.5 * math.pi


class Wing(NamedTuple):
    """Coefficients about the neutral point; angles in rad; stations behind the root leading edge.

    Rates are made dimensionless by p b/(2 V), q c/(2 V) and r b/(2 V). Elevator is positive with
    the trailing edge down, aileron positive when it rolls right. The coefficient of moment about
    the balance point is Cm = Cm_np - CL (x_np - x_balance)/c.
    """

    area_m2: float
    span_m: float
    chord_m: float  # mean aerodynamic chord
    neutral_point_m: float
    balance_point_m: float
    lift_zero: float  # CL at zero incidence and elevator
    lift_alpha: float  # per rad
    lift_pitch_rate: float
    lift_elevator: float  # per rad
    lift_max: float  # peak of the blended curve at zero elevator
    stall_offset_rad: float  # blend angle less the linear angle of lift_max
    stall_sharpness: float  # 1/rad
    drag_zero: float
    drag_induced: float  # k in CD = CD0 + k CL^2
    drag_stall: float  # extra drag per rad past the stall
    moment_zero: float  # about the neutral point
    moment_pitch_rate: float
    moment_elevator: float  # per rad, about the neutral point
    side_beta: float
    roll_beta: float
    roll_roll_rate: float
    roll_yaw_rate: float
    roll_aileron: float
    yaw_beta: float
    yaw_roll_rate: float
    yaw_yaw_rate: float
    yaw_aileron: float
    roll_zero: float  # warp; rolls right when positive
    stall_arm: float  # spanwise station of a half wing's lift, as a share of the span
    stall_twist_rad: float  # extra incidence of the right half wing over the left


class AirState(NamedTuple):
    """The air that the aeroplane feels, in body axes."""

    airspeed_mps: float
    alpha_rad: float
    beta_rad: float
    sin_alpha: float
    cos_alpha: float
    sin_beta: float
    cos_beta: float


class Loads(NamedTuple):
    """Force [N] and moment about the balance point [N m], body axes."""

    fx: float
    fy: float
    fz: float
    mx: float
    my: float
    mz: float


@scalar
def air_state(u_mps: float, v_mps: float, w_mps: float) -> AirState:
    """Return airspeed, incidence and sideslip from the air-relative velocity in body axes [m/s]."""
    square = u_mps * u_mps + w_mps * w_mps
    flat, speed = math.sqrt(square), math.sqrt(square + v_mps * v_mps)
    if flat < LEAST_AIRSPEED_MPS:
        return AirState(speed, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0)
    return AirState(
        speed,
        inverse_tangent(w_mps, u_mps),
        inverse_tangent(v_mps, flat),
        w_mps / flat,
        u_mps / flat,
        v_mps / speed,
        flat / speed,
    )


@scalar
def stall_angle(wing: Wing) -> float:
    """Return the incidence [rad] at which half of the lift is separated."""
    return (wing.lift_max - wing.lift_zero) / wing.lift_alpha + wing.stall_offset_rad


@scalar
def separated_share(alpha_rad: float, stall_rad: float, sharpness: float) -> float:
    """Return the share 0..1 of separated flow (Beard and McLain, equation 4.10)."""
    above = sharpness * (alpha_rad - stall_rad)
    below = -sharpness * (alpha_rad + stall_rad)
    reach = max(above, below)
    if reach < -BLEND_REACH:
        return 0.0
    if reach > BLEND_REACH:
        return 1.0
    rise = exponential(-above)
    fall = exponential(-below)
    return (1.0 + rise + fall) / ((1.0 + rise) * (1.0 + fall))


@scalar
def plate_normal_force(sin_alpha: float) -> float:
    """Return the normal-force coefficient of a separated flat plate, signed like sin(alpha)."""
    return sin_alpha / (0.222 * abs(sin_alpha) + 0.283)


@scalar
def lift_coefficient(wing: Wing, alpha_rad: float) -> float:
    """Return CL at zero elevator and no rotation, blended through the stall."""
    linear = wing.lift_zero + wing.lift_alpha * alpha_rad
    share = separated_share(alpha_rad, stall_angle(wing), wing.stall_sharpness)
    if share == 0.0:
        return linear
    sine, cosine = sine_cosine(alpha_rad)
    return (1.0 - share) * linear + share * plate_normal_force(sine) * cosine


@scalar
def lost_lift(wing: Wing, alpha_rad: float) -> float:
    """Return the lift coefficient that separation takes away at a local incidence."""
    return wing.lift_zero + wing.lift_alpha * alpha_rad - lift_coefficient(wing, alpha_rad)


@scalar
def drag_coefficient(wing: Wing, alpha_rad: float, lift: float, ground_factor: float) -> float:
    """Return CD: zero-lift, induced (times the ground factor) and past-stall drag."""
    excess = min(MOST_EXCESS_RAD, max(0.0, abs(alpha_rad) - stall_angle(wing)))
    return wing.drag_zero + ground_factor * wing.drag_induced * lift * lift + wing.drag_stall * excess


@scalar
def tip_drop(wing: Wing, air: AirState, roll_rate_radps: float) -> float:
    """Return the rolling-moment coefficient of two half wings that stall unevenly."""
    local = roll_rate_radps * wing.stall_arm * wing.span_m / max(air.airspeed_mps, 2.0)
    local = min(0.5, max(-0.5, local)) + 0.5 * wing.stall_twist_rad
    if abs(air.alpha_rad) + abs(local) < stall_angle(wing) - TIP_REACH / wing.stall_sharpness:
        return 0.0
    right = lost_lift(wing, air.alpha_rad + local)
    left = lost_lift(wing, air.alpha_rad - local)
    return 0.5 * wing.stall_arm * (right - left)


@scalar
def wing_loads(
    wing: Wing,
    air: AirState,
    rates_radps: tuple[float, float, float],
    deflections_rad: tuple[float, float],
    density_kgpm3: float,
    ground_factor: float,
    blown_share: float,
) -> Loads:
    """Return aerodynamic force and moment about the balance point.

    Parameters: body rates (p, q, r) [rad/s]; deflections (elevator, aileron) [rad]; density
    [kg/m3]; ground factor on induced drag (1 far from the ground); ``blown_share``: extra dynamic
    pressure of the slipstream on the surfaces, as a share of the free-stream dynamic pressure.
    """
    p, q, r = rates_radps
    elevator, aileron = deflections_rad
    speed = max(air.airspeed_mps, LEAST_AIRSPEED_MPS)
    pressure_area = 0.5 * density_kgpm3 * speed * speed * wing.area_m2
    half_span_time = 0.5 * wing.span_m / speed
    q_hat = 0.5 * q * wing.chord_m / speed
    p_hat, r_hat = p * half_span_time, r * half_span_time
    blown = 1.0 + blown_share

    share = separated_share(air.alpha_rad, stall_angle(wing), wing.stall_sharpness)
    plate = plate_normal_force(air.sin_alpha)
    attached = wing.lift_zero + wing.lift_alpha * air.alpha_rad
    lift = (1.0 - share) * attached + share * plate * air.cos_alpha
    lift += wing.lift_pitch_rate * q_hat + wing.lift_elevator * elevator * blown
    drag = drag_coefficient(wing, air.alpha_rad, lift, ground_factor)
    side = wing.side_beta * air.beta_rad

    arm = (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m
    pitching = wing.moment_zero + wing.moment_pitch_rate * q_hat + wing.moment_elevator * elevator * blown
    pitching -= lift * arm + STALLED_SHIFT * share * plate
    rolling = wing.roll_beta * air.beta_rad + wing.roll_roll_rate * p_hat + wing.roll_yaw_rate * r_hat
    rolling += wing.roll_aileron * aileron * blown + wing.roll_zero + tip_drop(wing, air, p)
    yawing = wing.yaw_beta * air.beta_rad + wing.yaw_roll_rate * p_hat + wing.yaw_yaw_rate * r_hat
    yawing += wing.yaw_aileron * aileron * blown
    return Loads(
        pressure_area
        * (-drag * air.cos_alpha * air.cos_beta - side * air.cos_alpha * air.sin_beta + lift * air.sin_alpha),
        pressure_area * (-drag * air.sin_beta + side * air.cos_beta),
        pressure_area
        * (-drag * air.sin_alpha * air.cos_beta - side * air.sin_alpha * air.sin_beta - lift * air.cos_alpha),
        pressure_area * wing.span_m * rolling,
        pressure_area * wing.chord_m * pitching,
        pressure_area * wing.span_m * yawing,
    )

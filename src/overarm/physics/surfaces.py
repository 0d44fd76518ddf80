"""Control surfaces: mixing of elevons, travel limits, servo lag and servo speed."""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.jit import scalar


class Surfaces(NamedTuple):
    """Limits and servo of the control surfaces.

    ``mixed`` is 1 for elevons (two surfaces share pitch and roll) and 0 for a separate elevator
    and ailerons. ``slipstream_share`` is the share of the surface area in the propeller's stream.
    """

    mixed: float
    pitch_travel_rad: float
    roll_travel_rad: float
    pitch_trim_rad: float
    servo_time_s: float
    servo_rate_radps: float
    slipstream_share: float


class Servos(NamedTuple):
    """Angles of the two servo channels [rad]: left and right elevon, or elevator and aileron."""

    first_rad: float
    second_rad: float


@scalar
def limited(value: float, limit: float) -> float:
    """Return the value kept within +-limit."""
    return min(limit, max(-limit, value))


@scalar
def channels(surfaces: Surfaces, elevator_rad: float, aileron_rad: float) -> Servos:
    """Return the channel angles wanted for a demand, within the travel.

    Elevator is positive with the trailing edge down; aileron positive rolls right (left surface
    down, right surface up).
    """
    if surfaces.mixed > 0.5:
        return Servos(
            limited(elevator_rad + aileron_rad, surfaces.pitch_travel_rad),
            limited(elevator_rad - aileron_rad, surfaces.pitch_travel_rad),
        )
    return Servos(
        limited(elevator_rad, surfaces.pitch_travel_rad), limited(aileron_rad, surfaces.roll_travel_rad)
    )


@scalar
def deflections(surfaces: Surfaces, servos: Servos) -> tuple[float, float]:
    """Return (elevator, aileron) [rad] of the channel angles."""
    if surfaces.mixed > 0.5:
        return (
            0.5 * (servos.first_rad + servos.second_rad),
            0.5 * (servos.first_rad - servos.second_rad),
        )
    return servos.first_rad, servos.second_rad


@scalar
def servo_share(surfaces: Surfaces, step_s: float) -> float:
    """Return the share of the way that the servo's lag goes in one step: ``1 - exp(-dt/tau)``."""
    return 1.0 - math.exp(-step_s / max(surfaces.servo_time_s, 1e-4))


@scalar
def servo_moved(surfaces: Surfaces, now: Servos, wanted: Servos, step_s: float, share: float) -> Servos:
    """Move both servos for one step: first-order lag, exact in the step, and a speed limit.

    ``share`` is the `servo_share` of this step.
    """
    most = surfaces.servo_rate_radps * step_s
    return Servos(
        now.first_rad + limited(share * (wanted.first_rad - now.first_rad), most),
        now.second_rad + limited(share * (wanted.second_rad - now.second_rad), most),
    )


@scalar
def blown_share(
    surfaces: Surfaces, thrust_n: float, disc_area_m2: float, dynamic_pressure_pa: float
) -> float:
    """Return the extra dynamic pressure on the surfaces, as a share of the free stream's.

    Momentum theory: the slipstream far behind a disc has a dynamic pressure higher by T/A
    (McCormick, *Aerodynamics, Aeronautics and Flight Mechanics*, 2nd ed. (1995), equation 6.21).
    """
    if thrust_n <= 0.0 or surfaces.slipstream_share <= 0.0:
        return 0.0
    return surfaces.slipstream_share * thrust_n / (disc_area_m2 * max(dynamic_pressure_pa, 1.0))

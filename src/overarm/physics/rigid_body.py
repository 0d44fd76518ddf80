"""Equations of motion of a rigid aeroplane with one spinning rotor.

Flat, non-rotating earth; body axes; quaternion attitude. Source: Stevens and Lewis, *Aircraft
Control and Simulation*, 2nd ed. (2003), equations 1.5-7 to 1.5-12; rotor angular momentum as in
Etkin and Reid, *Dynamics of Flight*, 3rd ed. (1996), section 4.6.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.frames import body_to_launch, down_in_body
from overarm.jit import scalar
from overarm.physics.wing import Loads


class Mass(NamedTuple):
    """Mass [kg] and inertia about the balance point [kg m2]; ixz is the product of inertia."""

    mass_kg: float
    ixx_kg_m2: float
    iyy_kg_m2: float
    izz_kg_m2: float
    ixz_kg_m2: float


class Body(NamedTuple):
    """Position (launch frame, m), velocity over ground (body axes, m/s), attitude quaternion,
    body rates (rad/s) and propeller speed (rad/s). Also used for their time derivatives."""

    x: float
    y: float
    z: float
    u: float
    v: float
    w: float
    e0: float
    e1: float
    e2: float
    e3: float
    p: float
    q: float
    r: float
    spin: float


@scalar
def body_rates(
    body: Body, mass: Mass, loads: Loads, rotor_momentum: float, spin_rate: float, gravity_mps2: float
) -> Body:
    """Return the time derivative of the state.

    ``loads`` are all forces [N] and moments [N m] but weight; ``rotor_momentum`` [kg m2/s] is the
    rotor's angular momentum along body x; ``spin_rate`` [rad/s2] its angular acceleration (the
    reaction to it must already be in ``loads``).
    """
    gx, gy, gz = down_in_body(body.e0, body.e1, body.e2, body.e3, gravity_mps2)
    x_rate, y_rate, z_rate = body_to_launch(body.e0, body.e1, body.e2, body.e3, body.u, body.v, body.w)
    p, q, r = body.p, body.q, body.r
    per_mass = 1.0 / mass.mass_kg
    momentum_x = mass.ixx_kg_m2 * p - mass.ixz_kg_m2 * r + rotor_momentum
    momentum_y = mass.iyy_kg_m2 * q
    momentum_z = mass.izz_kg_m2 * r - mass.ixz_kg_m2 * p
    torque_x = loads.mx - (q * momentum_z - r * momentum_y)
    torque_y = loads.my - (r * momentum_x - p * momentum_z)
    torque_z = loads.mz - (p * momentum_y - q * momentum_x)
    determinant = mass.ixx_kg_m2 * mass.izz_kg_m2 - mass.ixz_kg_m2 * mass.ixz_kg_m2
    return Body(
        x_rate,
        y_rate,
        z_rate,
        loads.fx * per_mass + gx - (q * body.w - r * body.v),
        loads.fy * per_mass + gy - (r * body.u - p * body.w),
        loads.fz * per_mass + gz - (p * body.v - q * body.u),
        0.5 * (-body.e1 * p - body.e2 * q - body.e3 * r),
        0.5 * (body.e0 * p + body.e2 * r - body.e3 * q),
        0.5 * (body.e0 * q - body.e1 * r + body.e3 * p),
        0.5 * (body.e0 * r + body.e1 * q - body.e2 * p),
        (mass.izz_kg_m2 * torque_x + mass.ixz_kg_m2 * torque_z) / determinant,
        torque_y / mass.iyy_kg_m2,
        (mass.ixx_kg_m2 * torque_z + mass.ixz_kg_m2 * torque_x) / determinant,
        spin_rate,
    )


@scalar
def moved(body: Body, rate: Body, step_s: float) -> Body:
    """Return body + step * rate, component by component."""
    return Body(
        body.x + step_s * rate.x,
        body.y + step_s * rate.y,
        body.z + step_s * rate.z,
        body.u + step_s * rate.u,
        body.v + step_s * rate.v,
        body.w + step_s * rate.w,
        body.e0 + step_s * rate.e0,
        body.e1 + step_s * rate.e1,
        body.e2 + step_s * rate.e2,
        body.e3 + step_s * rate.e3,
        body.p + step_s * rate.p,
        body.q + step_s * rate.q,
        body.r + step_s * rate.r,
        body.spin + step_s * rate.spin,
    )


@scalar
def normalised(body: Body) -> Body:
    """Return the state with its quaternion scaled to unit length."""
    scale = 1.0 / math.sqrt(body.e0 * body.e0 + body.e1 * body.e1 + body.e2 * body.e2 + body.e3 * body.e3)
    return Body(
        body.x,
        body.y,
        body.z,
        body.u,
        body.v,
        body.w,
        body.e0 * scale,
        body.e1 * scale,
        body.e2 * scale,
        body.e3 * scale,
        body.p,
        body.q,
        body.r,
        body.spin,
    )

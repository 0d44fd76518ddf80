"""The forces and the midpoint step as NumPy over arrays of launches: the usual way without a compiler.

The same equations as ``overarm.flight.forces``, with the launches as the array axis, both branches worked
out and the right one chosen. Free flight only: no line on the hook. The kind of float is that of the
records (`columns`).
"""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.flight.forces import SPIN_SLIP_PER_RADPS
from overarm.physics.propeller import LAST_KNOT, REFERENCE_RADIUS, STANDING_MPS
from overarm.physics.rigid_body import Body
from overarm.physics.wing import BLEND_REACH, LEAST_AIRSPEED_MPS, MOST_EXCESS_RAD, STALLED_SHIFT, TIP_REACH

Array = NDArray[Any]


def columns(records: NDArray[np.void], kind: Any) -> SimpleNamespace:
    """Return launch records (n,) as groups of arrays (n,) of one kind of float."""
    names = records.dtype.names or ()
    return SimpleNamespace(
        **{
            name: SimpleNamespace(
                **{key: records[name][key].astype(kind) for key in records[name].dtype.names}
            )
            for name in names
        }
    )


def to_launch(b: Body, x: Array, y: Array, z: Array, sign: int = 1) -> tuple[Array, Array, Array]:
    """Turn body components into launch components; with sign -1 the other way."""
    e0, e1, e2, e3 = b.e0, sign * b.e1, sign * b.e2, sign * b.e3
    return (
        (e0 * e0 + e1 * e1 - e2 * e2 - e3 * e3) * x
        + 2 * (e1 * e2 - e0 * e3) * y
        + 2 * (e1 * e3 + e0 * e2) * z,
        2 * (e1 * e2 + e0 * e3) * x
        + (e0 * e0 - e1 * e1 + e2 * e2 - e3 * e3) * y
        + 2 * (e2 * e3 - e0 * e1) * z,
        2 * (e1 * e3 - e0 * e2) * x
        + 2 * (e2 * e3 + e0 * e1) * y
        + (e0 * e0 - e1 * e1 - e2 * e2 + e3 * e3) * z,
    )


def stall_angle(w: Any) -> Array:
    return (w.lift_max - w.lift_zero) / w.lift_alpha + w.stall_offset_rad


def separated(w: Any, alpha: Array) -> Array:
    """Return the share of separated flow."""
    above = w.stall_sharpness * (alpha - stall_angle(w))
    below = -w.stall_sharpness * (alpha + stall_angle(w))
    reach = np.maximum(above, below)
    rise, fall = np.exp(np.minimum(-above, 60)), np.exp(np.minimum(-below, 60))
    blend = (1 + rise + fall) / ((1 + rise) * (1 + fall))
    return np.where(reach < -BLEND_REACH, 0, np.where(reach > BLEND_REACH, 1, blend)).astype(alpha.dtype)


def plate(alpha: Array) -> Array:
    sine = np.sin(alpha)
    size = np.abs(sine)
    return np.where(size < 1e-6, 0, np.copysign(size / (0.222 * size + 0.283), sine)).astype(alpha.dtype)


def lost_lift(w: Any, alpha: Array) -> Array:
    share, linear = separated(w, alpha), w.lift_zero + w.lift_alpha * alpha
    return share * (linear - plate(alpha) * np.cos(alpha))


def tip_drop(w: Any, speed: Array, alpha: Array, p: Array) -> Array:
    local = np.clip(p * w.stall_arm * w.span_m / np.maximum(speed, 2), -0.5, 0.5) + 0.5 * w.stall_twist_rad
    far = np.abs(alpha) + np.abs(local) < stall_angle(w) - TIP_REACH / w.stall_sharpness
    drop = 0.5 * w.stall_arm * (lost_lift(w, alpha + local) - lost_lift(w, alpha - local))
    return np.where(far, 0, drop).astype(alpha.dtype)


def wing(rec: Any, b: Body, air: Any, held: Any, factor: Array, blown: Array) -> Any:
    """Return the six loads of the wing."""
    w, elevator, aileron = rec.wing, held.elevator_rad, held.aileron_rad
    speed = np.maximum(air.speed, LEAST_AIRSPEED_MPS)
    area = 0.5 * rec.air.density_kgpm3 * speed * speed * w.area_m2
    q_hat = 0.5 * b.q * w.chord_m / speed
    p_hat, r_hat = b.p * (0.5 * w.span_m / speed), b.r * (0.5 * w.span_m / speed)
    share = separated(w, air.alpha)
    stalled = np.where(share > 0, plate(air.alpha), 0).astype(share.dtype)
    lift = (1 - share) * (w.lift_zero + w.lift_alpha * air.alpha) + share * stalled * air.cos_a
    lift = lift + w.lift_pitch_rate * q_hat + w.lift_elevator * elevator * blown
    excess = np.clip(np.abs(air.alpha) - stall_angle(w), 0, MOST_EXCESS_RAD)
    drag = w.drag_zero + factor * w.drag_induced * lift * lift + w.drag_stall * excess
    side = w.side_beta * air.beta
    arm = (w.neutral_point_m - w.balance_point_m) / w.chord_m
    pitching = w.moment_zero + w.moment_pitch_rate * q_hat + w.moment_elevator * elevator * blown
    pitching = pitching - (lift * arm + STALLED_SHIFT * share * stalled)
    rolling = w.roll_beta * air.beta + w.roll_roll_rate * p_hat + w.roll_yaw_rate * r_hat
    rolling = (
        rolling + w.roll_aileron * aileron * blown + w.roll_zero + tip_drop(w, air.speed, air.alpha, b.p)
    )
    yawing = w.yaw_beta * air.beta + w.yaw_roll_rate * p_hat + w.yaw_yaw_rate * r_hat
    yawing = yawing + w.yaw_aileron * aileron * blown
    along = -drag * air.cos_b - side * air.sin_b
    return SimpleNamespace(
        fx=area * (along * air.cos_a + lift * air.sin_a),
        fy=area * (-drag * air.sin_b + side * air.cos_b),
        fz=area * (along * air.sin_a - lift * air.cos_a),
        mx=area * w.span_m * rolling,
        my=area * w.chord_m * pitching,
        mz=area * w.span_m * yawing,
    )


def air_of(u: Array, v: Array, w: Array) -> Any:
    """Return airspeed and angles of the air that the aeroplanes feel."""
    flat = np.sqrt(u * u + w * w)
    speed = np.sqrt(u * u + w * w + v * v)
    slow, safe = flat < LEAST_AIRSPEED_MPS, np.maximum(flat, LEAST_AIRSPEED_MPS)
    whole = np.maximum(speed, LEAST_AIRSPEED_MPS)
    kind = u.dtype
    return SimpleNamespace(
        speed=speed,
        alpha=np.where(slow, 0, np.arctan2(w, u)).astype(kind),
        beta=np.where(slow, 0, np.arctan2(v, flat)).astype(kind),
        sin_a=np.where(slow, 0, w / safe).astype(kind),
        cos_a=np.where(slow, 1, u / safe).astype(kind),
        sin_b=np.where(slow, 0, v / whole).astype(kind),
        cos_b=np.where(slow, 1, flat / whole).astype(kind),
    )


def propeller(rec: Any, table: Array, axial: Array, spin: Array) -> tuple[Array, Array]:
    """Return thrust [N] and torque of the shaft [N m]."""
    p = rec.propeller
    axial, rim = (
        np.maximum(0, axial),
        REFERENCE_RADIUS * math.pi * np.maximum(0, spin) / (2 * math.pi) * p.diameter_m,
    )
    place = axial / np.maximum(STANDING_MPS, axial + rim) * LAST_KNOT
    knot = np.minimum(LAST_KNOT - 1, place.astype(np.int64))
    past = place - knot.astype(place.dtype)
    disc = 0.25 * math.pi * p.diameter_m * p.diameter_m
    pull = 0.5 * rec.air.density_kgpm3 * disc * (axial * axial + rim * rim)
    found = table[:, knot] * (1 - past) + table[:, knot + 1] * past
    return p.thrust_scale * pull * found[0], p.torque_scale * pull * p.diameter_m * found[1]


def torque_of(rec: Any, throttle: Array, spin: Array) -> Array:
    """Return the torque of the motor less its friction [N m]."""
    m, pack = rec.motor, rec.pack
    volts = throttle * pack.open_volts - m.ke_vs * spin
    amps = np.maximum(0, volts / (m.resistance_ohm + throttle * throttle * pack.resistance_ohm))
    slip = SPIN_SLIP_PER_RADPS * spin
    return m.ke_vs * amps - m.ke_vs * m.idle_current_a * slip / np.sqrt(1 + slip * slip)


def blown_by(rec: Any, push: Array, speed: Array) -> Array:
    """Return one and the extra pressure of the slipstream, as a share of the free stream's."""
    disc = 0.25 * math.pi * rec.propeller.diameter_m * rec.propeller.diameter_m
    pressure = np.maximum(0.5 * rec.air.density_kgpm3 * speed * speed, 1)
    return 1 + np.where(push > 0, rec.surfaces.slipstream_share * push / (disc * pressure), 0).astype(
        push.dtype
    )


def rates(rec: Any, table: Array, b: Body, held: Any) -> Body:
    """Return the time derivative of the states, each field an array (n,)."""
    wind = to_launch(b, held.wind_x_mps, held.wind_y_mps, held.wind_z_mps, -1)
    air = air_of(b.u - wind[0], b.v - wind[1], b.w - wind[2])
    push, load = propeller(rec, table, b.u - wind[0], b.spin)
    torque = torque_of(rec, held.throttle, b.spin)
    p, mass = rec.propeller, rec.mass
    square = (16 * np.maximum(0, -b.z) / rec.wing.span_m) ** 2
    lift = wing(rec, b, air, held, square / (1 + square), blown_by(rec, push, air.speed))
    fx, fz = lift.fx + push * np.cos(p.tilt_rad), lift.fz - push * np.sin(p.tilt_rad)
    mx, my = lift.mx - p.turning * torque, lift.my - push * p.height_m
    gx, gy, gz = to_launch(b, 0 * b.x, 0 * b.x, 0 * b.x + GRAVITY_MPS2, -1)
    x, y, z = to_launch(b, b.u, b.v, b.w)
    turn_x = mass.ixx_kg_m2 * b.p - mass.ixz_kg_m2 * b.r + p.turning * p.inertia_kg_m2 * b.spin
    turn_y, turn_z = mass.iyy_kg_m2 * b.q, mass.izz_kg_m2 * b.r - mass.ixz_kg_m2 * b.p
    tx = mx - (b.q * turn_z - b.r * turn_y)
    ty = my - (b.r * turn_x - b.p * turn_z)
    tz = lift.mz - (b.p * turn_y - b.q * turn_x)
    determinant = mass.ixx_kg_m2 * mass.izz_kg_m2 - mass.ixz_kg_m2 * mass.ixz_kg_m2
    return Body(
        x, y, z,
        fx / mass.mass_kg + gx - (b.q * b.w - b.r * b.v),
        lift.fy / mass.mass_kg + gy - (b.r * b.u - b.p * b.w),
        fz / mass.mass_kg + gz - (b.p * b.v - b.q * b.u),
        0.5 * (-b.e1 * b.p - b.e2 * b.q - b.e3 * b.r),
        0.5 * (b.e0 * b.p + b.e2 * b.r - b.e3 * b.q),
        0.5 * (b.e0 * b.q - b.e1 * b.r + b.e3 * b.p),
        0.5 * (b.e0 * b.r + b.e1 * b.q - b.e2 * b.p),
        (mass.izz_kg_m2 * tx + mass.ixz_kg_m2 * tz) / determinant,
        ty / mass.iyy_kg_m2,
        (mass.ixx_kg_m2 * tz + mass.ixz_kg_m2 * tx) / determinant,
        (torque - load) / p.inertia_kg_m2,
    )  # fmt: skip


def step(rec: Any, table: Array, b: Body, held: Any, step_s: float) -> Body:
    """Return the states one step later by the explicit midpoint rule."""
    first = rates(rec, table, b, held)
    middle = rates(
        rec, table, Body(*(now + 0.5 * step_s * rate for now, rate in zip(b, first, strict=True))), held
    )
    later = Body(*(now + step_s * rate for now, rate in zip(b, middle, strict=True)))
    scale = 1 / np.sqrt(later.e0**2 + later.e1**2 + later.e2**2 + later.e3**2)
    return later._replace(
        e0=later.e0 * scale, e1=later.e1 * scale, e2=later.e2 * scale, e3=later.e3 * scale,
        spin=np.maximum(0, later.spin),
    )  # fmt: skip

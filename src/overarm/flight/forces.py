"""All forces on the flying aeroplane, put together."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.frames import body_to_launch, launch_to_body
from overarm.jit import scalar
from overarm.physics.ground import induced_factor
from overarm.physics.line import effective_mass, returned_pull
from overarm.physics.motor import loaded_volts, motor_current, motor_torque
from overarm.physics.propeller import advance_share, shaft_torque, table_pair, thrust_and_torque
from overarm.physics.rigid_body import Body, body_rates
from overarm.physics.surfaces import blown_share
from overarm.physics.wing import Loads, air_state, wing_loads
from overarm.trig import inverse_tangent, sine_cosine

# Friction of the motor fades out below a few rad/s, so that it never turns the propeller backwards.
SPIN_SLIP_PER_RADPS = 0.2


class Held(NamedTuple):
    """What stays constant during one step."""

    elevator_rad: float
    aileron_rad: float
    throttle: float  # what the controller applies, 0..1
    line_on: float  # 1 while the line is on the hook
    wind_x_mps: float  # mean wind and gust, launch frame
    wind_y_mps: float
    wind_z_mps: float


class Seen(NamedTuple):
    """By-products of the forces at one instant."""

    airspeed_mps: float
    alpha_rad: float
    thrust_n: float
    drag_n: float
    current_a: float  # of the pack
    volts_v: float  # of the pack under load
    force_x_mps2: float  # specific force at the balance point, body axes
    force_y_mps2: float
    force_z_mps2: float
    stretch_m: float
    line_angle_rad: float  # between the line and body x


@scalar
def drive_torque(rec: Any, throttle: float, spin_radps: float) -> tuple[float, float]:
    """Return (motor torque [N m], pack current [A]); friction fades out at standstill."""
    amps = motor_current(rec.motor, rec.pack, throttle, spin_radps)
    slip = SPIN_SLIP_PER_RADPS * spin_radps
    friction = rec.motor.ke_vs * rec.motor.idle_current_a * slip / math.sqrt(1.0 + slip * slip)
    return motor_torque(rec.motor, amps) - friction, throttle * amps


@scalar
def spin_rate(rec: Any, table: Any, throttle: float, airspeed_mps: float, spin_radps: float) -> float:
    """Return the angular acceleration of the propeller [rad/s2] at an axial airspeed."""
    torque, _ = drive_torque(rec, throttle, spin_radps)
    turns = max(0.0, spin_radps) / (2.0 * math.pi)
    load = shaft_torque(rec.propeller, rec.air.density_kgpm3, airspeed_mps, turns, table)
    rate = (torque - load) / rec.propeller.inertia_kg_m2
    if spin_radps <= 0.0 and throttle <= 0.0:
        hold = rec.motor.ke_vs * rec.motor.idle_current_a / rec.propeller.inertia_kg_m2
        return max(0.0, rate - hold)
    return rate


@scalar
def line_force(rec: Any, body: Body) -> tuple[float, float, float, float, float]:
    """Return the line's pull (x, y, z) [N] in body axes, its stretch [m] and its angle [rad]."""
    hook_x, hook_y, hook_z = body_to_launch(
        body.e0, body.e1, body.e2, body.e3, rec.line.hook_x_m, 0.0, rec.line.hook_z_m
    )
    length = rec.line.natural_m + rec.line.stretch_m
    ground = math.sqrt(max(1.0, length * length - rec.line.height_m * rec.line.height_m))
    peg_x = ground - rec.line.ramp_m * sine_cosine(rec.line.ramp_rad)[1]
    dx, dy, dz = peg_x - body.x - hook_x, -body.y - hook_y, -body.z - hook_z
    distance = max(1e-3, math.sqrt(dx * dx + dy * dy + dz * dz))
    stretch = distance - rec.line.natural_m
    x, y, z = launch_to_body(body.e0, body.e1, body.e2, body.e3, dx / distance, dy / distance, dz / distance)
    size = returned_pull(rec.line, stretch) * rec.mass.mass_kg / effective_mass(rec.line, rec.mass.mass_kg)
    angle = inverse_tangent(math.sqrt(max(0.0, 1.0 - x * x)), x)
    return size * x, size * y, size * z, stretch, angle


@scalar
def blade_share(rec: Any, body: Body, held: Held) -> float:
    """Return the place in the propeller's table (`advance_share`) of the flying aeroplane."""
    wind, _, _ = launch_to_body(
        body.e0, body.e1, body.e2, body.e3, held.wind_x_mps, held.wind_y_mps, held.wind_z_mps
    )
    return advance_share(rec.propeller, body.u - wind, max(0.0, body.spin) / (2.0 * math.pi))


@scalar
def rates(rec: Any, table: Any, body: Body, held: Held) -> tuple[Body, Seen]:
    """Return the time derivative of the state and what was seen on the way.

    For one state by itself; a step looks at the table apart (`overarm.flight.step`).
    """
    return rates_at(rec, table_pair(table, blade_share(rec, body, held)), body, held)


@scalar
def rates_at(rec: Any, pair: tuple[float, float], body: Body, held: Held) -> tuple[Body, Seen]:
    """Return the same as `rates`; ``pair``: what the propeller's table holds at `blade_share`."""
    height = -body.z
    wu, wv, ww = launch_to_body(
        body.e0, body.e1, body.e2, body.e3, held.wind_x_mps, held.wind_y_mps, held.wind_z_mps
    )
    air = air_state(body.u - wu, body.v - wv, body.w - ww)
    density = rec.air.density_kgpm3
    turns = max(0.0, body.spin) / (2.0 * math.pi)
    push, load = thrust_and_torque(rec.propeller, density, body.u - wu, turns, pair)
    torque, pack_amps = drive_torque(rec, held.throttle, body.spin)
    spin_acceleration = (torque - load) / rec.propeller.inertia_kg_m2

    disc = 0.25 * math.pi * rec.propeller.diameter_m * rec.propeller.diameter_m
    dynamic = 0.5 * density * air.airspeed_mps * air.airspeed_mps
    blown = blown_share(rec.surfaces, push, disc, dynamic)
    factor = induced_factor(height, rec.wing.span_m)
    lift = wing_loads(
        rec.wing, air, (body.p, body.q, body.r), (held.elevator_rad, held.aileron_rad), density, factor, blown
    )
    forward, up = push, 0.0
    if rec.propeller.tilt_rad != 0.0:
        sine, cosine = sine_cosine(rec.propeller.tilt_rad)
        forward, up = push * cosine, push * sine
    fx, fz = lift.fx + forward, lift.fz - up
    my = lift.my - push * rec.propeller.height_m
    fy = lift.fy
    mx = lift.mx - rec.propeller.turning * torque
    mz = lift.mz
    stretch, angle = 0.0, 0.0
    if held.line_on > 0.5:
        lx, ly, lz, stretch, angle = line_force(rec, body)
        fx, fy, fz = fx + lx, fy + ly, fz + lz
        mx -= rec.line.hook_z_m * ly
        my += rec.line.hook_z_m * lx - rec.line.hook_x_m * lz
        mz += rec.line.hook_x_m * ly
    momentum = rec.propeller.turning * rec.propeller.inertia_kg_m2 * body.spin
    loads = Loads(fx, fy, fz, mx, my, mz)
    rate = body_rates(body, rec.mass, loads, momentum, spin_acceleration, GRAVITY_MPS2)
    per_mass = 1.0 / rec.mass.mass_kg
    drag = -(lift.fx * air.cos_alpha + lift.fz * air.sin_alpha)
    volts = loaded_volts(rec.pack, pack_amps)
    return rate, Seen(
        air.airspeed_mps,
        air.alpha_rad,
        push,
        drag,
        pack_amps,
        volts,
        fx * per_mass,
        fy * per_mass,
        fz * per_mass,
        stretch,
        angle,
    )

"""Steady powered flight: the throttle, current and power that thrust = drag asks for at a speed.

The drag is that of the aeroplane's own polar, trimmed; thrust and current are those of its propeller,
motor and pack matched at that flight speed. Derivation in ``docs/theory/way-home.md``; held against the
engine's own steady flight in ``tests/validation/test_way_home_energy.py``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from scipy.optimize import brentq

from overarm.air import GRAVITY_MPS2
from overarm.physics.climb import Polar
from overarm.physics.motor import Motor, Pack, driving_torque, loaded_volts, motor_current
from overarm.physics.propeller import Propeller, shaft_torque, thrust
from overarm.physics.wing import Wing, drag_coefficient

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from overarm.describe.derived import Derived

TRIM_ROUNDS = 25
TRIM_TOLERANCE_N = 1e-7
MOST_THROTTLE = 1.0
SPEED_STEP = 1.02
FASTEST_RATIO = 4.0


class Aeroplane(NamedTuple):
    """All that steady flight depends on."""

    wing: Wing
    mass_kg: float
    density_kgpm3: float
    propeller: Propeller
    table: NDArray[np.float64]
    motor: Motor
    pack: Pack
    stall_speed_mps: float

    @property
    def weight_n(self) -> float:
        """Return the weight [N]."""
        return self.mass_kg * GRAVITY_MPS2

    @property
    def polar(self) -> Polar:
        """Return the drag polar for the closed forms."""
        wing = self.wing
        return Polar(self.mass_kg, wing.area_m2, wing.drag_zero, wing.drag_induced, self.density_kgpm3)


class Steady(NamedTuple):
    """Steady flight at one speed and climb."""

    airspeed_mps: float
    climb_mps: float
    alpha_rad: float
    elevator_rad: float
    drag_n: float
    thrust_n: float
    throttle: float
    spin_radps: float
    current_a: float  # of the pack
    volts_v: float  # of the pack under load

    @property
    def power_w(self) -> float:
        """Return the electric power at the pack's terminals [W]."""
        return self.current_a * self.volts_v

    @property
    def efficiency(self) -> float:
        """Return thrust power over electric power [0..1]."""
        return self.thrust_n * self.airspeed_mps / self.power_w


class Trim(NamedTuple):
    """The balance of forces and of the pitching moment."""

    alpha_rad: float
    elevator_rad: float
    drag_n: float
    thrust_n: float


def aeroplane_of(derived: Derived) -> Aeroplane:
    """Return the aeroplane with the pack of the day."""
    return Aeroplane(
        derived.wing,
        derived.mass.mass_kg,
        derived.density_kgpm3,
        derived.propeller,
        derived.propeller_table,
        derived.motor,
        derived.pack,
        derived.stall_speed_mps,
    )


def trimmed(plane: Aeroplane, airspeed_mps: float, climb_sine: float = 0.0, load: float = 1.0) -> Trim:
    """Return incidence, elevator, drag and thrust of steady flight.

    Parameters: airspeed [m/s]; sine of the climb angle; load factor of a level turn.
    Equations: ``T cos(a + e) = D + W sin(gamma)``, ``L + T sin(a + e) = n W cos(gamma)``, a the
    incidence and e the tilt of the thrust line; ``Cm = 0`` with the moment of the thrust line. Source:
    any text on flight mechanics; the coefficients are those of `overarm.physics.wing` below the stall.
    """
    wing, propeller = plane.wing, plane.propeller
    area_n = 0.5 * plane.density_kgpm3 * airspeed_mps * airspeed_mps * wing.area_m2
    carried_n = load * plane.weight_n * math.sqrt(1.0 - climb_sine * climb_sine)
    arm = (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m
    push_n, alpha_rad = 0.0, 0.0
    for _ in range(TRIM_ROUNDS):
        lift = (carried_n - push_n * math.sin(alpha_rad + propeller.tilt_rad)) / area_n
        nose_down = push_n * propeller.height_m / (area_n * wing.chord_m)
        elevator_rad = (lift * arm - wing.moment_zero + nose_down) / wing.moment_elevator
        alpha_rad = (lift - wing.lift_zero - wing.lift_elevator * elevator_rad) / wing.lift_alpha
        drag_n = area_n * drag_coefficient(wing, alpha_rad, lift, 1.0)
        needed_n = (drag_n + plane.weight_n * climb_sine) / math.cos(alpha_rad + propeller.tilt_rad)
        settled = abs(needed_n - push_n) < TRIM_TOLERANCE_N
        push_n = needed_n
        if settled:
            break
    return Trim(alpha_rad, elevator_rad, drag_n, push_n)


def _zero(rises: Callable[[float], float], high: float) -> float:
    """Return where a function that rises from 0 to ``high`` passes zero; 0 if it begins above.

    Source: Brent (1973), by `scipy.optimize.brentq`.
    """
    return float(brentq(rises, 0.0, high)) if rises(0.0) < 0.0 else 0.0


def _turns(spin_radps: float) -> float:
    return spin_radps / (2.0 * math.pi)


def spin_at(plane: Aeroplane, throttle: float, axial_mps: float) -> float:
    """Return the speed of rotation [rad/s] at which motor and propeller balance, at a throttle [0..1]."""

    def excess(spin_radps: float) -> float:
        amps = motor_current(plane.motor, plane.pack, throttle, spin_radps)
        load = shaft_torque(plane.propeller, plane.density_kgpm3, axial_mps, _turns(spin_radps), plane.table)
        return load - driving_torque(plane.motor, amps)

    fastest_radps = throttle * plane.pack.open_volts / plane.motor.ke_vs
    return _zero(excess, fastest_radps)


def push_at(plane: Aeroplane, spin_radps: float, axial_mps: float) -> float:
    """Return the thrust [N] at a speed of rotation and an axial airspeed."""
    return float(thrust(plane.propeller, plane.density_kgpm3, axial_mps, _turns(spin_radps), plane.table))


def throttle_for(plane: Aeroplane, push_n: float, axial_mps: float) -> tuple[float, float, float] | None:
    """Return (throttle, speed of rotation [rad/s], pack current [A]) for a thrust; None beyond full throttle.

    Equations: the speed of rotation from ``T(V, n) = T``; ``I = Q/Ke + I0``, ``U = I R + Ke w``; the
    throttle from the chopper ``s (U_oc - s I R_b) = U``, its smaller root. Source: as
    `overarm.physics.motor`.
    """
    motor, pack = plane.motor, plane.pack
    fastest_radps = pack.open_volts / motor.ke_vs
    if push_at(plane, fastest_radps, axial_mps) < push_n:
        return None
    spin_radps = _zero(lambda spin: push_at(plane, spin, axial_mps) - push_n, fastest_radps)
    torque = shaft_torque(plane.propeller, plane.density_kgpm3, axial_mps, _turns(spin_radps), plane.table)
    amps = max(0.0, torque / motor.ke_vs + motor.idle_current_a)
    volts = amps * motor.resistance_ohm + motor.ke_vs * spin_radps
    inside = pack.open_volts**2 - 4.0 * amps * pack.resistance_ohm * volts
    if inside < 0.0:
        return None
    throttle = 2.0 * volts / (pack.open_volts + math.sqrt(inside))
    return (throttle, spin_radps, throttle * amps) if throttle <= MOST_THROTTLE else None


def steady(plane: Aeroplane, airspeed_mps: float, climb_mps: float = 0.0, load: float = 1.0) -> Steady | None:
    """Return steady flight at an airspeed and rate of climb [m/s]; None if full throttle does not hold it.

    ``load`` is the load factor of a level turn.
    """
    trim = trimmed(plane, airspeed_mps, climb_mps / airspeed_mps, load)
    axial_mps = airspeed_mps * math.cos(trim.alpha_rad)
    found = throttle_for(plane, trim.thrust_n, axial_mps)
    if found is None:
        return None
    throttle, spin_radps, current_a = found
    return Steady(
        airspeed_mps,
        climb_mps,
        trim.alpha_rad,
        trim.elevator_rad,
        trim.drag_n,
        trim.thrust_n,
        throttle,
        spin_radps,
        current_a,
        loaded_volts(plane.pack, current_a),
    )


def climb_at(plane: Aeroplane, airspeed_mps: float, throttle: float) -> Steady:
    """Return the steady climb (or descent) at an airspeed and a throttle.

    Equation: ``sin(gamma) = (T cos(a) - D)/W``, solved together with the trim.
    """
    sine = 0.0
    for _ in range(TRIM_ROUNDS):
        trim = trimmed(plane, airspeed_mps, sine)
        axial_mps = airspeed_mps * math.cos(trim.alpha_rad)
        spin_radps = spin_at(plane, throttle, axial_mps)
        push_n = push_at(plane, spin_radps, axial_mps)
        along_n = push_n * math.cos(trim.alpha_rad + plane.propeller.tilt_rad)
        sine = min(0.95, max(-0.95, (along_n - trim.drag_n) / plane.weight_n))
    amps = throttle * motor_current(plane.motor, plane.pack, throttle, spin_radps)
    return Steady(
        airspeed_mps,
        airspeed_mps * sine,
        trim.alpha_rad,
        trim.elevator_rad,
        trim.drag_n,
        push_n,
        throttle,
        spin_radps,
        amps,
        loaded_volts(plane.pack, amps),
    )


def fastest_level(plane: Aeroplane, from_mps: float, throttle: float) -> float:
    """Return the fastest level airspeed [m/s] at a throttle, from a speed upward in steps of 2 %.

    Zero if the throttle does not hold level flight even at ``from_mps``.
    """
    fastest_mps, airspeed_mps = 0.0, from_mps
    while airspeed_mps < FASTEST_RATIO * from_mps:
        found = steady(plane, airspeed_mps)
        if found is None or found.throttle > throttle:
            break
        fastest_mps, airspeed_mps = airspeed_mps, airspeed_mps * SPEED_STEP
    return fastest_mps

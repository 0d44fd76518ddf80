"""Thrust of a drive at many throttles and airspeeds at once, for the shape of thrust in flight."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from overarm.physics.propeller import KNOTS, REFERENCE_RADIUS, STANDING_MPS
from overarm.recordings.recording import Numbers

if TYPE_CHECKING:
    from overarm.describe.derived import Derived
    from overarm.describe.setup import Setup

HALVINGS = 26  # to a hundred-millionth of the fastest turn
USUAL_EXPONENT = 1.75
CELL_V = 3.9
LOADED_SHARE = 0.75  # of the unloaded speed of rotation, that of a propelled one; own estimate
PITCH_SPEED_SHARE = 1.15


def _blade(derived: Derived, airspeed_mps: Numbers, spin_radps: Numbers, row: int) -> Numbers:
    """Return thrust [N] (row 0) or torque [N m] (row 1), as `overarm.physics.propeller.thrust`, on arrays."""
    propeller = derived.propeller
    axial = np.maximum(0.0, airspeed_mps)
    rim = 0.5 * REFERENCE_RADIUS * propeller.diameter_m * spin_radps
    share = axial / np.maximum(STANDING_MPS, axial + rim)
    value = np.interp(share, np.linspace(0.0, 1.0, KNOTS), derived.propeller_table[row])
    disc_m2 = 0.25 * math.pi * propeller.diameter_m**2
    size = 0.5 * derived.density_kgpm3 * disc_m2 * (axial * axial + rim * rim) * value
    scale = propeller.thrust_scale if row == 0 else propeller.torque_scale * propeller.diameter_m
    return np.asarray(size * scale)


def settled_thrust(derived: Derived, throttle: Numbers, airspeed_mps: Numbers) -> Numbers:
    """Return the thrust [N] where motor and propeller balance, for throttles [0..1] and airspeeds, (n,).

    Equation: ``Ke (I - I0) = Q(V, n)``, I from the chopper relation, by halving, as
    `overarm.describe.derived.propulsion.settle`.
    """
    motor, pack = derived.motor, derived.pack
    low = np.zeros(throttle.size)
    high = throttle * pack.open_volts / motor.ke_vs
    for _ in range(HALVINGS):
        spin = 0.5 * (low + high)
        volts = throttle * pack.open_volts - motor.ke_vs * spin
        amps = np.maximum(0.0, volts / (motor.resistance_ohm + throttle**2 * pack.resistance_ohm))
        more = motor.ke_vs * (amps - motor.idle_current_a) > _blade(derived, airspeed_mps, spin, 1)
        low, high = np.where(more, spin, low), np.where(more, high, spin)
    return _blade(derived, airspeed_mps, low, 0)


def simple_thrust(setup: Setup, throttle: Numbers, airspeed_mps: Numbers) -> Numbers:
    """Return the shape of thrust without a computed drive, 1 at full throttle and no airspeed, (n,).

    Equation: ``s^k (1 - V/(1.15 n p))``, n by the no-load speed of rotation.
    Source: common practice, no source.
    """
    power = setup.power
    full = LOADED_SHARE * power.kv_radps_per_v.value * power.cells * CELL_V / (2.0 * math.pi)
    turns = full * np.maximum(throttle, 0.05) ** (0.5 * USUAL_EXPONENT)
    left = 1.0 - airspeed_mps / (PITCH_SPEED_SHARE * turns * power.propeller.pitch_m.value)
    return np.asarray(np.maximum(throttle, 0.0) ** USUAL_EXPONENT * np.maximum(left, -0.2))


def standing_drag(derived: Derived, airspeed_mps: Numbers) -> Numbers:
    """Return the drag [N] of a propeller that stands still in the air, (n,)."""
    return -_blade(derived, airspeed_mps, np.zeros(airspeed_mps.size), 0)

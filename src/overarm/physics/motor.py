"""Motor, controller and pack: current, torque and sag at a throttle and a speed of rotation.

A first-order motor behind a chopper: the controller hands on the share s of the pack's voltage and
draws the share s of the motor's current. Sources: Drela, *First-Order DC Electric Motor Model*, MIT
(2007), equations 1 to 6; chopper relation from the balance of power of an ideal step-down
converter. Checked in ``tests/verification/test_motor.py`` and ``test_battery.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.jit import scalar

# Resistance of one measured pack against 25 C: 1.7 times at 10 C, 2.6 times at 0 C.
WARM_PACK_C = 25.0
COOL_PACK_C = 10.0
COLD_PACK_C = 0.0
COOL_FACTOR = 1.7
COLD_FACTOR = 2.6
WARMEST_FACTOR = 0.8


class Motor(NamedTuple):
    """Motor and controller."""

    ke_vs: float  # volts per rad/s, and newton metres per ampere
    resistance_ohm: float  # motor and controller together
    idle_current_a: float
    dead_band: float  # throttle below which nothing turns
    start_delay_s: float  # from the first throttle to the first turn
    soft_rise_per_s: float  # the controller's own limit on the rise


class Pack(NamedTuple):
    """The flight pack on the day."""

    open_volts: float
    resistance_ohm: float
    floor_volts: float  # of the regulator that feeds the autopilot


@scalar
def motor_current(motor: Motor, pack: Pack, throttle: float, spin_radps: float) -> float:
    """Return the motor's current [A], never below zero (no braking).

    Parameters: throttle as applied [0..1]; speed of rotation [rad/s].
    Equation: ``I = (s U_oc - Ke w) / (R + s^2 R_b)``, from ``s (U_oc - s I R_b) = I R + Ke w``.
    Source: Drela (2007), equation 1, behind an ideal chopper.
    """
    drive_v = throttle * pack.open_volts - motor.ke_vs * spin_radps
    return max(0.0, drive_v / (motor.resistance_ohm + throttle * throttle * pack.resistance_ohm))


@scalar
def pack_current(motor: Motor, pack: Pack, throttle: float, spin_radps: float) -> float:
    """Return the pack's current [A]: ``I_b = s I`` (power in = power out of an ideal chopper)."""
    return throttle * motor_current(motor, pack, throttle, spin_radps)


@scalar
def loaded_volts(pack: Pack, current_a: float) -> float:
    """Return the pack's voltage [V] under a current [A]: ``U = U_oc - I_b R_b``."""
    return pack.open_volts - current_a * pack.resistance_ohm


@scalar
def motor_torque(motor: Motor, current_a: float) -> float:
    """Return the electromagnetic torque [N m] of a motor current [A]: ``Ke I``, friction not taken off."""
    return motor.ke_vs * current_a


@scalar
def driving_torque(motor: Motor, current_a: float) -> float:
    """Return the torque left at the shaft of a turning motor [N m]: ``Q = Ke (I - I0)``.

    Source: Drela (2007), equation 2.
    """
    return motor.ke_vs * (current_a - motor.idle_current_a)


@scalar
def applied_throttle(motor: Motor, asked: float, since_asked_s: float) -> float:
    """Return the throttle that reaches the motor [0..1].

    ``asked`` is the autopilot's demand [0..1], ``since_asked_s`` the time since the demand left the
    dead band. Nothing below the dead band or before the start delay is over; then no faster than
    the controller's soft rise. Source: common practice, no source.
    """
    turning_s = since_asked_s - motor.start_delay_s
    if asked <= motor.dead_band or turning_s < 0.0:
        return 0.0
    return min(asked, motor.soft_rise_per_s * turning_s)


@scalar
def cell_volts(charge: float) -> float:
    """Return the open-circuit voltage [V] of a lithium-polymer cell from its charge [0..1].

    Equation: ``-1.031 exp(-35 s) + 3.685 + 0.2156 s - 0.1178 s^2 + 0.3201 s^3``.
    Source: Chen and Rincon-Mora, IEEE Trans. Energy Conversion 21 (2006) 504, equation 2,
    doi 10.1109/TEC.2006.874229.
    """
    s = min(1.0, max(0.0, charge))
    return -1.031 * math.exp(-35.0 * s) + 3.685 + s * (0.2156 + s * (-0.1178 + s * 0.3201))


@scalar
def cold_factor(temperature_c: float) -> float:
    """Return the pack's resistance over its resistance at 25 C, from its temperature [C].

    Exponential through 1.7 at 10 C and 2.6 at 0 C, and through 1 at 25 C; held at 0.8 when hot.
    Source: one measured pack, common practice.
    """
    if temperature_c >= COOL_PACK_C:
        slope = math.log(COOL_FACTOR) / (WARM_PACK_C - COOL_PACK_C)
        return max(WARMEST_FACTOR, math.exp(slope * (WARM_PACK_C - temperature_c)))
    slope = math.log(COLD_FACTOR / COOL_FACTOR) / (COOL_PACK_C - COLD_PACK_C)
    return COOL_FACTOR * math.exp(slope * (COOL_PACK_C - max(-20.0, temperature_c)))

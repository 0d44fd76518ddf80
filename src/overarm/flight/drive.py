"""The drive on the ground: controller start, dead band, soft rise, and the propeller's spin-up."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.flight.forces import drive_torque, spin_rate
from overarm.jit import scalar
from overarm.physics.motor import applied_throttle, loaded_volts
from overarm.physics.propeller import thrust

NOT_YET = -1.0
LONGEST_SPIN_STEP_S = 0.005


class Drive(NamedTuple):
    """Controller and propeller."""

    asked_s: float  # when the demand first passed the dead band; NOT_YET before
    throttle: float  # what the controller applies, 0..1
    spin_radps: float


@scalar
def asked_since(rec: Any, drive: Drive, demand: float, t_s: float) -> float:
    """Return when the demand first passed the dead band [s], or NOT_YET."""
    if drive.asked_s == NOT_YET and demand > rec.motor.dead_band:
        return t_s
    return drive.asked_s


@scalar
def drive_step(
    rec: Any, table: Any, drive: Drive, demand: float, airspeed_mps: float, t_s: float, step_s: float
) -> Drive:
    """Advance controller and propeller by one step while the model is held (midpoint rule)."""
    asked = asked_since(rec, drive, demand, t_s)
    throttle = applied_throttle(rec.motor, demand, t_s - asked)
    spin = drive.spin_radps
    if throttle <= 0.0 and spin <= 0.0:
        return Drive(asked, throttle, 0.0)
    parts = max(1, math.ceil(step_s / LONGEST_SPIN_STEP_S - 1e-9))
    part = step_s / float(parts)
    for _ in range(parts):
        middle = spin + 0.5 * part * spin_rate(rec, table, throttle, airspeed_mps, spin)
        spin = max(0.0, spin + part * spin_rate(rec, table, throttle, airspeed_mps, middle))
    return Drive(asked, throttle, spin)


@scalar
def drive_seen(rec: Any, table: Any, drive: Drive, airspeed_mps: float) -> tuple[float, float]:
    """Return (thrust [N], pack volts under load [V]) of the drive while the model is held."""
    turns = drive.spin_radps / (2.0 * math.pi)
    push = thrust(rec.propeller, rec.air.density_kgpm3, airspeed_mps, turns, table)
    _, amps = drive_torque(rec, drive.throttle, drive.spin_radps)
    return push, loaded_volts(rec.pack, amps)

"""Motor, propeller and pack brought together: balance of torque, bench readings, spool time.

Each formula with its source: ``docs/theory/motor.md``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.cache import Figures, kept
from overarm.errors import InputError, Problem
from overarm.physics.motor import Motor, Pack, driving_torque, loaded_volts, motor_current, pack_current
from overarm.physics.propeller import Propeller, shaft_torque, spin_energy, thrust, tip_speed

Floats = npt.NDArray[np.float64]

RPM_PER_RADPS = 30.0 / math.pi
BELIEVABLE_SCALES = (0.4, 2.5)  # bench reading over computed, own estimate


class Match(NamedTuple):
    """Where motor, propeller and pack settle at one throttle, standing still."""

    throttle: float
    rpm: float
    thrust_n: float
    torque_nm: float
    current_a: float  # of the pack
    volts: float  # of the pack under load
    tip_speed_mps: float
    energy_j: float


class Reading(NamedTuple):
    """One bench reading; None where not read."""

    throttle: float
    pull_n: float
    current_a: float | None
    volts: float | None
    rpm: float | None


class Drive(NamedTuple):
    """All that turns the propeller, and the air it turns in."""

    propeller: Propeller
    table: Floats
    motor: Motor
    pack: Pack
    density_kgpm3: float


def settle(drive: Drive, throttle: float, airspeed_mps: float = 0.0) -> Match:
    """Return where torque of motor and propeller balance at a throttle [0..1] and airspeed [m/s].

    Equation: ``Ke (I - I0) = Q(V, n)``, I from the chopper relation. At a throttle too low to
    overcome friction the propeller stands. The root is kept in the cache: finding it again would load
    ``scipy.optimize``, which takes longer than a thousand launches.
    """

    def surplus(spin_radps: float) -> float:
        amps = motor_current(drive.motor, drive.pack, throttle, spin_radps)
        load = shaft_torque(
            drive.propeller, drive.density_kgpm3, airspeed_mps, spin_radps / (2.0 * math.pi), drive.table
        )
        return float(driving_torque(drive.motor, amps) - load)

    fastest_radps = throttle * drive.pack.open_volts / drive.motor.ke_vs
    spin_radps = 0.0
    if fastest_radps > 0.0 and surplus(0.0) > 0.0:
        inputs = {
            "drive": [*drive.propeller, *drive.motor, *drive.pack, drive.density_kgpm3],
            "table": drive.table.tolist(),
            "throttle": throttle,
            "airspeed": airspeed_mps,
        }
        found = kept("balance", inputs, ("spin_radps",), lambda: _root(surplus, fastest_radps))
        spin_radps = found["spin_radps"]
    return _at(drive, throttle, airspeed_mps, spin_radps)


def _root(surplus: Callable[[float], float], fastest_radps: float) -> Figures:
    from scipy.optimize import brentq

    return {"spin_radps": float(brentq(surplus, 0.0, fastest_radps, xtol=1e-6))}


def _at(drive: Drive, throttle: float, airspeed_mps: float, spin_radps: float) -> Match:
    turns = spin_radps / (2.0 * math.pi)
    propeller, table = drive.propeller, drive.table
    amps = pack_current(drive.motor, drive.pack, throttle, spin_radps)
    return Match(
        throttle=throttle,
        rpm=spin_radps * RPM_PER_RADPS,
        thrust_n=thrust(propeller, drive.density_kgpm3, airspeed_mps, turns, table),
        torque_nm=shaft_torque(propeller, drive.density_kgpm3, airspeed_mps, turns, table),
        current_a=amps,
        volts=loaded_volts(drive.pack, amps),
        tip_speed_mps=tip_speed(propeller, turns),
        energy_j=spin_energy(propeller, turns),
    )


def spool_time(drive: Drive, match: Match) -> float:
    """Return the time constant [s] of the speed of rotation near a match.

    Equation: ``tau = J/(Ke^2/(R + s^2 R_b) + 2 Q/omega)``.
    Source: ``J domega/dt = Ke (I - I0) - Q`` made linear about the match, Q as omega squared.
    """
    spin_radps = match.rpm / RPM_PER_RADPS
    if spin_radps <= 0.0:
        return 0.0
    resistance_ohm = drive.motor.resistance_ohm + match.throttle**2 * drive.pack.resistance_ohm
    braking = drive.motor.ke_vs**2 / resistance_ohm + 2.0 * match.torque_nm / spin_radps
    return drive.propeller.inertia_kg_m2 / braking


def rpm_at_tip(diameter_m: float, tip_mps: float) -> float:
    """Return the rpm at which the tip of a propeller [m] moves at a speed [m/s]."""
    return 60.0 * tip_mps / (math.pi * diameter_m)


def blade_pass(blades: int, rpm: float) -> float:
    """Return the blade-pass frequency [Hz]: ``blades rpm/60``."""
    return blades * rpm / 60.0


def _reading_spin(drive: Drive, reading: Reading) -> float | None:
    """Return the speed of rotation [rad/s] that a reading stands for, None if it does not say.

    A read rpm wins; else the current gives it: ``w = (s U_oc - I (R + s^2 R_b))/Ke``.
    """
    if reading.rpm is not None:
        return reading.rpm / RPM_PER_RADPS
    if reading.current_a is None:
        return None
    amps = reading.current_a / reading.throttle
    drop = amps * (drive.motor.resistance_ohm + reading.throttle**2 * drive.pack.resistance_ohm)
    return (reading.throttle * drive.pack.open_volts - drop) / drive.motor.ke_vs


def calibrated(bench: Drive, readings: tuple[Reading, ...]) -> tuple[Propeller, tuple[str, ...]]:
    """Return the propeller scaled to the bench reading at the highest throttle, and what was left over.

    ``bench`` has the pack that is assumed where a reading gives no volts and current; where it gives
    both, the pack's voltage at rest follows from them. The pull gives the thrust scale, rpm (or else
    current) the torque scale; the other readings are only compared, in the notes. Raises InputError
    when a reading cannot come from this motor.
    """
    if not readings:
        return bench.propeller, ()
    top = max(readings, key=lambda reading: reading.throttle)
    notes = []
    if top.volts is not None and top.current_a is not None:
        open_volts = top.volts + top.current_a * bench.pack.resistance_ohm
        bench = bench._replace(pack=bench.pack._replace(open_volts=open_volts))
    else:
        notes.append(
            "The bench reading does not give volts and current: a full warm pack "
            f"({bench.pack.open_volts:.1f} V at rest) is assumed there."
        )
    for reading in readings:
        _refuse_more_than_ideal(bench, reading)
    torque_scale = bench.propeller.torque_scale
    spin_radps = _reading_spin(bench, top)
    if spin_radps is not None:
        amps = motor_current(bench.motor, bench.pack, top.throttle, max(0.0, spin_radps))
        shaft_nm = driving_torque(bench.motor, amps)
        if spin_radps <= 0.0 or shaft_nm <= 0.0:
            raise _wrong_reading(
                top,
                "this motor on this pack does not turn so",
                "Check kv, motor_resistance, pack volts, and the reading's rpm and current.",
            )
        torque_scale *= shaft_nm / _at(bench, top.throttle, 0.0, spin_radps).torque_nm
    scaled = bench._replace(propeller=bench.propeller._replace(torque_scale=torque_scale))
    thrust_scale = bench.propeller.thrust_scale * top.pull_n / settle(scaled, top.throttle).thrust_n
    if top.volts is None or top.current_a is None:
        _refuse_far_off(top, thrust_scale, torque_scale)
    propeller = scaled.propeller._replace(thrust_scale=thrust_scale)
    notes.append(
        f"Thrust and torque scaled by {thrust_scale:.2f} and {torque_scale:.2f} to the bench reading at "
        f"{top.throttle * 100:.0f} % throttle."
    )
    scaled = scaled._replace(propeller=propeller)
    left_over = [note for reading in readings for note in _left_over(scaled, reading)]
    return propeller, (*notes, *left_over)


def _wrong_reading(reading: Reading, message: str, cure: str) -> InputError:
    value = f"the reading at {reading.throttle * 100:.0f} % throttle, pull {reading.pull_n:.3g} N"
    return InputError([Problem(message, cure, key="power.bench", value=value)])


def _refuse_more_than_ideal(bench: Drive, reading: Reading) -> None:
    """Raise InputError if a reading pulls more than a disc without any loss could.

    Equation: ``T <= (2 rho A P^2)^(1/3)``, P the electrical power, A the area of the disc.
    Source: momentum theory, as in docs/theory/propeller.md.
    """
    if reading.volts is None or reading.current_a is None:
        return
    disc_m2 = 0.25 * math.pi * bench.propeller.diameter_m**2
    power_w = reading.volts * reading.current_a
    ideal_n = (2.0 * bench.density_kgpm3 * disc_m2 * power_w**2) ** (1.0 / 3.0)
    if reading.pull_n > ideal_n:
        raise _wrong_reading(
            reading,
            f"is more than {ideal_n:.1f} N, the most that a disc of this size gives for {power_w:.0f} W",
            "Check pull, its unit, current, volts and the propeller's diameter.",
        )


def _refuse_far_off(reading: Reading, thrust_scale: float, torque_scale: float) -> None:
    """Raise InputError if a reading that gives no power is far from what this propeller does."""
    low, high = BELIEVABLE_SCALES
    for name, scale in (("pull", thrust_scale), ("torque", torque_scale)):
        if not low <= scale <= high:
            raise _wrong_reading(
                reading,
                f"has {scale:.2g} times the {name} computed for it; {low:g} to {high:g} is believable",
                "Check pull, rpm and current with their units, kv and propeller; give volts and current.",
            )


def _left_over(drive: Drive, reading: Reading) -> list[str]:
    """Return sentences on what the scaled drive misses of a reading by more than 3 %."""
    match = settle(drive, reading.throttle)
    pairs = (
        ("pull", match.thrust_n, reading.pull_n, "N"),
        ("current", match.current_a, reading.current_a, "A"),
        ("speed", match.rpm, reading.rpm, "rpm"),
    )
    return [
        f"At {reading.throttle * 100:.0f} % throttle the model gives a {name} of {value:.3g} {unit}, the "
        f"bench read {read:.3g} {unit} ({100.0 * (value / read - 1.0):+.0f} %)."
        for name, value, read, unit in pairs
        if read is not None and read > 0.0 and abs(value / read - 1.0) > 0.03
    ]

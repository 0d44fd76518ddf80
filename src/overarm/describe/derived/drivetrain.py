"""From the power card and the day to motor, pack, propeller and its table."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.blade import Blade, Speed, blade_table, generic_blade
from overarm.describe.derived.inertia import propeller_inertia
from overarm.describe.derived.propeller_file import Coefficients, read_propeller, table_of
from overarm.describe.derived.propulsion import Drive, Match, Reading, calibrated, settle
from overarm.errors import Problem, UnphysicalError
from overarm.physics.motor import Motor, Pack, cell_volts, cold_factor
from overarm.physics.propeller import REFERENCE_RADIUS, Propeller

if TYPE_CHECKING:
    from pathlib import Path

Floats = npt.NDArray[np.float64]

PASSES = 2  # the table depends on the speed of rotation, which depends on the table


class PowerValues(NamedTuple):
    """The power card and the day in plain numbers. None: not given."""

    diameter_m: float
    pitch_m: float
    blades: int
    propeller_kg: float
    motor_kg: float
    rotor_radius_m: float
    turning: float  # +1 clockwise seen from behind
    behind: float
    height_m: float
    tilt_rad: float
    motor: Motor
    cells: int
    pack_ohm: float  # at 25 C
    pack_temperature_c: float
    open_volts: float | None
    floor_volts: float
    ceiling: float
    density_kgpm3: float


class Driven(NamedTuple):
    """The drive with its two matches and what there is to say about it."""

    drive: Drive
    full: Match
    half: Match
    notes: tuple[str, ...]


@lru_cache(maxsize=64)
def _generic_table(diameter_m: float, pitch_m: float, blades: int, rim_mps: float) -> Floats:
    """Return the table of a generic blade; it is kept, since a change of other cards asks for it again."""
    table = blade_table(generic_blade(diameter_m, pitch_m, blades), Speed(diameter_m, rim_mps))
    table.flags.writeable = False
    return table


def _table(power: PowerValues, own: Coefficients | Blade | None, rpm: float) -> Floats:
    rim_mps = REFERENCE_RADIUS * math.pi * power.diameter_m * rpm / 60.0
    if isinstance(own, Blade):
        return blade_table(own, Speed(power.diameter_m, rim_mps))
    table = _generic_table(power.diameter_m, power.pitch_m, power.blades, rim_mps)
    return table_of(own, table) if isinstance(own, Coefficients) else table


def _full_warm_pack(power: PowerValues) -> Pack:
    return Pack(power.cells * cell_volts(1.0), power.pack_ohm, power.floor_volts)


def _day_pack(power: PowerValues) -> Pack:
    full = _full_warm_pack(power)
    return full._replace(
        open_volts=full.open_volts if power.open_volts is None else power.open_volts,
        resistance_ohm=power.pack_ohm * cold_factor(power.pack_temperature_c),
    )


def drivetrain(power: PowerValues, readings: tuple[Reading, ...], rows_from: Path | None) -> Driven:
    """Return motor, pack and propeller matched at the launch ceiling and at half throttle.

    Parameters: the power card and the day; bench readings, may be none; a CSV file of the user's own
    coefficients or blade shape, or None. Raises InputError for a bad file or reading, UnphysicalError
    when the motor does not turn the propeller at the launch ceiling.
    """
    inertia = propeller_inertia(power.propeller_kg, power.diameter_m, power.motor_kg, power.rotor_radius_m)
    propeller = Propeller(
        power.diameter_m, inertia, 1.0, 1.0, power.turning, power.height_m, power.tilt_rad, power.behind
    )
    pack = _day_pack(power)
    own = None if rows_from is None else read_propeller(rows_from, power.blades)
    rpm = 0.5 * power.ceiling * pack.open_volts / power.motor.ke_vs * 30.0 / math.pi
    notes: tuple[str, ...] = ()
    for _ in range(PASSES):
        table = _table(power, own, rpm)
        bench = Drive(propeller, table, power.motor, _full_warm_pack(power), power.density_kgpm3)
        scaled, notes = calibrated(bench, readings)
        drive = bench._replace(propeller=scaled, pack=pack)
        full = settle(drive, power.ceiling)
        rpm = full.rpm
        if rpm <= 0.0 or full.thrust_n <= 0.0:
            problem = Problem(
                f"the motor does not turn the propeller at {power.ceiling * 100:.0f} % throttle",
                "Check kv, motor_resistance, no_load_current, pack_volts and the propeller.",
                key="power",
            )
            raise UnphysicalError([problem])
    if power.pitch_m > 0.8 * power.diameter_m and not readings and own is None:
        notes = (*notes, "The pitch is above 0.8 of the diameter: computed static pull is unreliable there.")
    return Driven(drive, full, settle(drive, 0.5), notes)

"""Thrust and shaft torque of a propeller at any airspeed and speed of rotation, standing or turning.

The coefficients are held over the advance angle phi = atan2(V, 0.7 pi n D), the angle at which the
air meets the blade at 70 % radius. Written so, they stay finite when the propeller stands still.

Source of the form: the four-quadrant coefficients of the Wageningen B-screw series, Oosterveld and
van Oossanen, *International Shipbuilding Progress* 22 (1975) 251. Checked in
``tests/verification/test_propeller_rows.py``.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from overarm.jit import scalar

# The knots of the table lie evenly over V/(V + 0.7 pi n D), which goes from 0 to 1, as phi from 0 to pi/2.
KNOTS = 65
LAST_KNOT = KNOTS - 1
# Air and blade both slower than this stand still.
STANDING_MPS = 1e-9
REFERENCE_RADIUS = 0.7


class Propeller(NamedTuple):
    """One propeller with all that turns with it, and where it sits.

    ``thrust_scale`` and ``torque_scale`` multiply the table; ``turning`` is +1 clockwise seen from
    behind; ``height_m`` is the thrust line above the balance point; ``tilt_rad`` is thrust up;
    ``behind`` is 1 for a pusher, 0 for a tractor.
    """

    diameter_m: float
    inertia_kg_m2: float  # blades and rotor
    thrust_scale: float
    torque_scale: float
    turning: float
    height_m: float
    tilt_rad: float
    behind: float


@scalar
def rim_speed(propeller: Propeller, rev_per_s: float) -> float:
    """Return the speed [m/s] of the blade at 70 % radius, from turns per second."""
    return REFERENCE_RADIUS * math.pi * max(0.0, rev_per_s) * propeller.diameter_m


@scalar
def advance_share(propeller: Propeller, airspeed_mps: float, rev_per_s: float) -> float:
    """Return the place in the table: 0 (standing in still air, or no airspeed) to 1 (stopped).

    Parameters: axial airspeed [m/s] and speed of rotation [1/s]; negative values count as zero.
    Equation: ``V/(V + 0.7 pi n D)``, which is ``sin(phi)/(sin(phi) + cos(phi))`` of the advance angle
    ``phi = atan2(V, 0.7 pi n D)`` of Oosterveld and van Oossanen (1975), and needs no inverse tangent.
    """
    axial = max(0.0, airspeed_mps)
    return axial / max(STANDING_MPS, axial + rim_speed(propeller, rev_per_s))


@scalar
def table_value(table: Any, row: int, share: float) -> float:
    """Return row 0 (thrust) or 1 (torque) of the table at an `advance_share`, linear between its knots."""
    place = share * LAST_KNOT
    knot = max(0, min(LAST_KNOT - 1, int(place)))
    past = place - float(knot)
    return float(table[row, knot] * (1.0 - past) + table[row, knot + 1] * past)


@scalar
def blade_pressure_area(
    propeller: Propeller, density_kgpm3: float, airspeed_mps: float, rev_per_s: float
) -> float:
    """Return the dynamic pressure at 70 % radius times the disc area [N]."""
    rim = rim_speed(propeller, rev_per_s)
    axial = max(0.0, airspeed_mps)
    disc_m2 = 0.25 * math.pi * propeller.diameter_m * propeller.diameter_m
    return 0.5 * density_kgpm3 * disc_m2 * (axial * axial + rim * rim)


@scalar
def thrust(
    propeller: Propeller, density_kgpm3: float, airspeed_mps: float, rev_per_s: float, table: Any
) -> float:
    """Return the thrust [N]; negative when the propeller brakes.

    Parameters: air density [kg/m3]; axial airspeed [m/s] (below zero counts as zero); speed of
    rotation [1/s]; table (2, 65) over the advance angle.
    Equation: ``T = 0.5 rho A (V^2 + (0.7 pi n D)^2) CT*(phi)``.
    Source: Oosterveld and van Oossanen (1975).
    """
    share = advance_share(propeller, airspeed_mps, rev_per_s)
    pull = blade_pressure_area(propeller, density_kgpm3, airspeed_mps, rev_per_s)
    return propeller.thrust_scale * pull * table_value(table, 0, share)


@scalar
def shaft_torque(
    propeller: Propeller, density_kgpm3: float, airspeed_mps: float, rev_per_s: float, table: Any
) -> float:
    """Return the torque [N m] that the shaft needs; negative when the air drives the propeller.

    Parameters as for ``thrust``. Equation:
    ``Q = 0.5 rho A D (V^2 + (0.7 pi n D)^2) CQ*(phi)``. Source: Oosterveld and van Oossanen (1975).
    """
    share = advance_share(propeller, airspeed_mps, rev_per_s)
    pull = blade_pressure_area(propeller, density_kgpm3, airspeed_mps, rev_per_s)
    return propeller.torque_scale * pull * propeller.diameter_m * table_value(table, 1, share)


@scalar
def table_pair(table: Any, share: float) -> tuple[float, float]:
    """Return the thrust and the torque of the table at an `advance_share`."""
    return table_value(table, 0, share), table_value(table, 1, share)


@scalar
def thrust_and_torque(
    propeller: Propeller,
    density_kgpm3: float,
    airspeed_mps: float,
    rev_per_s: float,
    pair: tuple[float, float],
) -> tuple[float, float]:
    """Return (`thrust` [N], `shaft_torque` [N m]) from the `table_pair` at this airspeed and speed."""
    pull = blade_pressure_area(propeller, density_kgpm3, airspeed_mps, rev_per_s)
    push = propeller.thrust_scale * pull * pair[0]
    return push, propeller.torque_scale * pull * propeller.diameter_m * pair[1]


@scalar
def tip_speed(propeller: Propeller, rev_per_s: float) -> float:
    """Return the speed of the blade tip [m/s] in the plane of the disc: ``pi n D``."""
    return math.pi * rev_per_s * propeller.diameter_m


@scalar
def spin_energy(propeller: Propeller, rev_per_s: float) -> float:
    """Return the energy [J] held in the turning parts: ``J omega^2 / 2``."""
    spin_radps = 2.0 * math.pi * rev_per_s
    return 0.5 * propeller.inertia_kg_m2 * spin_radps * spin_radps

"""How long a pack lasts: Peukert's law, level flight on it, and what is left with a reserve.

Sources: W. Peukert, *Elektrotechnische Zeitschrift* 18 (1897) 287, in the form with a rating time;
L. W. Traub, *Journal of Aircraft* 48 (2011) 703, doi 10.2514/1.C031027, for level flight on such a
pack. Checked in ``tests/verification/test_endurance.py``.
"""

from __future__ import annotations

import math

from overarm.physics.climb import Polar, least_power_lift, level_drag, speed_at_lift
from overarm.physics.motor import cell_volts

HOUR_S = 3600.0


def peukert_time(capacity_ah: float, current_a: float, exponent: float, rating_h: float = 1.0) -> float:
    """Return how long [s] a pack gives a steady current [A].

    Parameters: capacity [A h] as rated over ``rating_h`` [h]; current [A], above zero; Peukert exponent,
    1 for an ideal pack, about 1.05 for a lithium-polymer one (common practice, no source).
    Equation: ``t = R^(1-n) (C/I)^n``, t and R in hours.
    """
    return HOUR_S * math.pow(rating_h, 1.0 - exponent) * math.pow(capacity_ah / current_a, exponent)


def level_endurance(
    polar: Polar,
    airspeed_mps: float,
    capacity_ah: float,
    volts_v: float,
    *,
    efficiency: float,
    exponent: float,
    rating_h: float = 1.0,
) -> float:
    """Return how long [s] an aeroplane flies level on the whole of a pack.

    ``efficiency`` is thrust power over electric power. Equation: Peukert's law at the current
    ``I = D V/(eta U)``; Traub (2011), equation 13 in our form.
    """
    current_a = level_drag(polar, airspeed_mps) * airspeed_mps / (efficiency * volts_v)
    return peukert_time(capacity_ah, current_a, exponent, rating_h)


def longest_endurance_speed(polar: Polar) -> float:
    """Return the airspeed [m/s] of least power: ``sqrt(2 W/(rho S) sqrt(k/(3 CD0)))`` (Traub 2011)."""
    return speed_at_lift(polar, least_power_lift(polar))


def longest_range_speed(polar: Polar, exponent: float) -> float:
    """Return the airspeed [m/s] that goes furthest in still air on a pack with a Peukert exponent.

    Equation: most ``V t`` with ``t ~ (D V)^-n``: ``U^4 = (2 W/(rho S))^2 (k/CD0) (n + 1)/(3 n - 1)``;
    n = 1 gives the speed of the flattest glide. Source: from Traub's (2011) range integral.
    """
    share = (exponent + 1.0) / (3.0 * exponent - 1.0)
    lift = math.sqrt(polar.drag_zero / polar.drag_induced / share)
    return speed_at_lift(polar, lift)


def charge_of_cell(open_volts_v: float) -> float:
    """Return the charge [0..1] of a resting lithium-polymer cell from its voltage [V] (bisection).

    The inverse of `overarm.physics.motor.cell_volts`; below and above its range 0 and 1.
    """
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if cell_volts(middle) < open_volts_v:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)

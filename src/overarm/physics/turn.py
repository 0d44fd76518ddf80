"""Turns: radius, rate and bank in still air, and a circle that is held over the ground in wind.

Source: Anderson, *Introduction to Flight*, chapter 6, level turn: ``L cos(phi) = W`` and
``L sin(phi) = m V^2/R``; any text on flight mechanics. The ground circle is the same balance with the
speed over the ground. Checked in ``tests/verification/test_turn.py``.
"""

from __future__ import annotations

import math

from overarm.air import GRAVITY_MPS2


def turn_radius(airspeed_mps: float, bank_rad: float) -> float:
    """Return the radius [m] of a level turn in still air: ``R = V^2/(g tan(phi))``."""
    return airspeed_mps * airspeed_mps / (GRAVITY_MPS2 * math.tan(bank_rad))


def turn_rate(airspeed_mps: float, bank_rad: float) -> float:
    """Return the rate [rad/s] of a level turn: ``g tan(phi)/V``."""
    return GRAVITY_MPS2 * math.tan(bank_rad) / airspeed_mps


def load_factor(bank_rad: float) -> float:
    """Return lift over weight in a level turn: ``1/cos(phi)``."""
    return 1.0 / math.cos(bank_rad)


def stall_ratio(bank_rad: float) -> float:
    """Return the stall speed in a level turn over the one in straight flight: ``1/sqrt(cos(phi))``."""
    return math.sqrt(load_factor(bank_rad))


def extra_induced_share(bank_rad: float) -> float:
    """Return the induced drag that a level turn adds, as a share of that in straight flight.

    Equation: ``n^2 - 1 = tan(phi)^2``, since induced drag goes with the square of the lift.
    """
    return math.tan(bank_rad) ** 2


def ground_circle_radius(airspeed_mps: float, wind_mps: float, bank_rad: float) -> float:
    """Return the least radius [m] of a circle over the ground that this bank holds in a wind [m/s].

    Equation: ``R = (V + W)^2/(g tan(phi))``: flying with the wind the aeroplane covers the ground at
    V + W, and that is where the circle asks for the steepest bank.
    """
    ground_mps = airspeed_mps + wind_mps
    return ground_mps * ground_mps / (GRAVITY_MPS2 * math.tan(bank_rad))


def ground_circle_bank(airspeed_mps: float, wind_mps: float, radius_m: float) -> float:
    """Return the bank [rad] that a circle over the ground asks for at its worst point.

    Equation: ``tan(phi) = (V + W)^2/(g R)``, the inverse of `ground_circle_radius`.
    """
    ground_mps = airspeed_mps + wind_mps
    return math.atan(ground_mps * ground_mps / (GRAVITY_MPS2 * radius_m))

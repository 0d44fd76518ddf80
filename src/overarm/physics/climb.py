"""Steady glide, level flight and climb in closed form, from the parabolic drag polar.

``CD = CD0 + k CL^2``. Source: Anderson, *Introduction to Flight*, chapter 6; any text on flight
mechanics. Checked in ``tests/verification/test_climb_glide.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2


class Polar(NamedTuple):
    """An aeroplane as a weight with a drag polar, in air of one density."""

    mass_kg: float
    area_m2: float
    drag_zero: float
    drag_induced: float  # k in CD = CD0 + k CL^2
    density_kgpm3: float


class Glide(NamedTuple):
    """A steady glide."""

    lift: float
    ratio: float  # lift over drag
    path_rad: float  # below the horizon, negative
    airspeed_mps: float
    sink_mps: float


def level_lift(polar: Polar, airspeed_mps: float) -> float:
    """Return the lift coefficient that carries the weight at an airspeed [m/s]: ``2 W/(rho V^2 S)``."""
    pressure_area_n = 0.5 * polar.density_kgpm3 * airspeed_mps * airspeed_mps * polar.area_m2
    return polar.mass_kg * GRAVITY_MPS2 / pressure_area_n


def speed_at_lift(polar: Polar, lift: float, carried_share: float = 1.0) -> float:
    """Return the airspeed [m/s] at which a lift coefficient carries this share of the weight."""
    weight_n = carried_share * polar.mass_kg * GRAVITY_MPS2
    return math.sqrt(2.0 * weight_n / (polar.density_kgpm3 * polar.area_m2 * lift))


def level_drag(polar: Polar, airspeed_mps: float, load: float = 1.0) -> float:
    """Return the drag [N] at an airspeed [m/s] with lift = ``load`` times the weight.

    Equation: ``D = q S (CD0 + k (n CL)^2)``.
    """
    lift = load * level_lift(polar, airspeed_mps)
    pressure_area_n = 0.5 * polar.density_kgpm3 * airspeed_mps * airspeed_mps * polar.area_m2
    return pressure_area_n * (polar.drag_zero + polar.drag_induced * lift * lift)


def steady_glide(polar: Polar, lift: float) -> Glide:
    """Return the steady glide at a lift coefficient, the motor off and without drag of its propeller.

    Equations: ``tan(gamma) = -CD/CL``, ``L = W cos(gamma)``, sink ``V sin(gamma)``.
    """
    ratio = lift / (polar.drag_zero + polar.drag_induced * lift * lift)
    path_rad = -math.atan(1.0 / ratio)
    airspeed_mps = speed_at_lift(polar, lift, math.cos(path_rad))
    return Glide(lift, ratio, path_rad, airspeed_mps, -airspeed_mps * math.sin(path_rad))


def flattest_lift(polar: Polar) -> float:
    """Return the lift coefficient of the largest lift over drag: ``sqrt(CD0/k)``."""
    return math.sqrt(polar.drag_zero / polar.drag_induced)


def least_power_lift(polar: Polar) -> float:
    """Return the lift coefficient of least power, which is also that of least sink: ``sqrt(3 CD0/k)``."""
    return math.sqrt(3.0 * polar.drag_zero / polar.drag_induced)


def climb_sine(thrust_n: float, drag_n: float, mass_kg: float) -> float:
    """Return the sine of the angle of a steady climb: ``(T - D)/W``, kept within -1 and 1."""
    return min(1.0, max(-1.0, (thrust_n - drag_n) / (mass_kg * GRAVITY_MPS2)))


def glide_reach(height_m: float, glide: Glide, headwind_mps: float) -> float:
    """Return how far over the ground [m] a glide from a height reaches; 0 if it makes no way.

    Equation: ``h (V cos(gamma) - W)/(V sin(gamma))``, in a wind that is the same at every height.
    """
    ahead_mps = glide.airspeed_mps * math.cos(glide.path_rad) - headwind_mps
    return max(0.0, height_m * ahead_mps / glide.sink_mps)

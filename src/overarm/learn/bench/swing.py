"""The bifilar swing: moment of inertia from the period of a model that turns on two lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.learn.bench.propagate import Figure, mean_of, propagated


class Swing(NamedTuple):
    """What was measured: mass [kg], length and spacing of the lines [m], and the amplitude [rad]."""

    mass_kg: Figure
    line_m: Figure
    spacing_m: Figure
    amplitude_rad: float


def inertia(mass_kg: float, line_m: float, spacing_m: float, period_s: float) -> float:
    """Return the moment of inertia [kg m2] about the vertical axis midway between two lines.

    Parameters: mass [kg], length of the lines [m], their spacing [m], period of a small swing [s].
    Equation: ``I = m g d^2 T^2/(16 pi^2 L)``. Source: M. R. Jardin & E. R. Mueller (2007), AIAA 2007-6822.
    """
    return mass_kg * GRAVITY_MPS2 * (spacing_m * period_s) ** 2 / (16.0 * math.pi**2 * line_m)


def small_swing(period_s: float, amplitude_rad: float) -> float:
    """Return the period [s] that a small swing would have.

    Equation: ``T0 = T/(1 + A^2/16)``, first term of the pendulum's series; the pull of two long lines goes
    with the sine of the angle too. Source: L. D. Landau & E. M. Lifshitz, *Mechanics*, section 11.
    """
    return period_s / (1.0 + amplitude_rad * amplitude_rad / 16.0)


def swung(swing: Swing, periods: Sequence[Figure]) -> Figure:
    """Return the moment of inertia [kg m2] with its error.

    ``(s/I)^2 = (s_m/m)^2 + (2 s_d/d)^2 + (2 s_T/T)^2 + (s_L/L)^2``, by `propagated`.
    """
    mean = mean_of(periods)
    shrink = small_swing(1.0, swing.amplitude_rad)
    readings = (swing.mass_kg, swing.line_m, swing.spacing_m, mean)
    return propagated(lambda x: inertia(x[0], x[1], x[2], shrink * x[3]), readings)

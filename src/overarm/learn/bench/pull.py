"""Pull on a spring scale at two or more throttles: thrust, its exponent, resistance of the pack."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from overarm.learn.bench.propagate import Figure

FOLLOWS = 8  # times that the weights of the line follow its slope


class PullReading(NamedTuple):
    """One reading: throttle 0..1, pull [N], current [A] and volts [V] of the pack, each with its error."""

    throttle: float
    pull_n: Figure
    current_a: Figure | None
    volts_v: Figure | None


def slope_of(points: Sequence[tuple[float, Figure]]) -> Figure:
    """Return the slope of the straight line through points, weighted by their errors.

    Equation: ``b = sum w (x - X) y / sum w (x - X)^2``, ``s_b = 1/sqrt(sum w (x - X)^2)`` with
    ``w = 1/e^2`` and X the weighted mean; through two points it is their quotient.
    Source: W. H. Press et al., *Numerical Recipes*, 3rd ed. (2007), section 15.2.
    Raises ValueError if all points have the same x.
    """
    weights = [1.0 / y.error**2 for _, y in points]
    middle = sum(w * x for w, (x, _) in zip(weights, points, strict=True)) / sum(weights)
    across = sum(w * (x - middle) ** 2 for w, (x, _) in zip(weights, points, strict=True))
    if across <= 0.0:
        raise ValueError("all readings are at the same place")
    up = sum(w * (x - middle) * y.value for w, (x, y) in zip(weights, points, strict=True))
    return Figure(up / across, 1.0 / math.sqrt(across))


def exponent(readings: Sequence[PullReading]) -> Figure:
    """Return the power k of the throttle with which the pull grows, ``T ~ s^k``.

    Equation: slope of ``ln T`` over ``ln s``; with two readings ``k = ln(T1/T2)/ln(s1/s2)`` and
    ``s_k = sqrt((e1/T1)^2 + (e2/T2)^2)/ln(s1/s2)``. Source: common practice, no source.
    """
    points = [
        (math.log(item.throttle), Figure(math.log(item.pull_n.value), item.pull_n.error / item.pull_n.value))
        for item in readings
    ]
    return slope_of(points)


def pack_resistance(readings: Sequence[PullReading]) -> Figure | None:
    """Return the resistance of the pack [ohm]; None with fewer than two readings of current and volts.

    Equation: minus the slope of volts over current, ``R = (U2 - U1)/(I1 - I2)``; errors of the current
    count as ``R e_I`` volts. Source: Ohm's law; effective variance: J. Orear (1982), Am. J. Phys. 50, 912.
    """
    both = [
        (item.current_a, item.volts_v)
        for item in readings
        if item.current_a is not None and item.volts_v is not None
    ]
    if len({current.value for current, _ in both}) < 2:
        return None
    slope = Figure(0.0, 0.0)
    for _ in range(FOLLOWS):
        points = [
            (current.value, Figure(volts.value, math.hypot(volts.error, slope.value * current.error)))
            for current, volts in both
        ]
        slope = slope_of(points)
    return Figure(-slope.value, slope.error)


def thrust_at(readings: Sequence[PullReading], throttle: float, power: Figure) -> Figure:
    """Return the pull [N] at a throttle, from the reading that is nearest to it.

    Equation: ``T = T1 (s/s1)^k``, ``e^2/T^2 = (e1/T1)^2 + (ln(s/s1) s_k)^2``.
    """
    nearest = min(readings, key=lambda item: abs(math.log(item.throttle / throttle)))
    apart = math.log(throttle / nearest.throttle)
    value = nearest.pull_n.value * math.exp(power.value * apart)
    return Figure(value, value * math.hypot(nearest.pull_n.error / nearest.pull_n.value, apart * power.error))

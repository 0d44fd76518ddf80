"""Glides without power: glide ratio, and the drag at zero lift that goes with it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.learn.bench.propagate import Figure, mean_of, propagated


class Glider(NamedTuple):
    """What all glides share: the aeroplane, the air, the height of the release, the headwind."""

    mass_kg: Figure
    area_m2: Figure
    span_m: float
    span_efficiency: Figure
    density_kgpm3: float
    height_m: Figure
    headwind_mps: Figure


class Flat(NamedTuple):
    """One glide, or all of them: distance over the ground [m] and time [s]."""

    distance_m: Figure
    time_s: Figure


class GlideFigures(NamedTuple):
    """What the glides say: ratio, airspeed [m/s], lift coefficient, drag coefficient at zero lift."""

    ratio: Figure
    airspeed_mps: Figure
    lift: Figure
    drag_zero: Figure


class _Point(NamedTuple):
    ratio: float
    airspeed_mps: float
    lift: float
    drag_zero: float


def steady_glide(glider: Glider, shared: Sequence[float], flown: Sequence[float]) -> _Point:
    """Return the figures of one steady glide.

    Parameters: ``shared`` mass, area, span efficiency, height, headwind; ``flown`` distance and time.
    Equations: distance through the air ``d = distance + headwind t``; ``tan g = h/d``;
    ``V = sqrt(d^2 + h^2)/t``; ``CL = 2 m g cos g/(rho S V^2)``; ``CD = CL tan g``;
    ``CD0 = CD - CL^2/(pi e A)``. Source: J. D. Anderson, *Aircraft Performance and Design* (1999), 5.10.
    """
    mass, area, efficiency, height, wind = shared
    through = flown[0] + wind * flown[1]
    speed = math.hypot(through, height) / flown[1]
    lift = 2.0 * mass * GRAVITY_MPS2 * (through / math.hypot(through, height))
    lift /= glider.density_kgpm3 * area * speed * speed
    aspect = glider.span_m**2 / area
    induced = lift * lift / (math.pi * efficiency * aspect)
    return _Point(through / height, speed, lift, lift * height / through - induced)


def glided(glider: Glider, glides: Sequence[Flat]) -> GlideFigures:
    """Return the mean figures of some glides with their errors.

    What all glides share (mass, height, wind) does not become smaller with more glides; what each has of
    its own does, and is taken from how much the glides differ if that is more than their readings claim.
    """
    shared = (glider.mass_kg, glider.area_m2, glider.span_efficiency, glider.height_m, glider.headwind_mps)
    fixed = [item.value for item in shared]

    def figure(pick: Callable[[_Point], float]) -> Figure:
        own = [
            propagated(lambda x: pick(steady_glide(glider, fixed, x)), (item.distance_m, item.time_s))
            for item in glides
        ]

        def over_all(values: Sequence[float]) -> float:
            found = [
                pick(steady_glide(glider, values, (item.distance_m.value, item.time_s.value)))
                for item in glides
            ]
            return sum(found) / len(found)

        mean, together = mean_of(own), propagated(over_all, shared)
        return Figure(mean.value, math.hypot(mean.error, together.error))

    return GlideFigures(
        figure(lambda point: point.ratio),
        figure(lambda point: point.airspeed_mps),
        figure(lambda point: point.lift),
        figure(lambda point: point.drag_zero),
    )


def stall_lift(glider: Glider, slowest: Sequence[Figure]) -> Figure:
    """Return the largest lift coefficient, from airspeeds [m/s] at which the nose dropped.

    Equation: ``CL = 2 m g/(rho S V^2)``. Source: Anderson (1999), 5.4.
    """
    mean = mean_of(slowest)
    return propagated(
        lambda x: 2.0 * x[0] * GRAVITY_MPS2 / (glider.density_kgpm3 * x[1] * x[2] ** 2),
        (glider.mass_kg, glider.area_m2, mean),
    )

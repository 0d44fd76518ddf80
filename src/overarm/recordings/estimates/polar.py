"""Lift, incidence and drag from felt forces and airspeed, by the polar of the cards or a typical one."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from overarm.recordings.estimates.series import at
from overarm.recordings.estimates.taken import Taken
from overarm.recordings.recording import Numbers

SEA_LEVEL_KGPM3 = 1.225  # ISO 2533
# Of a foam model that nobody has computed: domain figures, own estimate.
TYPICAL_DRAG, TYPICAL_EFFICIENCY, TYPICAL_LIFT_ZERO = 0.040, 0.78, 0.10
COMPUTED_INCIDENCE_ERROR_RAD, TYPICAL_INCIDENCE_ERROR_RAD = math.radians(1.2), math.radians(2.5)
COMPUTED_DRAG_SHARE, TYPICAL_DRAG_SHARE = 0.15, 0.20
LEAST_AIRSPEED_MPS = 3.0
LARGEST_RAD = 0.35


class Aero(NamedTuple):
    """What the forces of an aeroplane are reckoned with."""

    mass_kg: float
    mass_share: float  # error of the mass, as a share
    area_m2: float
    density_kgpm3: float
    lift_zero: float
    lift_alpha: float
    lift_elevator: float
    drag_zero: float
    drag_induced: float
    incidence_error_rad: float
    drag_share: float
    by: str


class Flown(NamedTuple):
    """Incidence [rad], lift [N] and drag by the polar [N], each (n,)."""

    incidence_rad: Numbers
    lift_n: Numbers
    drag_n: Numbers
    pressure_area_n: Numbers  # dynamic pressure times wing area


def aero_of(taken: Taken) -> Aero | None:
    """Return the aeroplane's figures: derived, or typical for its size; None without a setup."""
    setup, derived = taken.setup, taken.derived
    if setup is None:
        return None
    card = setup.airframe
    mass = card.mass_kg
    share = mass.spread / mass.value
    if derived is not None:
        wing = derived.wing
        return Aero(
            mass_kg=mass.value,
            mass_share=share,
            area_m2=wing.area_m2,
            density_kgpm3=derived.density_kgpm3,
            lift_zero=wing.lift_zero,
            lift_alpha=wing.lift_alpha,
            lift_elevator=wing.lift_elevator,
            drag_zero=wing.drag_zero,
            drag_induced=wing.drag_induced,
            incidence_error_rad=COMPUTED_INCIDENCE_ERROR_RAD,
            drag_share=COMPUTED_DRAG_SHARE,
            by="the computed polar",
        )
    aspect = card.span_m.value**2 / card.area_m2.value
    return Aero(
        mass_kg=mass.value,
        mass_share=share,
        area_m2=card.area_m2.value,
        density_kgpm3=SEA_LEVEL_KGPM3,
        lift_zero=TYPICAL_LIFT_ZERO,
        lift_alpha=0.95 * 2.0 * math.pi * aspect / (aspect + 2.0),
        lift_elevator=0.0,
        drag_zero=TYPICAL_DRAG if card.drag_zero is None else card.drag_zero.value,
        drag_induced=1.0 / (math.pi * TYPICAL_EFFICIENCY * aspect),
        incidence_error_rad=TYPICAL_INCIDENCE_ERROR_RAD,
        drag_share=TYPICAL_DRAG_SHARE,
        by="a typical polar",
    )


def elevator_at(taken: Taken, t_s: Numbers) -> Numbers:
    """Return the elevator [rad], trailing edge down, at times (n,): on a flying wing the mean of both.

    Where the surfaces were not recorded, or are ailerons alone, it is the computed trim.
    """
    if taken.derived is None or taken.setup is None:
        return np.zeros(t_s.size)
    left, right = taken.series("left_surface_rad"), taken.series("right_surface_rad")
    if left is None or right is None or taken.setup.airframe.layout == "conventional":
        return np.full(t_s.size, taken.derived.trim_elevator_rad)
    return np.asarray(0.5 * (at(left, t_s) + at(right, t_s)))


def flown(
    aero: Aero, airspeed_mps: Numbers, down_mps2: Numbers, elevator_rad: Numbers, off_rad: float = 0.0
) -> Flown:
    """Return incidence, lift and drag from airspeed and the felt force down through the belly, (n,).

    ``off_rad`` is added to the incidence. Equations: ``L cos(a) + D sin(a) = -m f_z``,
    ``CL = CL0 + CLa a + CLe e``, ``D = q S (CD0 + k CL^2)``, solved by three rounds from a = 0.
    """
    fast = np.maximum(airspeed_mps, LEAST_AIRSPEED_MPS)
    pressure = 0.5 * aero.density_kgpm3 * fast * fast * aero.area_m2
    incidence, drag = np.zeros(fast.size), np.zeros(fast.size)
    lift = -aero.mass_kg * down_mps2
    for _ in range(3):
        lift = (-aero.mass_kg * down_mps2 - drag * np.sin(incidence)) / np.cos(incidence)
        coefficient = lift / pressure
        attached = coefficient - aero.lift_zero - aero.lift_elevator * elevator_rad
        incidence = np.clip(attached / aero.lift_alpha, -LARGEST_RAD, LARGEST_RAD)
        drag = pressure * (aero.drag_zero + aero.drag_induced * coefficient**2)
    return Flown(incidence + off_rad, lift, drag, pressure)

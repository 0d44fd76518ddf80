"""Lift, incidence and drag from felt forces and airspeed, by the polar of the cards or a typical one."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

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
        trimmed = wing.lift_zero + wing.lift_elevator * derived.trim_elevator_rad
        return Aero(
            mass.value, share, wing.area_m2, derived.density_kgpm3, trimmed, wing.lift_alpha, wing.drag_zero,
            wing.drag_induced, COMPUTED_INCIDENCE_ERROR_RAD, COMPUTED_DRAG_SHARE, "the computed polar",
        )  # fmt: skip
    aspect = card.span_m.value**2 / card.area_m2.value
    drag = TYPICAL_DRAG if card.drag_zero is None else card.drag_zero.value
    return Aero(
        mass.value, share, card.area_m2.value, SEA_LEVEL_KGPM3, TYPICAL_LIFT_ZERO,
        0.95 * 2.0 * math.pi * aspect / (aspect + 2.0), drag, 1.0 / (math.pi * TYPICAL_EFFICIENCY * aspect),
        TYPICAL_INCIDENCE_ERROR_RAD, TYPICAL_DRAG_SHARE, "a typical polar",
    )  # fmt: skip


def flown(aero: Aero, airspeed_mps: Numbers, down_mps2: Numbers, off_rad: float = 0.0) -> Flown:
    """Return incidence, lift and drag from airspeed and the felt force down through the belly, (n,).

    ``off_rad`` is added to the incidence. Equations: ``L cos(a) + D sin(a) = -m f_z``,
    ``CL = CL0 + CLa a``, ``D = q S (CD0 + k CL^2)``, solved by three rounds from a = 0.
    """
    fast = np.maximum(airspeed_mps, LEAST_AIRSPEED_MPS)
    pressure = 0.5 * aero.density_kgpm3 * fast * fast * aero.area_m2
    incidence, drag = np.zeros(fast.size), np.zeros(fast.size)
    lift = -aero.mass_kg * down_mps2
    for _ in range(3):
        lift = (-aero.mass_kg * down_mps2 - drag * np.sin(incidence)) / np.cos(incidence)
        coefficient = lift / pressure
        incidence = np.clip((coefficient - aero.lift_zero) / aero.lift_alpha, -LARGEST_RAD, LARGEST_RAD)
        drag = pressure * (aero.drag_zero + aero.drag_induced * coefficient**2)
    return Flown(incidence + off_rad, lift, drag, pressure)

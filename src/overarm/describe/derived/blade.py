"""Propeller coefficients from the shape of the blade: blade elements in a vortex wake.

Each element meets the airspeed, the rotation and the velocity that the wake induces there; the
circulation that follows from its lift must be the one that induces that velocity. Written in one
angle a station, the balance has a solution at rest, in climb, while windmilling and while stopped.

Sources: wake and tip loss: Betz and Prandtl, *Schraubenpropeller mit geringstem Energieverlust*,
Goettingen (1919); the balance in one angle: Drela, propeller theory notes, MIT (2006).
Separated blade: Hoerner, *Fluid-Dynamic Lift* (1985), chapter 4. The numbers of the section model
are our own fit. Checked against wind-tunnel rows in ``tests/verification/test_propeller_rows.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.physics.propeller import KNOTS, REFERENCE_RADIUS

Floats = npt.NDArray[np.float64]

SOUND_MPS = 340.0
KINEMATIC_M2PS = 1.46e-5
HUB_SHARE = 0.12
STATIONS = 24
BISECTIONS = 48
HIGHEST_MACH = 0.7
LEAST_REYNOLDS = 5.0e3


class Section(NamedTuple):
    """The lift and drag of a thin moulded blade section at low Reynolds number.

    Own fit to the wind-tunnel rows of two propellers, one of them with its measured blade shape
    (Brandt and Selig, AIAA 2011-1255; Deters, Ananda and Selig, AIAA 2014-2151).
    """

    lift_slope: float = 5.66  # per rad
    zero_lift_rad: float = math.radians(-2.3)
    stall_rad: float = math.radians(14.9)  # above the zero-lift angle
    stall_sharpness: float = 82.0  # 1/rad
    drag_least: float = 0.0229  # at the reference Reynolds number
    drag_rise: float = 0.0118  # per lift coefficient squared away from drag_lift
    drag_lift: float = 0.88
    reference_reynolds: float = 7.0e4
    reynolds_power: float = -0.64


class Blade(NamedTuple):
    """The shape of one blade at rising stations, and how many there are."""

    station: Floats  # r/R
    chord: Floats  # c/R
    angle_rad: Floats  # of the chord line to the disc
    blades: int
    section: Section


class Speed(NamedTuple):
    """The scale on which Reynolds and Mach number are taken."""

    diameter_m: float
    rim_mps: float  # resultant speed at 70 % radius


# c/R of a thin moulded electric propeller; nominal pitch is taken on the flat underside, the chord
# line stands a little steeper. Own estimate, scaled to the same wind-tunnel rows.
GENERIC_STATION = (0.12, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 0.96, 1.00)
GENERIC_CHORD = (0.110, 0.149, 0.182, 0.196, 0.194, 0.182, 0.164, 0.141, 0.108, 0.077, 0.039)
UNDERSIDE_RAD = math.radians(0.64)


def generic_blade(diameter_m: float, pitch_m: float, blades: int = 2) -> Blade:
    """Return the usual shape of a thin moulded electric propeller of a diameter and pitch [m].

    Equation: chord-line angle ``atan(p/(2 pi r)) + 0.64 deg``. Source: common practice, no source.
    """
    station = np.array(GENERIC_STATION)
    angle_rad = np.arctan(pitch_m / (math.pi * diameter_m * station)) + UNDERSIDE_RAD
    return Blade(station, np.array(GENERIC_CHORD), angle_rad, blades, Section())


def section_loads(
    section: Section, alpha_rad: Floats, reynolds: Floats, mach: Floats
) -> tuple[Floats, Floats]:
    """Return (lift, drag) coefficients at any incidence [rad].

    Linear lift with the Prandtl-Glauert factor and a parabolic drag below the stall; a separated
    plate above it; the sigmoid of Beard and McLain (2012), equation 4.10, between them.
    """
    above = np.remainder(alpha_rad - section.zero_lift_rad + math.pi, 2.0 * math.pi) - math.pi
    attached = section.lift_slope * above / np.sqrt(1.0 - np.minimum(mach, HIGHEST_MACH) ** 2)
    friction = section.drag_least * (reynolds / section.reference_reynolds) ** section.reynolds_power
    low_drag = friction + section.drag_rise * (attached - section.drag_lift) ** 2
    steep = section.stall_sharpness
    share = 1.0 / (1.0 + np.exp(-np.clip(steep * (np.abs(above) - section.stall_rad), -60.0, 60.0)))
    sine = np.sin(above)
    normal = sine / (0.222 * np.abs(sine) + 0.283)
    lift = (1.0 - share) * attached + share * normal * np.cos(above)
    drag = (1.0 - share) * low_drag + share * (friction + normal * sine)
    return lift, drag


class _Flow(NamedTuple):
    """What the stations see: rows are advance angles, columns are stations."""

    axial: Floats
    turning: Floats
    resultant: Floats


def _induced(flow: _Flow, psi: Floats) -> tuple[Floats, Floats]:
    """Return (axial, tangential) velocity at the blade, induced part included."""
    return (
        0.5 * flow.axial + 0.5 * flow.resultant * np.sin(psi),
        0.5 * flow.turning + 0.5 * flow.resultant * np.cos(psi),
    )


def _loads(
    blade: Blade, speed: Speed, wind: tuple[Floats, Floats], shape: tuple[Floats, Floats]
) -> tuple[Floats, Floats, Floats]:
    """Return (lift, drag, speed) at the stations; velocities are in units of the rim speed."""
    axial, around = wind
    chord, angle_rad = shape
    total = np.hypot(axial, around)
    metres_ps = np.maximum(total * speed.rim_mps, 0.1)
    reynolds = np.maximum(metres_ps * chord * 0.5 * speed.diameter_m / KINEMATIC_M2PS, LEAST_REYNOLDS)
    lift, drag = section_loads(
        blade.section, angle_rad - np.arctan2(axial, around), reynolds, metres_ps / SOUND_MPS
    )
    return lift, drag, total


def _unbalance(
    blade: Blade, speed: Speed, flow: _Flow, psi: Floats, shape: tuple[Floats, Floats, Floats]
) -> Floats:
    """Return wake circulation less blade circulation; rises with psi."""
    station, chord, angle_rad = shape
    wind = _induced(flow, psi)
    lift, _, total = _loads(blade, speed, wind, (chord, angle_rad))
    axial, around = np.abs(wind[0]), np.maximum(np.abs(wind[1]), 1e-9)
    pitch = np.maximum(station * axial / around, 1e-6)
    loss = np.minimum(0.5 * blade.blades * (1.0 - station) / pitch, 50.0)
    factor = (2.0 / math.pi) * np.arccos(np.exp(-loss))
    # Near the axis few blades leave gaps in the wake: the circulation may grow.
    gaps = np.sqrt(1.0 + (4.0 * pitch / (math.pi * blade.blades * station)) ** 2)
    swirl = flow.turning - wind[1]
    wake = swirl * 4.0 * math.pi * station / blade.blades * factor * gaps
    return np.asarray(wake - 0.5 * total * chord * lift)


def star_coefficients(blade: Blade, speed: Speed, advance_rad: Floats) -> tuple[Floats, Floats]:
    """Return (CT*, CQ*) over advance angles [rad].

    Definitions: ``T = 0.5 rho A (V^2 + (0.7 pi n D)^2) CT*``, the torque with one more D.
    Equation at each station: wake circulation
    ``v_t (4 pi r/B) F sqrt(1 + (4 lambda/(pi B r))^2)`` = blade circulation ``0.5 W c C_l``.
    Source: Drela (2006); Betz and Prandtl (1919).
    """
    edges = HUB_SHARE + (1.0 - HUB_SHARE) * 0.5 * (1.0 - np.cos(np.linspace(0.0, math.pi, STATIONS + 1)))
    station = 0.5 * (edges[1:] + edges[:-1])[None, :]
    width = np.diff(edges)[None, :]
    chord = np.interp(station, blade.station, blade.chord)
    angle_rad = np.interp(station, blade.station, blade.angle_rad)
    axial = np.sin(advance_rad)[:, None] * np.ones_like(station)
    turning = np.cos(advance_rad)[:, None] * station / REFERENCE_RADIUS
    flow = _Flow(axial, turning, np.hypot(axial, turning))
    low = np.zeros_like(axial)  # the wake can turn the flow no further than half the axial speed
    high = np.full_like(axial, math.pi)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        rising = _unbalance(blade, speed, flow, middle, (station, chord, angle_rad)) > 0.0
        high = np.where(rising, middle, high)
        low = np.where(rising, low, middle)
    wind = _induced(flow, 0.5 * (low + high))
    lift, drag, total = _loads(blade, speed, wind, (chord, angle_rad))
    per_area = total * chord * blade.blades * width / math.pi  # 0.5 rho W c B dr over 0.5 rho A
    push = per_area * (lift * wind[1] - drag * wind[0])
    twist = per_area * (lift * wind[0] + drag * wind[1]) * 0.5 * station
    return np.sum(push, axis=1), np.sum(twist, axis=1)


def knot_angles() -> Floats:
    """Return the advance angles [rad] of the table's knots, even over `physics.propeller.advance_share`."""
    share = np.linspace(0.0, 1.0, KNOTS)
    return np.asarray(np.arctan2(share, 1.0 - share))


def blade_table(blade: Blade, speed: Speed) -> Floats:
    """Return the table (2, 65) of a blade over the advance angle."""
    return np.stack(star_coefficients(blade, speed, knot_angles()))


def advance_angle_of(advance_ratio: Floats) -> Floats:
    """Return the advance angle [rad] of an advance ratio ``J = V/(n D)``: ``atan(J/(0.7 pi))``."""
    return np.arctan(advance_ratio / (REFERENCE_RADIUS * math.pi))


def star_factor(advance_ratio: Floats) -> Floats:
    """Return CT*/CT = ``8/(pi (J^2 + (0.7 pi)^2))``; CQ* is the same times CP/(2 pi)."""
    return np.asarray(8.0 / (math.pi * (advance_ratio**2 + (REFERENCE_RADIUS * math.pi) ** 2)))


def coefficients(blade: Blade, speed: Speed, advance_ratio: Floats) -> tuple[Floats, Floats]:
    """Return the usual (CT, CP) over advance ratios: ``T = CT rho n^2 D^4``, ``P = CP rho n^3 D^5``."""
    push, twist = star_coefficients(blade, speed, advance_angle_of(advance_ratio))
    factor = star_factor(advance_ratio)
    return push / factor, 2.0 * math.pi * twist / factor

"""Lift, moments and their derivatives of the whole aeroplane by AeroSandbox's vortex lattice.

Wing, tail and fins are thin sheets; the wing stands at its section's zero-lift incidence, flaps are
bent sheets whose hinge lies on a panel edge. Propeller and body are left out. Results are kept in
the user's cache. Source: Sharpe, *AeroSandbox*, MIT (2021); method: Bertin and Smith,
*Aerodynamics for Engineers*. Checked in ``tests/verification/test_vortex_lattice.py``.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.cache import Figures, kept

Floats = npt.NDArray[np.float64]

PANELS_AHEAD, PANELS_BEHIND = 4, 3
STATIONS_A_SIDE = 20
TAIL_STATIONS_A_SIDE = 6
FIN_STATIONS = 4
EDGE_SHARE = 0.002  # width of the strip in which a flap's edge bends, as a share of the span
FLAP_RAD = 0.02
LATTICE_SPEED_MPS = 10.0


class Planform(NamedTuple):
    """The sheets of the lattice. Lengths in m, from the root's leading edge; angles in rad.

    A flying wing has no tail (``tail_area_m2`` = 0) and two fins at the tips; a conventional
    aeroplane has one fin on the tail. ``flap_from`` and ``flap_to`` are shares of the half span.
    """

    span_m: float
    root_chord_m: float
    tip_chord_m: float
    sweep_rad: float
    dihedral_rad: float
    twist_rad: float  # tip against root, nose-up positive
    incidence_rad: float  # of the wing's zero-lift line to the body
    balance_m: float
    flap_share: float
    flap_from: float
    flap_to: float
    tail_area_m2: float
    tail_span_m: float
    tail_x_m: float  # quarter chord of the tail
    fin_area_m2: float  # all fins together
    fin_height_m: float
    alpha_rad: float  # where the derivatives are taken


class LatticeFigures(NamedTuple):
    """Inviscid derivatives; moments about the neutral point found here, lift-dependent ones at alpha."""

    neutral_point_m: float
    lift_zero: float
    lift_alpha: float
    lift_pitch_rate: float
    lift_elevator: float
    moment_zero: float
    moment_pitch_rate: float
    moment_elevator: float
    side_beta: float
    roll_beta: float
    roll_roll_rate: float
    roll_yaw_rate: float
    roll_aileron: float
    yaw_beta: float
    yaw_roll_rate: float
    yaw_yaw_rate: float
    yaw_aileron: float


class Flaps(NamedTuple):
    """Deflections [rad], trailing edge down: left and right wing flap, and tail flap."""

    left_rad: float = 0.0
    right_rad: float = 0.0
    tail_rad: float = 0.0


def mean_chord(planform: Planform) -> float:
    """Return the mean aerodynamic chord [m] of a straight-tapered wing.

    Equation: ``c = 2/3 c_r (1 + t + t^2)/(1 + t)``, t = c_t/c_r. Source: any textbook.
    """
    taper = planform.tip_chord_m / planform.root_chord_m
    return 2.0 / 3.0 * planform.root_chord_m * (1.0 + taper + taper * taper) / (1.0 + taper)


def wing_area(planform: Planform) -> float:
    """Return the area [m2] of the straight-tapered wing."""
    return 0.5 * (planform.root_chord_m + planform.tip_chord_m) * planform.span_m


def _bent(share: float, flap_rad: float) -> Any:
    """Return a thin section bent at the hinge."""
    import aerosandbox as asb

    along = np.unique(np.append(np.linspace(0.0, 1.0, 41), 1.0 - share))[::-1]
    line = np.where(along > 1.0 - share, -(along - 1.0 + share) * math.tan(flap_rad), 0.0)
    half = 1e-4 * np.sin(math.pi * along) + 1e-9
    upper = np.stack([along, line + half], axis=1)
    lower = np.stack([along, line - half], axis=1)[::-1]
    return asb.Airfoil(name=f"sheet {flap_rad:.4f}", coordinates=np.concatenate([upper, lower[1:]]))


def _spacing(flap_share: float) -> Any:
    def edges(first: float, last: float, _panels: int) -> Floats:
        hinge = 1.0 - flap_share
        ahead = hinge * 0.5 * (1.0 - np.cos(np.linspace(0.0, math.pi, PANELS_AHEAD + 1)))
        behind = hinge + flap_share * 0.5 * (1.0 - np.cos(np.linspace(0.0, math.pi, PANELS_BEHIND + 1)))
        return first + (last - first) * np.concatenate([ahead[:-1], behind])

    return edges


def _half_span_shares(planform: Planform) -> Floats:
    even = np.sin(np.linspace(0.0, 0.5 * math.pi, STATIONS_A_SIDE + 1))
    edges = [
        edge + side
        for edge in (planform.flap_from, planform.flap_to)
        if EDGE_SHARE < edge < 1.0 - EDGE_SHARE
        for side in (-EDGE_SHARE, EDGE_SHARE)
    ]
    clear = [share for share in even if all(abs(share - edge) > 0.02 for edge in edges)]
    return np.array(sorted({0.0, 1.0, *clear, *edges}))


def _wing(planform: Planform, flaps: Flaps) -> Any:
    import aerosandbox as asb

    shares = _half_span_shares(planform)
    stations = []
    for side, flap_rad in ((-1.0, flaps.left_rad), (1.0, flaps.right_rad)):
        ordered = shares[::-1] if side < 0.0 else shares[1:]
        for share in ordered:
            inside = planform.flap_from <= share <= planform.flap_to
            half = 0.5 * planform.span_m * share
            stations.append(
                asb.WingXSec(
                    xyz_le=[
                        half * math.tan(planform.sweep_rad) - planform.balance_m,
                        side * half,
                        half * math.tan(planform.dihedral_rad),
                    ],
                    chord=planform.root_chord_m + share * (planform.tip_chord_m - planform.root_chord_m),
                    twist=math.degrees(planform.incidence_rad + share * planform.twist_rad),
                    airfoil=_bent(planform.flap_share, flap_rad if inside else 0.0),
                )
            )
    return asb.Wing(name="wing", xsecs=stations, symmetric=False)


def _sheet(planform: Planform, edges: list[tuple[list[float], float]], section: Any, stations: int) -> Any:
    """Return a sheet between two edges, each a leading-edge point and a chord."""
    import aerosandbox as asb

    ahead = (planform.balance_m, 0.0, 0.0)

    (first, first_chord), (last, last_chord) = edges
    between = 0.5 * (1.0 - np.cos(np.linspace(0.0, math.pi, stations + 1)))
    return asb.Wing(
        symmetric=False,
        xsecs=[
            asb.WingXSec(
                xyz_le=[a + share * (b - a) - shift for a, b, shift in zip(first, last, ahead, strict=True)],
                chord=first_chord + share * (last_chord - first_chord),
                airfoil=section,
            )
            for share in between
        ],
    )


def _tail_and_fins(planform: Planform, flaps: Flaps) -> list[Any]:
    flat = _bent(planform.flap_share, 0.0)
    half = 0.5 * planform.span_m
    sheets = []
    if planform.tail_area_m2 > 0.0:
        chord = planform.tail_area_m2 / planform.tail_span_m
        lead, side = planform.tail_x_m - 0.25 * chord, 0.5 * planform.tail_span_m
        sheets.append(
            _sheet(
                planform,
                [([lead, -side, 0.0], chord), ([lead, side, 0.0], chord)],
                _bent(planform.flap_share, flaps.tail_rad),
                2 * TAIL_STATIONS_A_SIDE,
            )
        )
        if planform.fin_area_m2 > 0.0:
            height = planform.fin_height_m
            fin_chord = planform.fin_area_m2 / height
            fin_lead = planform.tail_x_m - 0.25 * fin_chord
            edges = [([fin_lead, 0.0, 0.0], fin_chord), ([fin_lead, 0.0, height], fin_chord)]
            sheets.append(_sheet(planform, edges, flat, FIN_STATIONS))
        return sheets
    if planform.fin_area_m2 > 0.0:
        height = planform.fin_height_m
        fin_chord = 0.5 * planform.fin_area_m2 / height
        lead = half * math.tan(planform.sweep_rad) + planform.tip_chord_m - fin_chord
        low = half * math.tan(planform.dihedral_rad)
        for side in (-half, half):
            edges = [([lead, side, low], fin_chord), ([lead, side, low + height], fin_chord)]
            sheets.append(_sheet(planform, edges, flat, FIN_STATIONS))
    return sheets


def lattice(planform: Planform, flaps: Flaps, alpha_rad: float) -> Any:
    """Return AeroSandbox's vortex lattice of the sheets at an incidence [rad], ready to run."""
    import aerosandbox as asb

    # AeroSandbox turns the aeroplane about the origin, whatever the reference point: put the balance
    # point there.
    airplane = asb.Airplane(
        name="sheets",
        xyz_ref=[0.0, 0.0, 0.0],
        wings=[_wing(planform, flaps), *_tail_and_fins(planform, flaps)],
        s_ref=wing_area(planform),
        c_ref=mean_chord(planform),
        b_ref=planform.span_m,
    )
    return asb.VortexLatticeMethod(
        airplane,
        asb.OperatingPoint(velocity=LATTICE_SPEED_MPS, alpha=math.degrees(alpha_rad)),
        spanwise_resolution=1,
        chordwise_resolution=PANELS_AHEAD + PANELS_BEHIND,
        chordwise_spacing_function=_spacing(planform.flap_share),
    )


def _compute(planform: Planform) -> Figures:
    base = lattice(planform, Flaps(), planform.alpha_rad).run_with_stability_derivatives()
    level = lattice(planform, Flaps(), 0.0).run()
    if planform.tail_area_m2 > 0.0:
        up = Flaps(tail_rad=FLAP_RAD)
    else:
        up = Flaps(left_rad=FLAP_RAD, right_rad=FLAP_RAD)
    pitched = lattice(planform, up, 0.0).run()
    rolled = lattice(planform, Flaps(left_rad=FLAP_RAD, right_rad=-FLAP_RAD), planform.alpha_rad).run()

    def per_flap(run: Any, rest: Any, name: str) -> float:
        return float((run[name] - rest[name]) / FLAP_RAD)

    chord = mean_chord(planform)
    neutral_m = planform.balance_m - float(base["Cma"]) / float(base["CLa"]) * chord
    arm = (neutral_m - planform.balance_m) / chord  # Cm about the neutral point = Cm + CL arm
    lift_elevator = per_flap(pitched, level, "CL")
    lift_zero = float(level["CL"])
    return {
        "neutral_point_m": neutral_m,
        "lift_zero": lift_zero,
        "lift_alpha": float(base["CLa"]),
        "lift_pitch_rate": float(base["CLq"]),
        "lift_elevator": lift_elevator,
        "moment_zero": float(level["Cm"]) + lift_zero * arm,
        "moment_pitch_rate": float(base["Cmq"]) + float(base["CLq"]) * arm,
        "moment_elevator": per_flap(pitched, level, "Cm") + lift_elevator * arm,
        "side_beta": float(base["CYb"]),
        "roll_beta": float(base["Clb"]),
        "roll_roll_rate": float(base["Clp"]),
        "roll_yaw_rate": float(base["Clr"]),
        "roll_aileron": per_flap(rolled, base, "Cl"),
        "yaw_beta": float(base["Cnb"]),
        "yaw_roll_rate": float(base["Cnp"]),
        "yaw_yaw_rate": float(base["Cnr"]),
        "yaw_aileron": per_flap(rolled, base, "Cn"),
    }


def lattice_figures(planform: Planform) -> LatticeFigures:
    """Return the inviscid derivatives of the sheets, kept in the cache."""
    inputs = {name: float(f"{value:.6g}") for name, value in planform._asdict().items()}
    inputs["mesh"] = PANELS_AHEAD * 10000 + PANELS_BEHIND * 1000 + STATIONS_A_SIDE
    found = kept("lattice", inputs, LatticeFigures._fields, lambda: _compute(planform))
    return LatticeFigures(**{field: found[field] for field in LatticeFigures._fields})

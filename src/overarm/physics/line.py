"""A rubber line: pull with hardening, loss on unloading, moving mass, ramp friction, hook.

Sources: the work-energy balance of a bungee launcher, Scientific Technical Review 63 (2013); one
third of the line's mass moves with the model (Rayleigh's effective mass of a spring). Checked in
``tests/verification/test_line.py``; formulas in ``docs/theory/line.md``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from overarm.air import GRAVITY_MPS2
from overarm.jit import scalar


class Line(NamedTuple):
    """One line launch: the line, the ramp, the hook."""

    stiffness_npm: float  # pull per stretch at small stretch
    hardening: float  # extra pull share at a stretch of one natural length
    returned_share: float  # pull on the way back over pull on the way out
    stretch_m: float  # at latch
    natural_m: float  # unstretched length, from peg to hook
    line_mass_kg: float
    friction: float  # coefficient on the ramp
    ramp_m: float
    ramp_rad: float
    hook_x_m: float  # of the hook from the balance point, body axes
    hook_z_m: float
    hook_limit_rad: float  # line to body angle at which the ring slips off
    stuck: float  # 1: the ring does not come off
    used: float  # 1 for a line launch
    height_m: float  # of the balance point at the start of the ramp


class PullFit(NamedTuple):
    """Result of `fit_pull`."""

    stiffness_npm: float
    hardening: float
    misfit_n: float  # rms of what is left over


@scalar
def pull(line: Line, stretch_m: float) -> float:
    """Return the pull of the line while it is being stretched [N]; 0 when slack.

    Equation: ``F = k s (1 + h (s/L)^2)``, L the natural length.
    """
    if stretch_m <= 0.0:
        return 0.0
    share = stretch_m / line.natural_m
    return line.stiffness_npm * stretch_m * (1.0 + line.hardening * share * share)


@scalar
def returned_pull(line: Line, stretch_m: float) -> float:
    """Return the pull of the line while it shortens [N]: the returned share of `pull`."""
    return line.returned_share * pull(line, stretch_m)


@scalar
def stored_energy(line: Line, stretch_m: float) -> float:
    """Return the work done in stretching the line [J]: the integral of `pull`."""
    if stretch_m <= 0.0:
        return 0.0
    share = stretch_m / line.natural_m
    half = 0.5 * line.stiffness_npm * stretch_m * stretch_m
    return half * (1.0 + 0.5 * line.hardening * share * share)


@scalar
def effective_mass(line: Line, mass_kg: float) -> float:
    """Return the mass that the line has to move [kg]: the model and a third of the line."""
    return mass_kg + line.line_mass_kg / 3.0


@scalar
def ramp_friction(line: Line, mass_kg: float, distance_m: float) -> float:
    """Return the friction on the ramp [N], ``distance_m`` [m] along from its start; 0 beyond.

    Equation: ``mu m g cos(ramp angle)``.
    """
    if distance_m >= line.ramp_m:
        return 0.0
    return line.friction * mass_kg * GRAVITY_MPS2 * math.cos(line.ramp_rad)


@scalar
def has_dropped(line: Line, stretch_m: float, angle_rad: float) -> bool:
    """Return whether the ring has come off the hook.

    It does when the line is slack, or when it makes more than the limit angle [rad] with the body.
    A stuck ring never does.
    """
    if line.stuck > 0.5:
        return False
    return stretch_m <= 0.0 or abs(angle_rad) > line.hook_limit_rad


@scalar
def line_speed(line: Line, mass_kg: float, rise_m: float, drag_work_j: float) -> float:
    """Return the speed at the end of the line [m/s] by the energy balance; 0 if it does not go.

    ``rise_m`` is the height gained on the way, ``drag_work_j`` the work lost to drag.

    Equation: ``v^2 = (2/m_eff) (eta E - mu m g L_r cos(ramp) - m g dh - W_D)``.
    """
    lost = ramp_friction(line, mass_kg, 0.0) * line.ramp_m + mass_kg * GRAVITY_MPS2 * rise_m + drag_work_j
    left = line.returned_share * stored_energy(line, line.stretch_m) - lost
    return math.sqrt(max(0.0, 2.0 * left / effective_mass(line, mass_kg)))


def fit_pull(points: Sequence[tuple[float, float]], natural_m: float) -> PullFit:
    """Fit stiffness and hardening to measured points (stretch [m], pull [N]).

    ``natural_m`` is the natural length [m]. With one point, hardening is 0. Raises ValueError,
    naming the point and the cure, if a length or pull is not above zero, the list is empty, or
    the fitted pull does not rise over the measured range.
    """
    if not natural_m > 0.0:
        raise ValueError(f"natural length {natural_m:g} m must be above zero")
    if not points:
        raise ValueError("no points of pull against stretch: give at least one pair, better four")
    for number, (stretch_m, pull_n) in enumerate(points, start=1):
        if not (0.0 < stretch_m < math.inf and 0.0 < pull_n < math.inf):
            raise ValueError(
                f"point {number}: stretch {stretch_m:g} m and pull {pull_n:g} N must both be above zero; "
                "leave the slack line out"
            )
    stretch = np.array([point[0] for point in points], dtype=np.float64)
    force = np.array([point[1] for point in points], dtype=np.float64)
    cubic = stretch**3 / natural_m**2
    different = len(set(stretch.tolist())) > 1
    columns = np.column_stack([stretch, cubic]) if different else stretch[:, np.newaxis]
    found = np.linalg.lstsq(columns, force, rcond=None)[0]
    stiffness = float(found[0])
    hardening = float(found[1] / found[0]) if different and stiffness != 0.0 else 0.0
    longest = float(stretch.max()) / natural_m
    if stiffness <= 0.0 or 1.0 + 3.0 * hardening * longest * longest <= 0.0:
        raise ValueError("the pull does not rise with the stretch: look for swapped or wrong points")
    misfit = float(np.sqrt(np.mean((columns @ found - force) ** 2)))
    return PullFit(stiffness, hardening, misfit)

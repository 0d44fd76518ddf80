"""Wing sections at the low Reynolds number of a launch, by NeuralFoil.

Source: Sharpe, *NeuralFoil*, MIT (2023); coordinates from the section database that AeroSandbox
ships. Checked in ``tests/verification/test_sections.py``.
"""

from __future__ import annotations

import math
import re
import warnings
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from overarm.describe.derived.cache import Figures, kept
from overarm.errors import InputError, Problem

Floats = npt.NDArray[np.float64]

# What the plain words of the card stand for.
WORDS = {"reflexed": "mh60", "flat-bottom": "clarky", "symmetric": "naca0010"}
MODEL = "xlarge"
SECTION_NAME = re.compile(r"[A-Za-z0-9_-]{1,40}")
SWEEP_DEG = np.arange(-6.0, 16.25, 0.5)
SLOPE_FROM_DEG, SLOPE_TO_DEG = -1.0, 7.0
# The straight part of a low-Reynolds lift curve has bubbles; keep its slope near the thin-aerofoil value.
LEAST_SLOPE, MOST_SLOPE = 5.0, 6.6
STALL_SEARCH_DEG = 15.0


class SectionFigures(NamedTuple):
    """A section at one Reynolds number; moment about the quarter chord, nose-up positive."""

    zero_lift_rad: float
    lift_slope: float  # per rad
    lift_peak: float
    moment: float  # at the working lift coefficient
    drag: float  # at the working lift coefficient


def coordinates(name: str, thickness: float | None) -> Any:
    """Return the section as an ``Airfoil`` of AeroSandbox, its thickness scaled about the camber line.

    Parameters: a word of the card or a name of the section database; thickness as a share of the
    chord, or None to keep it. Raises InputError for an unknown name.
    """
    import aerosandbox as asb

    wanted = WORDS.get(name, name)
    airfoil = None
    if SECTION_NAME.fullmatch(wanted):  # also keeps a path out of the library's file search
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            airfoil = asb.Airfoil(wanted)
    if airfoil is None or airfoil.coordinates is None:
        words = ", ".join(WORDS)
        problem = Problem(
            f"neither one of {words} nor a name of the section database",
            "Give one of these words or a name such as s5010.",
            key="section",
            value=name,
        )
        raise InputError([problem])
    if thickness is None:
        return airfoil
    share = 0.5 * (1.0 - np.cos(np.linspace(0.0, math.pi, 121)))
    camber = airfoil.local_camber(share)
    half = 0.5 * airfoil.local_thickness(share) * thickness / airfoil.max_thickness()
    upper = np.stack([share, camber + half], axis=1)[::-1]
    lower = np.stack([share, camber - half], axis=1)[1:]
    return asb.Airfoil(name=wanted, coordinates=np.concatenate([upper, lower]))


def polar(name: str, thickness: float | None, reynolds: float, alpha_deg: Floats) -> dict[str, Floats]:
    """Return lift, drag and moment coefficients ("CL", "CD", "CM") over incidences [deg]."""
    import neuralfoil

    found = neuralfoil.get_aero_from_airfoil(
        coordinates(name, thickness), alpha=alpha_deg, Re=reynolds, model_size=MODEL
    )
    return {key: np.asarray(found[key], dtype=np.float64) for key in ("CL", "CD", "CM")}


def _compute(name: str, thickness: float | None, reynolds: float, working_lift: float) -> Figures:
    found = polar(name, thickness, reynolds, SWEEP_DEG)
    lift = found["CL"]
    straight = (SWEEP_DEG >= SLOPE_FROM_DEG) & (SWEEP_DEG <= SLOPE_TO_DEG)
    slope, offset = np.polyfit(np.radians(SWEEP_DEG[straight]), lift[straight], 1)
    peak = int(np.argmax(np.where(SWEEP_DEG <= STALL_SEARCH_DEG, lift, -np.inf)))
    rising = slice(int(np.argmin(lift[: peak + 1])), peak + 1)
    at_lift = min(working_lift, float(lift[peak]))
    return {
        "zero_lift_rad": float(-offset / slope),
        "lift_slope": float(min(MOST_SLOPE, max(LEAST_SLOPE, slope))),
        "lift_peak": float(lift[peak]),
        "moment": float(np.interp(at_lift, lift[rising], found["CM"][rising])),
        "drag": float(np.interp(at_lift, lift[rising], found["CD"][rising])),
    }


def section_figures(
    name: str, thickness: float | None, reynolds: float, working_lift: float
) -> SectionFigures:
    """Return what the whole aeroplane needs of its section.

    Parameters: name as for ``coordinates``; thickness share or None; Reynolds number on the mean
    chord; lift coefficient in the climb, at which moment and drag are read. Raises InputError.
    """
    inputs = {
        "name": WORDS.get(name, name),
        "thickness": thickness,
        "reynolds": float(f"{reynolds:.3g}"),
        "lift": float(f"{working_lift:.3g}"),
        "model": MODEL,
    }
    found = kept(
        "section", inputs, SectionFigures._fields, lambda: _compute(name, thickness, reynolds, working_lift)
    )
    return SectionFigures(**{field: found[field] for field in SectionFigures._fields})

"""The coefficients of the whole aeroplane from its shape, its section and what the user measured.

The vortex lattice gives the inviscid derivatives, the section its lift slope, moment, drag and
largest lift at the Reynolds number of the stall. What is given on the card wins over what is
computed. Left out: body, propeller (its sideways force and its stream over the wing), tail stall.
Each formula with its source: ``docs/theory/aerodynamics.md``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

from rapidfuzz import process

from overarm.air import GRAVITY_MPS2
from overarm.describe.derived.cache import Figures, kept
from overarm.describe.derived.lattice import (
    LatticeFigures,
    Planform,
    lattice_figures,
    mean_chord,
    wing_area,
)
from overarm.describe.derived.sections import SectionFigures, section_figures
from overarm.errors import InputError, Problem, UnphysicalError
from overarm.physics.wing import Wing, lift_coefficient

# A plain flap at low Reynolds number keeps about three quarters of its ideal effect: McCormick
# (1995), figure 3.33 (from memory); NeuralFoil gives 0.6 to 0.9 for the sections used here.
FLAP_EFFECT = 0.75
WING_PEAK_SHARE = 0.90  # largest lift of a straight-tapered wing over that of its section
# A raised flap takes less from the largest lift than from the lift at one incidence: McCormick
# (1995), section 3.5 (from memory).
PEAK_SHIFT_SHARE = 0.6
OTHER_DRAG = 0.022  # body, gear, gaps and fins of a foam model; own estimate
DEFAULT_EFFICIENCY = 0.78
STALL_SHARPNESS_PER_RAD = 50.0  # Beard and McLain (2012), table E.1
DRAG_STALL_PER_RAD = 1.5
STALL_ARM = 0.22
WORKING_SPEED_RATIO = 1.3
FIRST_LIFT_MAX = {True: 1.15, False: 1.0}
LEAST_MARGIN = 1e-3
STEEPEST_RAD = 0.35
LATEST_BLEND_RAD = 0.2


class Given(NamedTuple):
    """What the airframe card and the day say. None: not given, to be computed."""

    conventional: bool
    planform: Planform
    section: str
    thickness: float | None
    mass_kg: float
    pitch_travel_rad: float
    density_kgpm3: float
    viscosity_pas: float
    lift_max: float | None  # trimmed, of the whole aeroplane
    drag_zero: float | None
    span_efficiency: float | None
    neutral_point_m: float | None
    lift_slope: float | None  # per rad
    coefficients: Mapping[str, float]  # fields of Wing, as given


class Aerodynamics(NamedTuple):
    """The wing and what follows from it."""

    wing: Wing
    lift_max: float  # trimmed
    stall_speed_mps: float
    stall_elevator_rad: float  # trim at the stall
    trim_elevator_rad: float  # trim at 1.3 times the stall speed
    static_margin_share: float
    span_efficiency: float
    section: SectionFigures
    reynolds: float
    lattice_neutral_m: float


def stall_speed(mass_kg: float, area_m2: float, lift_max: float, density_kgpm3: float) -> float:
    """Return the level stall speed [m/s]: ``Vs = sqrt(2 m g/(rho S CLmax))``."""
    return math.sqrt(2.0 * mass_kg * GRAVITY_MPS2 / (density_kgpm3 * area_m2 * lift_max))


def real_slope(lattice_slope: float, section_slope: float) -> float:
    """Return the lift slope [1/rad] of a wing whose section falls short of 2 pi.

    Equation: ``1/a = 1/a_lattice + 1/a_section - 1/(2 pi)``, from ``a = a0/(1 + a0/(pi A))``.
    Source: Anderson, *Fundamentals of Aerodynamics*, equation 5.69.
    """
    return 1.0 / (1.0 / lattice_slope + 1.0 / section_slope - 1.0 / (2.0 * math.pi))


def trim_elevator(wing: Wing, lift: float) -> float:
    """Return the elevator [rad, trailing edge down] that trims at a lift coefficient, power off.

    Equation: ``Cm_np + Cm_e e - CL (x_np - x_balance)/c = 0``, CL the whole lift.
    """
    arm = (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m
    return (lift * arm - wing.moment_zero) / wing.moment_elevator


def stall_offset(wing: Wing, lift: Callable[[Wing, float], float] = lift_coefficient) -> float:
    """Return the blend offset [rad] at which the first peak of the lift curve is ``wing.lift_max``.

    Parameters: the wing; the function that gives the blended lift at an incidence [rad]. A later
    blend gives a higher peak; the peak is sought up to 0.35 rad past the linear angle. A wing so
    shallow that its separated plate lifts as much as ``lift_max`` has no such peak: then 0.
    """
    linear_rad = (wing.lift_max - wing.lift_zero) / wing.lift_alpha

    def peak(offset_rad: float) -> float:
        tried = wing._replace(stall_offset_rad=offset_rad)
        highest = -math.inf
        steps = 240
        for step in range(steps + 1):
            value = lift(tried, linear_rad - 0.15 + (0.15 + STEEPEST_RAD) * step / steps)
            if value < highest:
                break
            highest = value
        return float(highest)

    if peak(0.0) >= wing.lift_max:
        return 0.0

    def root() -> Figures:
        from scipy.optimize import brentq

        found = brentq(lambda offset: peak(offset) - wing.lift_max, 0.0, LATEST_BLEND_RAD, xtol=1e-5)
        return {"offset_rad": float(found)}

    inputs = {"wing": list(wing), "lift": lift.__name__}
    return kept("stall", inputs, ("offset_rad",), root)["offset_rad"]


def _check_names(coefficients: Mapping[str, float]) -> None:
    """Refuse names that are no field of Wing; InputError with the nearest."""
    problems = []
    for name in coefficients:
        if name not in Wing._fields:
            near = process.extractOne(name, Wing._fields)
            cure = f"Did you mean {near[0]}?"
            problems.append(Problem("is not a coefficient", cure, key=f"airframe.coefficients.{name}"))
    if problems:
        raise InputError(problems)


def _check(wing: Wing) -> None:
    """Refuse what cannot fly or cannot be computed; UnphysicalError with the cure."""
    check = "Check the airframe card and its coefficients."
    wrong = [
        Problem(f"{name} is not a finite number", check, key=name, value=f"{value}")
        for name, value in wing._asdict().items()
        if not math.isfinite(value)
    ]
    wrong += [
        Problem(f"{name} must be above zero", check, key=name, value=f"{getattr(wing, name):g}")
        for name in ("area_m2", "span_m", "chord_m", "lift_alpha", "lift_max", "stall_sharpness")
        if getattr(wing, name) <= 0.0
    ]
    if wrong:
        raise UnphysicalError(wrong)
    if wing.balance_point_m >= wing.neutral_point_m - LEAST_MARGIN * wing.chord_m:
        limit_mm = (wing.neutral_point_m - 0.05 * wing.chord_m) * 1000.0
        problem = Problem(
            f"the balance point is not ahead of the neutral point ({wing.neutral_point_m * 1000:.0f} mm "
            "behind the root leading edge): the aeroplane would swap ends",
            f"Move the balance point forward of {limit_mm:.0f} mm (5 % of the mean chord ahead), or correct "
            "the planform or the neutral_point.",
            key="balance_point",
            value=f"{wing.balance_point_m * 1000:.0f} mm",
        )
        raise UnphysicalError([problem])
    if wing.moment_elevator >= 0.0:
        problem = Problem(
            "the elevator pitches the wrong way: a surface behind the balance point must give less than zero",
            "Check span_from, span_to and sweep.",
            key="moment_elevator",
            value=f"{wing.moment_elevator:g}",
        )
        raise UnphysicalError([problem])


def _wing(given: Given, found: LatticeFigures, section: SectionFigures, drag_induced: float) -> Wing:
    """Return the wing before the stall is fitted; ``lift_max`` is the section's for now."""
    slope = given.lift_slope or real_slope(found.lift_alpha, section.lift_slope)
    real = slope / found.lift_alpha
    flap = real * FLAP_EFFECT
    planform = given.planform
    drag = section.drag + OTHER_DRAG if given.drag_zero is None else given.drag_zero
    neutral_m = found.neutral_point_m if given.neutral_point_m is None else given.neutral_point_m
    return Wing(
        area_m2=wing_area(planform),
        span_m=planform.span_m,
        chord_m=mean_chord(planform),
        neutral_point_m=neutral_m,
        balance_point_m=planform.balance_m,
        lift_zero=real * found.lift_zero,
        lift_alpha=slope,
        lift_pitch_rate=real * found.lift_pitch_rate,
        lift_elevator=flap * found.lift_elevator,
        lift_max=WING_PEAK_SHARE * section.lift_peak,
        stall_offset_rad=0.0,
        stall_sharpness=STALL_SHARPNESS_PER_RAD,
        drag_zero=drag,
        drag_induced=drag_induced,
        drag_stall=DRAG_STALL_PER_RAD,
        moment_zero=real * found.moment_zero + section.moment,
        moment_pitch_rate=real * found.moment_pitch_rate,
        moment_elevator=flap * found.moment_elevator,
        side_beta=found.side_beta,
        roll_beta=real * found.roll_beta,
        roll_roll_rate=real * found.roll_roll_rate,
        roll_yaw_rate=real * found.roll_yaw_rate,
        roll_aileron=flap * found.roll_aileron,
        yaw_beta=found.yaw_beta,
        yaw_roll_rate=real * found.yaw_roll_rate,
        yaw_yaw_rate=found.yaw_yaw_rate,
        yaw_aileron=flap * found.yaw_aileron,
        roll_zero=0.0,
        stall_arm=STALL_ARM,
        stall_twist_rad=0.0,
    )


def _trimmed_peak(wing: Wing, travel_rad: float) -> float:
    """Return the trimmed largest lift when the section's share is ``wing.lift_max``.

    Equation: ``CLmax = CLp + 0.6 CL_e e``, e the elevator that trims at CLmax, within its travel.
    """
    arm = (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m
    share = PEAK_SHIFT_SHARE * wing.lift_elevator / wing.moment_elevator
    trimmed = (wing.lift_max - share * wing.moment_zero) / (1.0 - share * arm)
    held = min(travel_rad, max(-travel_rad, trim_elevator(wing, trimmed)))
    return wing.lift_max + PEAK_SHIFT_SHARE * wing.lift_elevator * held


def aerodynamics(given: Given) -> Aerodynamics:
    """Return the coefficients of an airframe on the day.

    Raises UnphysicalError with the cure when the balance point is behind the neutral point or a
    figure is not finite or not above zero; InputError for an unknown section or coefficient.
    """
    _check_names(given.coefficients)
    planform = given.planform
    lift_max = given.lift_max or FIRST_LIFT_MAX[given.conventional]
    for _ in range(1 if given.lift_max else 2):
        speed = stall_speed(given.mass_kg, wing_area(planform), lift_max, given.density_kgpm3)
        reynolds = given.density_kgpm3 * speed * mean_chord(planform) / given.viscosity_pas
        working = lift_max / WORKING_SPEED_RATIO**2
        section = section_figures(given.section, given.thickness, reynolds, working)
        aspect = planform.span_m**2 / wing_area(planform)
        rough_slope = 2.0 * math.pi * aspect / (aspect + 2.0)
        found = lattice_figures(
            planform._replace(
                incidence_rad=-section.zero_lift_rad,
                alpha_rad=round(working / rough_slope + section.zero_lift_rad, 3),
            )
        )
        efficiency = given.span_efficiency or DEFAULT_EFFICIENCY
        wing = _wing(given, found, section, 1.0 / (math.pi * efficiency * aspect))
        wing = wing._replace(**given.coefficients)
        _check(wing)
        lift_max = given.lift_max or _trimmed_peak(wing, given.pitch_travel_rad)
    travel_rad = given.pitch_travel_rad
    stall_elevator_rad = min(travel_rad, max(-travel_rad, trim_elevator(wing, lift_max)))
    if "lift_max" not in given.coefficients:
        wing = wing._replace(lift_max=lift_max - wing.lift_elevator * stall_elevator_rad)
    if "stall_offset_rad" not in given.coefficients:
        wing = wing._replace(stall_offset_rad=stall_offset(wing))
    return Aerodynamics(
        wing=wing,
        lift_max=lift_max,
        stall_speed_mps=stall_speed(given.mass_kg, wing.area_m2, lift_max, given.density_kgpm3),
        stall_elevator_rad=stall_elevator_rad,
        trim_elevator_rad=trim_elevator(wing, lift_max / WORKING_SPEED_RATIO**2),
        static_margin_share=(wing.neutral_point_m - wing.balance_point_m) / wing.chord_m,
        span_efficiency=efficiency,
        section=section,
        reynolds=reynolds,
        lattice_neutral_m=found.neutral_point_m,
    )


def best_glide(wing: Wing, mass_kg: float, density_kgpm3: float, lift_max: float) -> tuple[float, float]:
    """Return (glide ratio, speed [m/s]) of the flattest glide at or below the largest lift.

    Equation: ``E = CL/(CD0 + k CL^2)`` at ``CL = min(sqrt(CD0/k), CLmax)``.
    Source: any textbook; checked against the tables of the example aeroplanes.
    """
    lift = min(math.sqrt(wing.drag_zero / wing.drag_induced), lift_max)
    ratio = lift / (wing.drag_zero + wing.drag_induced * lift * lift)
    return ratio, stall_speed(mass_kg, wing.area_m2, lift, density_kgpm3)

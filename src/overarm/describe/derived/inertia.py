"""Moments of inertia from mass and size, when nobody has swung the model on two cords.

Each is a radius of gyration as a share of a length. Flying wing: the shares of the 1.56 kg flying
wing of Beard and McLain, *Small Unmanned Aircraft* (2012), table E.1 (0.1147, 0.0576 and 0.1712
kg m2 at 1.42 m span and 0.33 m chord). Conventional: own estimate for light models with the pack in
the nose; roll within 30 % of the example trainer. Spread (one standard deviation): 20 %.
"""

from __future__ import annotations

from typing import NamedTuple

from overarm.errors import Problem, UnphysicalError
from overarm.physics.rigid_body import Mass

WING_ROLL, WING_PITCH, WING_YAW_OF_SUM = 0.0363, 0.339, 0.994
PLANE_ROLL, PLANE_PITCH, PLANE_YAW_OF_SUM = 0.0255, 0.12, 0.95
PRODUCT_OF_ROLL = 0.013


class Size(NamedTuple):
    """What the estimate looks at. ``tail_arm_m`` is 0 for a flying wing."""

    mass_kg: float
    span_m: float
    chord_m: float
    tail_arm_m: float


class Swung(NamedTuple):
    """Measured moments of inertia [kg m2]; None where not measured."""

    roll_kg_m2: float | None
    pitch_kg_m2: float | None
    yaw_kg_m2: float | None


def mass_and_inertia(size: Size, swung: Swung) -> Mass:
    """Return mass and moments of inertia, measured where measured.

    Equations: ``I_x = k_x m b^2``; ``I_y = k_y m c^2`` (flying wing) or ``k_y m l_t^2``;
    ``I_z = k_z (I_x + I_y)``. Raises UnphysicalError for values that no body can have.
    """
    flying_wing = size.tail_arm_m <= 0.0
    ixx = size.mass_kg * size.span_m**2 * (WING_ROLL if flying_wing else PLANE_ROLL)
    ixx = ixx if swung.roll_kg_m2 is None else swung.roll_kg_m2
    iyy = size.mass_kg * (WING_PITCH * size.chord_m**2 if flying_wing else PLANE_PITCH * size.tail_arm_m**2)
    iyy = iyy if swung.pitch_kg_m2 is None else swung.pitch_kg_m2
    izz = (ixx + iyy) * (WING_YAW_OF_SUM if flying_wing else PLANE_YAW_OF_SUM)
    izz = izz if swung.yaw_kg_m2 is None else swung.yaw_kg_m2
    for name, value in (("mass", size.mass_kg), ("roll", ixx), ("pitch", iyy), ("yaw", izz)):
        if not 0.0 < value < 1e3:
            key = "mass" if name == "mass" else f"{name}_inertia"
            problem = Problem("must be above zero", "Weigh or swing again.", key=key, value=f"{value:g}")
            raise UnphysicalError([problem])
    largest = max(ixx, iyy, izz)
    if largest > (ixx + iyy + izz - largest) * 1.001:
        problem = Problem(
            "no body has a moment of inertia that is larger than the other two together",
            "Check the swing times and the cord lengths.",
            key="roll_inertia, pitch_inertia, yaw_inertia",
            value=f"{ixx:.4g}, {iyy:.4g}, {izz:.4g} kg m2",
        )
        raise UnphysicalError([problem])
    return Mass(size.mass_kg, ixx, iyy, izz, PRODUCT_OF_ROLL * ixx)


def propeller_inertia(
    blade_mass_kg: float, diameter_m: float, motor_mass_kg: float, rotor_radius_m: float
) -> float:
    """Return the inertia [kg m2] of all that turns: ``0.075 m_p d^2 + 0.55 m_m r^2``.

    Parameters: propeller mass [kg] and diameter [m]; mass of the whole motor [kg] and radius of its
    outer rotor [m]. Source: own estimate: a blade between a uniform rod (1/12) and a sharply tapered
    one, and a rotor that holds 55 % of the motor's mass near its rim.
    """
    return 0.075 * blade_mass_kg * diameter_m**2 + 0.55 * motor_mass_kg * rotor_radius_m**2

"""The standard atmosphere, and the density of the air on the day.

Source: ISO 2533:1975 (the same as the US Standard Atmosphere 1976 below 32 km); constants and
equations of its first layer, 0 to 11 km of geopotential height. Viscosity by Sutherland's law with
the constants of the same standard. Checked in ``tests/verification/test_atmosphere.py``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

GRAVITY_MPS2 = 9.80665
SEA_LEVEL_TEMPERATURE_K = 288.15
SEA_LEVEL_PRESSURE_PA = 101325.0
LAPSE_K_PER_M = 0.0065
GAS_CONSTANT_J_PER_KG_K = 287.05287
HEAT_RATIO = 1.4
EARTH_RADIUS_M = 6356766.0
FIRST_LAYER_TOP_M = 11000.0
FIRST_LAYER_FLOOR_M = -2000.0

_PRESSURE_POWER = GRAVITY_MPS2 / (GAS_CONSTANT_J_PER_KG_K * LAPSE_K_PER_M)
_SUTHERLAND = 1.458e-6
_SUTHERLAND_K = 110.4


class StandardAir(NamedTuple):
    """The standard air at one height."""

    temperature_k: float
    pressure_pa: float
    density_kgpm3: float
    sound_mps: float
    viscosity_pas: float


def geopotential_height(geometric_m: float) -> float:
    """Return the geopotential height [m] of a height above the sea [m].

    Equation: ``H = r h / (r + h)``, r = 6356766 m. Source: ISO 2533:1975, equation 8.
    """
    return EARTH_RADIUS_M * geometric_m / (EARTH_RADIUS_M + geometric_m)


def standard_air(geopotential_m: float) -> StandardAir:
    """Return the standard air at a geopotential height [m], -2000 to 11 000.

    Equations: ``T = T0 - L H``, ``p = p0 (T/T0)^(g/(R L))``, ``rho = p/(R T)``,
    ``a = sqrt(1.4 R T)``. Raises ValueError outside the layer. Source: ISO 2533:1975.
    """
    if not FIRST_LAYER_FLOOR_M <= geopotential_m <= FIRST_LAYER_TOP_M:
        raise ValueError(
            f"height {geopotential_m:g} m is outside {FIRST_LAYER_FLOOR_M:g} to {FIRST_LAYER_TOP_M:g} m: "
            "give the height above the sea in metres"
        )
    temperature_k = SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * geopotential_m
    pressure_pa = SEA_LEVEL_PRESSURE_PA * (temperature_k / SEA_LEVEL_TEMPERATURE_K) ** _PRESSURE_POWER
    return StandardAir(
        temperature_k,
        pressure_pa,
        density(temperature_k, pressure_pa),
        math.sqrt(HEAT_RATIO * GAS_CONSTANT_J_PER_KG_K * temperature_k),
        viscosity(temperature_k),
    )


def density(temperature_k: float, pressure_pa: float) -> float:
    """Return the density of dry air [kg/m3] from temperature [K] and pressure [Pa] (ideal gas)."""
    if not (temperature_k > 0.0 and pressure_pa > 0.0):
        raise ValueError(
            f"temperature {temperature_k:g} K and pressure {pressure_pa:g} Pa must both be above zero"
        )
    return pressure_pa / (GAS_CONSTANT_J_PER_KG_K * temperature_k)


def viscosity(temperature_k: float) -> float:
    """Return the dynamic viscosity of air [Pa s]: ``1.458e-6 T^1.5/(T + 110.4)`` (ISO 2533:1975)."""
    return float(_SUTHERLAND * temperature_k**1.5 / (temperature_k + _SUTHERLAND_K))


def site_density(temperature_k: float, elevation_m: float, pressure_pa: float | None = None) -> float:
    """Return the density of the air at a place on a day [kg/m3].

    ``temperature_k`` [K] is measured there; ``pressure_pa`` [Pa] is the pressure read there (not
    reduced to sea level). Without it, the standard pressure of the elevation [m] is taken.
    Raises ValueError for values that no such place has.
    """
    if pressure_pa is None:
        pressure_pa = standard_air(geopotential_height(elevation_m)).pressure_pa
    return density(temperature_k, pressure_pa)

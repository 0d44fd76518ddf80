"""The standard atmosphere against its published table and an independent package."""

from __future__ import annotations

import math

import ambiance
import pytest

from overarm import air
from tests.agreement import Agrees

ISO = "ISO 2533:1975"
AMBIANCE = "ambiance 1.3"

# ISO 2533:1975 table rows (geopotential height): m, K, Pa, kg/m3, m/s, Pa s.
ISO_2533 = [
    (0.0, 288.150, 101325.0, 1.22500, 340.294, 1.78938e-5),
    (500.0, 284.900, 95460.8, 1.16727, 338.369, 1.77366e-5),
    (1000.0, 281.650, 89874.6, 1.11164, 336.434, 1.75785e-5),
    (2000.0, 275.150, 79495.2, 1.00649, 332.529, 1.72596e-5),
    (3000.0, 268.650, 70108.5, 0.909122, 328.578, 1.69372e-5),
]


@pytest.mark.parametrize("row", ISO_2533, ids=lambda row: f"{row[0]:g} m")
def test_published_table(agrees: Agrees, row: tuple[float, ...]) -> None:
    agrees(
        f"standard air at {row[0]:g} m: K, Pa, kg/m3, m/s, Pa s",
        ISO,
        air.standard_air(row[0]),
        row[1:],
        rel=1e-5,
    )


@pytest.mark.plain_floats("the other package computes layers far above and below its own range")
@pytest.mark.parametrize("height_m", [-300.0, 0.0, 440.0, 1000.0, 2000.0, 4000.0])
def test_agrees_with_an_independent_package(agrees: Agrees, height_m: float) -> None:
    """ambiance 1.3 takes the geometric height."""
    other = ambiance.Atmosphere(height_m)
    ours = air.standard_air(air.geopotential_height(height_m))
    theirs = (other.temperature, other.pressure, other.density, other.speed_of_sound, other.dynamic_viscosity)
    agrees(
        f"standard air at {height_m:g} m above the sea: K, Pa, kg/m3, m/s, Pa s",
        AMBIANCE,
        ours,
        [float(value[0]) for value in theirs],
        rel=2e-6,
    )


# Worked from the formulas of ISO 2533: Pa, degC, kg/m3, sqrt(rho0/rho).
@pytest.mark.parametrize(
    ("pressure_pa", "celsius", "density", "factor"),
    [
        (101325.0, 35.0, 1.14549, 1.0341),
        (89874.6, 30.0, 1.03280, 1.0891),
        (101325.0, 15.0, 1.22500, 1.0),
    ],
)
def test_density_on_the_day(
    agrees: Agrees, pressure_pa: float, celsius: float, density: float, factor: float
) -> None:
    found = air.site_density(celsius + 273.15, 0.0, pressure_pa)
    agrees(f"density at {pressure_pa:g} Pa, {celsius:g} degC [kg/m3]", ISO, found, density, rel=1e-5)
    agrees(
        f"speed factor at {pressure_pa:g} Pa, {celsius:g} degC",
        ISO,
        math.sqrt(1.225 / found),
        factor,
        abs=1e-4,
    )


def test_elevation_stands_in_for_the_pressure(agrees: Agrees) -> None:
    agrees(
        "density at the sea from the elevation [kg/m3]", ISO, air.site_density(288.15, 0.0), 1.225, rel=1e-6
    )
    at_1000 = air.site_density(281.651, 1000.0)
    agrees(
        "density at 1000 m from the elevation [kg/m3]",
        "US Standard Atmosphere 1976",
        at_1000,
        1.11166,
        rel=1e-5,
    )  # US Standard Atmosphere 1976, geometric height


@pytest.mark.parametrize("height_m", [-3000.0, 12000.0, math.nan, math.inf])
def test_heights_outside_the_layer_are_refused(height_m: float) -> None:
    with pytest.raises(ValueError, match="metres"):
        air.standard_air(height_m)


@pytest.mark.parametrize(("temperature_k", "pressure_pa"), [(-5.0, 1e5), (288.0, 0.0), (math.nan, 1e5)])
def test_impossible_air_is_refused(temperature_k: float, pressure_pa: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        air.density(temperature_k, pressure_pa)

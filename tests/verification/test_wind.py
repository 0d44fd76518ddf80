"""Mean wind: log law against worked rows, and the signs of the launch frame."""

from __future__ import annotations

import math

import pytest

from overarm.physics.wind import Air, along_wind, gust_sigmas, mean_wind
from tests.agreement import Agrees

LOG_LAW = "log law, roughness class 1 of the European Wind Atlas"

MEADOW = Air(1.225, 5.0, 0.0, 0.03, 1.0)


# 5 m/s at 10 m, z0 0.03 m (roughness class 1 of the European Wind Atlas): height, wind.
@pytest.mark.parametrize(
    ("height_m", "wind_mps"), [(2.0, 3.6147), (30.0, 5.9456), (50.0, 6.3853), (120.0, 7.1388)]
)
def test_log_law(agrees: Agrees, height_m: float, wind_mps: float) -> None:
    agrees(
        f"mean wind at {height_m:g} m for 5 m/s at 10 m [m/s]",
        LOG_LAW,
        mean_wind(MEADOW, height_m),
        wind_mps,
        rel=1e-4,
    )


@pytest.mark.parametrize(("roughness_m", "share"), [(0.03, 0.70), (0.25, 0.54)])
def test_the_hand_feels_less_than_the_mast(agrees: Agrees, roughness_m: float, share: float) -> None:
    """At 1.8 m about 70 % of the wind at 10 m over a meadow, 54 % over crops (log law, by hand)."""
    air = MEADOW._replace(roughness_m=roughness_m)
    agrees(
        f"wind at the hand over wind at 10 m, roughness {roughness_m:g} m",
        "log law, worked by hand",
        mean_wind(air, 1.8) / 5.0,
        share,
        abs=0.01,
    )


def test_no_wind_inside_the_grass() -> None:
    assert mean_wind(MEADOW, 0.03) == 0.0
    assert mean_wind(MEADOW, 0.0) == 0.0
    assert mean_wind(MEADOW, -1.0) == 0.0


def test_turbulence_intensity_near_the_ground() -> None:
    """Neutral surface layer: sigma_u/U is about 1/ln(z/z0) = 0.24 at 2 m over a meadow (any text on
    the surface layer, from memory). The gust law is a different one and must come near."""
    level, _ = gust_sigmas(MEADOW, 2.0)
    assert level / mean_wind(MEADOW, 2.0) == pytest.approx(1.0 / math.log(2.0 / 0.03), rel=0.1)


@pytest.mark.parametrize(
    ("angle_rad", "x", "y"),
    [(0.0, -1.0, 0.0), (math.pi, 1.0, 0.0), (0.5 * math.pi, 0.0, -1.0), (-0.5 * math.pi, 0.0, 1.0)],
    ids=["ahead", "behind", "from the right", "from the left"],
)
def test_where_the_wind_blows(angle_rad: float, x: float, y: float) -> None:
    assert along_wind(MEADOW._replace(wind_angle_rad=angle_rad), 1.0, 0.0) == pytest.approx((x, y), abs=1e-12)


def test_across_is_a_right_angle() -> None:
    air = MEADOW._replace(wind_angle_rad=0.7)
    along, across = along_wind(air, 1.0, 0.0), along_wind(air, 0.0, 1.0)
    assert along[0] * across[0] + along[1] * across[1] == pytest.approx(0.0, abs=1e-12)
    assert math.hypot(*across) == pytest.approx(1.0)

"""What the plan knows of a setup: plain numbers at their central values."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.physics.endurance import charge_of_cell
from overarm.physics.wind import Air, gust_sigmas, mean_wind
from overarm.plan.cruise import Aeroplane, aeroplane_of

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived
    from overarm.describe.outlines import Outline
    from overarm.flight.campaign import Inputs

Floats = NDArray[np.float64]
Surface = Callable[[Floats, Floats], Floats]

CRUISE_RATIO = 1.3  # airspeed after the launch over the stall speed; common practice, no source
WIND_SDS = 2.0


class Scene(NamedTuple):
    """Aeroplane, air, settings and field."""

    plane: Aeroplane
    air: Air
    wind_sd_mps: float  # of the mean wind at 10 m
    outlines: tuple[Outline, ...]
    surface: Surface | None  # height [m] over the ground at the launch, at ahead and right [m]
    handover_m: float
    home_m: float
    radius_m: float
    launch_ceiling: float
    cruise_ceiling: float
    capacity_ah: float
    cells: int
    legal_m: float

    @property
    def airspeed_mps(self) -> float:
        """Return the airspeed after the launch [m/s]."""
        return CRUISE_RATIO * self.plane.stall_speed_mps

    @property
    def charge(self) -> float:
        """Return the charge of the pack before the launch [0..1], from its resting volts."""
        return charge_of_cell(self.plane.pack.open_volts / self.cells)

    def wind_at(self, height_m: float, more_mps: float = 0.0) -> float:
        """Return the strength of the mean wind [m/s] at a height, with so much more at 10 m."""
        strength_mps = abs(self.air.wind_10m_mps) + more_mps
        return float(mean_wind(self.air._replace(wind_10m_mps=strength_mps), height_m))

    def strong_wind_at(self, height_m: float) -> float:
        """Return the mean wind + 2 sd of what we do not know + one rms gust, at a height [m/s]."""
        more_mps = WIND_SDS * self.wind_sd_mps
        stronger = self.air._replace(wind_10m_mps=abs(self.air.wind_10m_mps) + more_mps)
        return self.wind_at(height_m, more_mps) + float(gust_sigmas(stronger, height_m)[0])


def scene_of(
    setup: Setup, derived: Derived, inputs: Inputs, found: tuple[Outline, ...], surface: Surface | None
) -> Scene:
    """Return the scene of a setup with its outlines and, if there is one, its height model."""
    from overarm.flight.groups import to_ten_metres

    settings, air = setup.settings, inputs.base["air"][0]
    return Scene(
        aeroplane_of(derived),
        Air(*(float(air[name]) for name in Air._fields)),
        setup.day.wind_mps.spread * to_ten_metres(setup),
        found,
        surface,
        settings.handover_height_m.value,
        settings.home_height_m.value,
        settings.home_circle_radius_m.value,
        settings.launch_ceiling_share.value,
        settings.cruise_ceiling_share.value,
        setup.power.capacity_ah.value,
        setup.power.cells,
        setup.site.legal_ceiling_m.value,
    )

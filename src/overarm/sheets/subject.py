"""What a sheet needs to know about a setup, in SI numbers and plain words.

Pictures and pages read this alone; `overarm.sheets.reading` fills it from the cards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from overarm.physics.wind import Air, mean_wind
from overarm.sheets.fan import Obstacle

MASS_TOLERANCE = 0.05
PACK_TOLERANCE_V_PER_CELL = 0.05


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings card; an optional setting that is not used is None."""

    jerk_level_mps2: float
    jerk_dwell_s: float
    jerks: int
    start_wait_s: float
    throttle_rise_per_s: float
    launch_ceiling: float
    cruise_ceiling: float
    climb_pitch_rad: float
    handover_height_m: float
    give_up_s: float
    speed_gate_mps: float | None = None
    pose_words: str | None = None
    early_pitch_rad: float | None = None
    after_task: str | None = None
    home_height_m: float | None = None
    home_circle_m: float | None = None


@dataclass(frozen=True, slots=True)
class Subject:
    """One setup as a sheet sees it."""

    name: str
    style: str
    settings: Settings
    airframe_words: str
    power_words: str
    launch_words: str
    site_words: str
    balance_words: str
    propeller_words: str
    pusher: bool
    mass_kg: float
    cells: int
    pack_volts: float
    stall_speed_mps: float
    full_thrust_n: float
    thrust_exponent: float
    start_delay_s: float
    joules_per_mps2: float
    speed_mean_mps: float
    speed_sd_mps: float
    release_height_m: float
    wind_10m_mps: float
    wind_sd_mps: float
    wind_angle_rad: float
    roughness_m: float
    obstacles: tuple[Obstacle, ...] = ()  # those ahead
    around_m: float = 0.0  # the tallest obstacle anywhere
    ramp: tuple[float, float] | None = None  # length [m] and angle [rad] of a line launch
    release_path_rad: float | None = None  # of a throw by hand, above the horizon
    glide_ratio: float = math.inf  # best lift over drag

    @property
    def hand_share(self) -> float:
        """Return the mean wind at hand height over that at 10 m; 0 for a hand down in the roughness."""
        return float(mean_wind(Air(0.0, 1.0, 0.0, self.roughness_m, 0.0), self.release_height_m))

    @property
    def headwind_mps(self) -> float:
        """Return today's mean headwind at hand height [m/s]; negative is a tailwind."""
        return self.wind_10m_mps * math.cos(self.wind_angle_rad) * self.hand_share

    @property
    def tallest_m(self) -> float:
        """Return the height of the tallest obstacle anywhere [m]; 0 if there is none."""
        return max([self.around_m, *(item.height_m for item in self.obstacles)])

    @property
    def by_line(self) -> bool:
        """Return True for a line launch."""
        return self.style == "line-launched"

    @property
    def mass_band_kg(self) -> tuple[float, float]:
        """Return the masses for which the odds are taken to hold."""
        return self.mass_kg * (1 - MASS_TOLERANCE), self.mass_kg * (1 + MASS_TOLERANCE)

    @property
    def least_volts(self) -> float:
        """Return the lowest resting pack voltage for which the odds are taken to hold."""
        return self.pack_volts - PACK_TOLERANCE_V_PER_CELL * self.cells

"""The answer to "does it get out, and does it get home?": frozen values that turn into JSON.

Everything is in the launch frame: metres ahead of the point of release along the launch line, metres to
the right, metres above the ground at the launch.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from overarm.odds.finding import Finding, Word
from overarm.odds.intervals import Interval

if TYPE_CHECKING:
    from overarm.describe.outlines import Outline
    from overarm.earth import Ground, Spot

SCHEMA = 1
Floats = NDArray[np.float64]
Kind = Literal["launch", "handover", "out", "turn", "home"]


@dataclass(frozen=True, slots=True)
class DayWind:
    """The wind of the day at 10 m and how well it is known (one standard deviation)."""

    speed_mps: float
    angle_rad: float  # where it comes from: 0 ahead, +pi/2 from the right
    speed_sd_mps: float
    angle_sd_rad: float


@dataclass(frozen=True, slots=True, eq=False)
class Fan:
    """Where the launches go: percentiles over distance ahead, and some of the paths.

    Heights are percentiles over all launches that were released: one that came down earlier counts as
    height 0. Sideways positions are percentiles over the launches that get so far.
    """

    ahead_m: Floats  # (k,)
    right_p5_m: Floats
    right_p50_m: Floats
    right_p95_m: Floats
    height_p5_m: Floats
    height_p50_m: Floats
    height_p95_m: Floats
    share_there: Floats  # (k,) share of all launches that get so far
    paths: tuple[Floats, ...]  # about 40 arrays (n, 3): ahead, right, height
    handover_ahead_m: float  # median place of the handover
    handover_right_m: float
    handover_time_s: float  # median time from release
    handed_over_share: float

    def to_dict(self) -> dict[str, Any]:
        """Return the fan as JSON-ready data, without the single paths."""
        columns = (
            "ahead_m",
            "right_p5_m",
            "right_p50_m",
            "right_p95_m",
            "height_p5_m",
            "height_p50_m",
            "height_p95_m",
            "share_there",
        )
        answer: dict[str, Any] = {name: getattr(self, name).tolist() for name in columns}
        for name in ("handover_ahead_m", "handover_right_m", "handover_time_s", "handed_over_share"):
            answer[name] = getattr(self, name)
        return answer


@dataclass(frozen=True, slots=True)
class Gap:
    """How far the launches keep from one obstacle: over its top or, passing beside it, sideways."""

    name: str
    distance_m: float  # from the point of release to its nearest part
    height_m: float
    p5_m: float
    p50_m: float
    wanted_m: float  # 5 m + 10 % of the distance
    struck_share: float
    short_share: float  # came down before they got there; they count as a gap of minus its height
    word: Word
    sentence: str


@dataclass(frozen=True, slots=True, eq=False)
class Rose:
    """Odds by launch direction; a direction is relative to today's launch line, to the right positive."""

    angles_rad: Floats  # (k,)
    odds: tuple[Interval, ...]
    headwind_mps: Floats  # (k,) at 10 m
    struck_share: Floats  # (k,)
    best_rad: float  # 0 where no turn is clearly better
    gain: Interval  # best direction less today's, in shares, launch by launch
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Return the rose as JSON-ready data."""
        return {
            "angles_rad": self.angles_rad.tolist(),
            "odds": [item._asdict() for item in self.odds],
            "headwind_mps": self.headwind_mps.tolist(),
            "struck_share": self.struck_share.tolist(),
            "best_rad": self.best_rad,
            "gain": self.gain._asdict(),
            "sentence": self.sentence,
        }


@dataclass(frozen=True, slots=True)
class Handover:
    """The handover height and the lowest that meets every condition."""

    height_m: float
    lowest_m: float
    conditions_m: dict[str, float]  # each condition and the height that it asks for
    word: Word
    sentence: str


@dataclass(frozen=True, slots=True)
class Circle:
    """The circle at home in the wind at its height."""

    radius_m: float  # as given
    least_radius_m: float  # held in the mean wind + 2 sd + one rms gust, at the steepest bank allowed
    wanted_radius_m: float
    bank_rad: float  # needed with the given radius at the worst point, in that wind
    still_bank_rad: float  # needed in still air
    airspeed_mps: float
    wind_mps: float  # mean at home height + 2 sd + one rms gust
    mean_wind_mps: float  # at home height
    drift_m: float  # carried by the mean wind while the autopilot notices, 3 s
    by_wind: tuple[tuple[float, float], ...]  # wind at 10 m, radius wanted
    word: Word
    sentence: str


@dataclass(frozen=True, slots=True)
class WayHome:
    """The way home from the handover: heights, speeds, time, energy and what is left."""

    distance_m: float  # along the way: on, round and back
    height_m: float  # home height as given
    wanted_height_m: float
    tallest_m: float  # highest obstacle or ground on the way and around the circle
    airspeed_mps: float
    wind_mps: float  # mean at home height
    ground_speed_mps: float  # straight home in today's wind
    into_wind_mps: float  # over ground, flying into today's wind
    least_ground_speed_mps: float
    fastest_mps: float  # level at the cruise ceiling
    longest_mps: float  # airspeed that stays up longest
    farthest_mps: float  # airspeed that goes farthest in calm air
    time_s: float
    time_against_s: float  # with the wind from the other side
    launch_energy_j: float  # from the first throttle to the handover
    climb_energy_j: float  # from the handover to home height
    energy_j: float  # from the handover, climb included, in today's wind
    energy_against_j: float
    energy_share: float  # of the capacity: launch and the worse way home
    reserve_share: float
    capacity_share_left: float  # at home, counted with 35 % efficiency where the model's own is better
    cell_volts_v: float  # under load at the end, with the reserve left, climbing again
    level_power_w: float
    level_throttle: float
    level_efficiency: float  # thrust power over electric power
    climb_rate_mps: float
    loiter_s: float  # circling at home before the reserve is reached
    endurance_s: float  # level flight from the pack of the day down to the reserve
    turn_sink_m: float  # height lost in the turn if the throttle stays
    glide_still_m: float  # motor off from home height down to the ground
    glide_into_wind_m: float
    word: Word
    sentence: str


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The height that the user's rules allow, and the highest that this flight goes."""

    legal_m: float
    highest_m: float
    word: Word
    sentence: str


@dataclass(frozen=True, slots=True)
class RoutePoint:
    """One point of the route; the spot is None where the launch point is not known."""

    name: str
    kind: Kind
    ahead_m: float
    right_m: float
    height_m: float  # above the ground at the launch
    spot: Spot | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PlanResult:
    """The climb-out and the way home of one setup."""

    setup_name: str
    setup_hash: str
    version: str
    seed: int
    launches: int
    style: str
    ground: Ground | None
    release_height_m: float
    direction_rad: float | None  # true bearing of the launch line
    wind: DayWind
    fan: Fan
    gaps: tuple[Gap, ...]
    rose: Rose
    handover: Handover
    circle: Circle
    home: WayHome
    ceiling: Ceiling
    route: tuple[RoutePoint, ...]
    outlines: tuple[Outline, ...]
    ground_m: Floats  # (k, 2): ahead, height of the model along the launch line; none without a model
    findings: tuple[Finding, ...]
    notes: tuple[str, ...] = field(default=())

    @property
    def has_stop(self) -> bool:
        """Return True if a finding says stop."""
        return any(item.word == "stop" for item in self.findings)

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as JSON-ready data; ``docs/reference/plan.schema.json`` describes it."""
        return {
            "overarm_plan": SCHEMA,
            "setup_name": self.setup_name,
            "setup_hash": self.setup_hash,
            "version": self.version,
            "seed": self.seed,
            "launches": self.launches,
            "style": self.style,
            "launch_point": None if self.ground is None else self.ground.launch._asdict(),
            "direction_rad": self.direction_rad,
            "release_height_m": self.release_height_m,
            "wind": asdict(self.wind),
            "fan": self.fan.to_dict(),
            "gaps": [asdict(item) for item in self.gaps],
            "rose": self.rose.to_dict(),
            "handover": asdict(self.handover),
            "circle": {**asdict(self.circle), "by_wind": [list(pair) for pair in self.circle.by_wind]},
            "home": asdict(self.home),
            "ceiling": asdict(self.ceiling),
            "route": [_point(item) for item in self.route],
            "outlines": [_outline(item) for item in self.outlines],
            "ground_m": self.ground_m.tolist(),
            "findings": [item._asdict() for item in self.findings],
            "notes": list(self.notes),
        }


def _point(item: RoutePoint) -> dict[str, Any]:
    return {
        "name": item.name,
        "kind": item.kind,
        "ahead_m": item.ahead_m,
        "right_m": item.right_m,
        "height_m": item.height_m,
        "spot": None if item.spot is None else item.spot._asdict(),
    }


def _outline(item: Outline) -> dict[str, Any]:
    return {
        "name": item.name,
        "points_m": item.points_m.tolist(),
        "height_m": item.height_m,
        "closed": item.closed,
    }

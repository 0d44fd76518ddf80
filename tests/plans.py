"""Made-up plans for the tests of exports and pictures: right in kind and size, no prediction."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from overarm.describe.outlines import Outline
from overarm.earth import Ground, Spot
from overarm.odds.finding import Finding
from overarm.odds.intervals import Interval, wilson
from overarm.plan.result import (
    Ceiling,
    Circle,
    DayWind,
    Fan,
    Gap,
    Handover,
    PlanResult,
    Rose,
    RoutePoint,
    WayHome,
)

GROUND = Ground(Spot(47.0, 8.0), math.radians(250.0))
HANDOVER_M, HOME_M = 35.0, 40.0


def fan_of(reach_m: float = 190.0, handover_m: float = HANDOVER_M) -> Fan:
    ahead = np.linspace(0.0, reach_m, 60)
    middle = np.minimum(1.9 + 0.19 * ahead, handover_m)
    half = 0.07 * ahead + 0.5 * np.sqrt(ahead)
    drift = 0.0004 * ahead**2
    rng = np.random.default_rng(3)
    paths = []
    for _ in range(40):
        lean, climb = rng.normal(0.0, 0.5), 0.19 * math.exp(0.12 * rng.normal())
        height = 1.9 + climb * ahead - 0.6 * np.exp(-np.minimum(((ahead - 9.0) / 5.0) ** 2, 50.0))
        upto = int(np.argmax(height >= handover_m)) or len(ahead)
        paths.append(np.stack([ahead, drift + lean * half, height], axis=1)[: upto + 1])
    return Fan(
        ahead_m=ahead, right_p5_m=drift - half, right_p50_m=drift, right_p95_m=drift + half,
        height_p5_m=np.maximum(0.0, 0.8 * middle), height_p50_m=middle,
        height_p95_m=np.minimum(1.15 * middle, handover_m), share_there=np.linspace(1.0, 0.4, 60),
        paths=tuple(paths), handover_ahead_m=0.92 * reach_m, handover_right_m=0.0004 * (0.92 * reach_m) ** 2,
        handover_time_s=16.0,
        handed_over_share=0.94,
    )  # fmt: skip


def outlines_of(name: str = "trees") -> tuple[Outline, ...]:
    wall = np.array([[140.0, -60.0], [140.0, 60.0]])
    barn = np.array([[80.0, 30.0], [80.0, 45.0], [95.0, 45.0], [95.0, 30.0]])
    return (Outline(name, wall, 15.0, False), Outline("barn", barn, 7.0, True))


def rose_of() -> Rose:
    angles = np.radians(np.arange(0.0, 360.0, 30.0))
    share = 0.55 + 0.35 * np.cos(angles - 0.35)
    return Rose(
        angles_rad=angles, odds=tuple(wilson(round(500 * s), 500) for s in share),
        headwind_mps=4.0 * np.cos(angles), struck_share=0.02 * (np.cos(angles) > 0.8), best_rad=0.0,
        gain=Interval(0.0, 0.0, 0.0), sentence="No other direction is clearly better than today's.",
    )  # fmt: skip


def gap_of(name: str, distance_m: float, height_m: float, p5_m: float) -> Gap:
    wanted = 5.0 + 0.1 * distance_m
    word: Any = "good" if p5_m >= wanted else "watch" if p5_m >= 0 else "stop"
    return Gap(
        name, distance_m, height_m, p5_m, p5_m + 5.0, wanted, 0.01, 0.02, word,
        f"{name}: 19 launches of 20 keep {p5_m:.0f} m from it; {wanted:.0f} m are wanted.",
    )  # fmt: skip


def route_of() -> tuple[RoutePoint, ...]:
    rows = (
        ("launch", "launch", 0.0, 0.0, 0.0),
        ("handover", "handover", 175.0, 12.0, HANDOVER_M),
        ("out", "out", 230.0, 12.0, HOME_M),
        ("turn", "turn", 230.0, 72.0, HOME_M),
        ("home", "home", 0.0, 0.0, HOME_M),
    )
    return tuple(RoutePoint(name, kind, x, y, h) for name, kind, x, y, h in rows)  # type: ignore[arg-type]


def home_of() -> WayHome:
    return WayHome(
        distance_m=560.0, height_m=HOME_M, wanted_height_m=32.0, tallest_m=15.0, airspeed_mps=10.2,
        wind_mps=4.9, ground_speed_mps=15.1, into_wind_mps=5.3, least_ground_speed_mps=3.1, fastest_mps=16.0,
        longest_mps=9.4, farthest_mps=10.1, endurance_s=2400.0,
        time_s=66.0, time_against_s=92.0, launch_energy_j=4200.0, climb_energy_j=700.0, energy_j=6100.0,
        energy_against_j=8300.0, energy_share=0.06, reserve_share=0.3, capacity_share_left=0.92,
        cell_volts_v=3.9, level_power_w=72.0, level_throttle=0.46, level_efficiency=0.41, climb_rate_mps=3.2,
        loiter_s=1900.0, turn_sink_m=1.4, glide_still_m=350.0, glide_into_wind_m=180.0, word="good",
        sentence="Home at 40 m, 560 m of way, 66 s and 6 % of the pack.",
    )  # fmt: skip


def plan_of(
    ground: Ground | None = GROUND, *, name: str = "Kestrel-sized wing", **changes: Any
) -> PlanResult:
    """Return a plan with two obstacles and everything else in order."""
    plan = PlanResult(
        setup_name=name, setup_hash="9f2c4a7be1d0aa55", version="0.1.0", seed=1, launches=2_000,
        style="throw-started", ground=ground, release_height_m=1.9,
        direction_rad=None if ground is None else ground.direction_rad,
        wind=DayWind(4.0, math.radians(20.0), 0.8, 0.2), fan=fan_of(),
        gaps=(gap_of("trees", 140.0, 15.0, 9.0), gap_of("barn", 85.4, 7.0, 16.0)), rose=rose_of(),
        handover=Handover(HANDOVER_M, 30.0, {"trees": 30.0}, "good", "35 m is enough: 30 m are asked for."),
        circle=Circle(
            45.0, 37.0, 48.0, 0.52, 0.22, 10.2, 7.1, 4.9, 14.7,
            tuple((w, 14.0 * (1 + w / 10.2) ** 2 + 18.0) for w in (0.0, 2.0, 4.0, 6.0, 8.0)), "watch",
            "45 m hold in the wind of today; 48 m are wanted.",
        ),
        home=home_of(),
        ceiling=Ceiling(120.0, 44.0, "good", "The highest of 20 launches is 44 m; 120 m are allowed."),
        route=route_of(), outlines=outlines_of(), ground_m=np.empty((0, 2)),
        findings=(Finding("obstacle gap", "watch", "The gap over the trees is thin.", {"gap_m": 9.0}),),
    )  # fmt: skip
    return replace(plan, **changes)

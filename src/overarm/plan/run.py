"""From a setup to its plan: fly the launches, turn the launch line, and compute the way home."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.describe.outlines import HEIGHT_ERROR_M
from overarm.errors import Cancelled, InputError, Problem
from overarm.flight.campaign import Inputs
from overarm.flight.paths import Paths, fly_paths
from overarm.plan.circle import circle_of
from overarm.plan.clearance import distance_of, gap_of, terrain_gap
from overarm.plan.fan import Tracks, continued, fan_of, handover_place, reach_of
from overarm.plan.findings import ceiling_of, findings_of
from overarm.plan.handover import handover_of
from overarm.plan.home import ground_of_way, home_of, powers_of, way_home
from overarm.plan.result import Ceiling, DayWind, Fan, Gap, PlanResult, Rose, RoutePoint
from overarm.plan.rose import DIRECTIONS, rose_of
from overarm.plan.scene import Scene, Surface, scene_of
from overarm.plan.way import GRID_M, Way, unknown_ground

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.earth import Ground

LAUNCHES = 1000
FEWEST_LAUNCHES, MOST_LAUNCHES = 100, 100_000
BLIND = "Directions do not see the ground of the height model: what rises there is not in these odds."
NO_HANDOVER_S = 10.0  # time under power that is counted where no launch was handed over; own estimate


class Progress(NamedTuple):
    """How far a plan is."""

    done: int
    of: int
    what: str


def _checked(launches: int) -> None:
    if not FEWEST_LAUNCHES <= launches <= MOST_LAUNCHES:
        cure = f"Give {FEWEST_LAUNCHES} to {MOST_LAUNCHES}; {LAUNCHES} is usual."
        raise InputError(
            [Problem("so many launches make no plan", cure, key="launches", value=str(launches))]
        )


def plan(
    setup: Setup,
    launches: int = LAUNCHES,
    seed: int = 1,
    *,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> PlanResult:
    """Return the climb-out and the way home of a setup.

    Parameters
    ----------
    setup : Setup
        From `overarm.load`. Without a launch point everything is in metres ahead and to the right.
    launches : int
        How many are flown for the fan, and in each of 16 directions for the rose; 100 to 100 000.
    seed : int
        The same seed and setup give the same plan, on any number of cores.
    progress, cancelled : callable, optional
        Told after, and asked before, each part of the work.

    Returns
    -------
    PlanResult

    Raises
    ------
    InputError
        If the number of launches makes no sense, or an obstacle file or height model cannot be used.
    UnphysicalError
        If it cannot fly level, or the wind at home height is as fast as the aeroplane.
    Cancelled
        If somebody cancelled it.
    """
    from overarm.describe.derived import derive
    from overarm.describe.outlines import ground_of, outlines
    from overarm.flight.inputs import inputs_of

    _checked(launches)
    found, ground = outlines(setup), ground_of(setup)
    surface = _surface(setup)
    derived = derive(setup)
    inputs = inputs_of(setup, derived)
    scene = scene_of(setup, derived, inputs, found, surface)
    powers = powers_of(scene)

    paths, rose = _flown(inputs, (launches, seed), progress, cancelled)
    if surface is not None:
        rose = dataclasses.replace(rose, sentence=f"{BLIND} {rose.sentence}")
    way = way_home(scene, powers, handover_place(paths)[:2])
    fan, gaps = _climb_out(scene, paths, way)
    home = home_of(scene, powers, way, _launch_time(paths))
    handover = handover_of(scene, way, home.turn_sink_m, turned_by(paths, way))
    circle = circle_of(scene)
    ceiling = _ceiling(scene, paths)
    parts = (handover, circle, home, ceiling)
    shares = (fan.handed_over_share, unknown_ground(ground_of_way(scene, way), scene))
    return PlanResult(
        setup_name=setup.name,
        setup_hash=setup.hash(),
        version=overarm.__version__,
        seed=seed,
        launches=launches,
        style=setup.style,
        ground=ground,
        release_height_m=_release_height(paths),
        direction_rad=None if ground is None else ground.direction_rad,
        wind=_wind(setup, scene),
        fan=fan,
        gaps=gaps,
        rose=rose,
        handover=handover,
        circle=circle,
        home=home,
        ceiling=ceiling,
        route=_route(scene, way, _release_height(paths), ground),
        outlines=found,
        ground_m=_profile(surface, fan, way),
        findings=findings_of(scene, gaps, rose, parts, shares),
        notes=_notes(setup, ground),
    )


def _flown(
    inputs: Inputs,
    count: tuple[int, int],
    progress: Callable[[Progress], None] | None,
    cancelled: Callable[[], bool] | None,
) -> tuple[Paths, Rose]:
    """Return the paths over an open field, and the rose; ``count``: launches and seed."""
    launches = count[0]

    def tell(done: int, what: str) -> None:
        if progress is not None:
            progress(Progress(done, launches * (DIRECTIONS + 1), what))

    open_field = dataclasses.replace(inputs, obstacles=inputs.obstacles[:0])
    paths = fly_paths(open_field, *count, progress=lambda done: tell(done, "the fan"), cancelled=cancelled)
    if paths.cancelled:
        raise Cancelled
    rose = rose_of(
        inputs,
        *count,
        progress=lambda done: tell(launches * (done + 1), "directions"),
        cancelled=cancelled,
    )
    return paths, rose


def turned_by(paths: Paths, way: Way) -> float:
    """Return how far from the launch 19 of 20 have turned for home [m]."""
    ends = paths.points_m[paths.handed_over, -1, :2]
    far_m = float(np.quantile(np.hypot(ends[:, 0], ends[:, 1]), 0.95)) if len(ends) else 0.0
    return far_m + way.straight_m


def _climb_out(scene: Scene, paths: Paths, way: Way) -> tuple[Fan, tuple[Gap, ...]]:
    """Return the fan, and the gaps to every obstacle and to the ground of the height model."""
    tracks: Tracks = continued(paths, way.straight_m)
    half_span_m = 0.5 * scene.plane.wing.span_m
    gaps = [gap_of(item, tracks, half_span_m) for item in scene.outlines]
    if scene.surface is not None:
        gaps.append(terrain_gap(scene.surface, tracks))
    passed = [distance_of(item) for item in scene.outlines if distance_of(item) <= turned_by(paths, way)]
    return fan_of(paths, tracks, reach_of(paths, max(passed, default=0.0))), tuple(gaps)


def _launch_time(paths: Paths) -> float:
    """Return the median time [s] under power before the handover."""
    rows = paths.table[paths.launch[paths.handed_over]]
    rows = rows[rows["first_spin_s"] >= 0.0]
    return float(np.median(rows["handover_s"] - rows["first_spin_s"])) if len(rows) else NO_HANDOVER_S


def _release_height(paths: Paths) -> float:
    return float(np.median(paths.points_m[:, 0, 2])) if len(paths.points_m) else 0.0


def _ceiling(scene: Scene, paths: Paths) -> Ceiling:
    tops = paths.table["top_height_m"]
    highest_m = max(float(np.quantile(tops, 0.95)), scene.home_m + HEIGHT_ERROR_M)
    return ceiling_of(scene.legal_m, highest_m)


def _wind(setup: Setup, scene: Scene) -> DayWind:
    """Return the wind with a strength that is not below zero."""
    speed_mps, angle_rad = scene.air.wind_10m_mps, scene.air.wind_angle_rad
    if speed_mps < 0.0:
        speed_mps, angle_rad = -speed_mps, math.remainder(angle_rad + math.pi, math.tau)
    return DayWind(speed_mps, angle_rad, scene.wind_sd_mps, setup.day.wind_angle_rad.spread)


def _route(scene: Scene, way: Way, release_m: float, ground: Ground | None) -> tuple[RoutePoint, ...]:
    """Return the points of the route; with spots where the launch point is known."""
    points = [
        RoutePoint("launch", "launch", 0.0, 0.0, release_m),
        RoutePoint("handover", "handover", *way.handover, scene.handover_m),
        RoutePoint("out", "out", *way.out, scene.home_m),
        RoutePoint("turned", "turn", *way.turn, scene.home_m),
        RoutePoint("home", "home", 0.0, 0.0, scene.home_m),
    ]
    if ground is None:
        return tuple(points)
    from overarm.earth import Spot, to_spots

    north, east = to_spots(ground, [item.ahead_m for item in points], [item.right_m for item in points])
    return tuple(
        dataclasses.replace(item, spot=Spot(float(lat), float(lon)))
        for item, lat, lon in zip(points, north, east, strict=True)
    )


def _notes(setup: Setup, ground: Ground | None) -> tuple[str, ...]:
    notes = [
        "After the handover the paths go on level and straight until they would have turned for home.",
        "Airspeed after the launch: 1.3 times the stall speed.",
    ]
    if setup.settings.after_task == "carry on":
        notes.append("It carries on after the launch; the way home is counted from the handover.")
    if ground is None:
        notes.append(
            "The site card has no launch_point and launch_direction: everything is in metres ahead of "
            "the launch and to its right."
        )
    return tuple(notes)


def _profile(surface: Surface | None, fan: Fan, way: Way) -> NDArray[np.float64]:
    """Return ahead and height [m] of the ground along the launch line, (k, 2), as far as anything goes."""
    if surface is None:
        return np.empty((0, 2))
    far_m = 1.4 * max(float(fan.ahead_m[-1]) if fan.ahead_m.size else 0.0, way.out[0] + way.radius_m)
    ahead = np.arange(-0.6 * far_m, far_m + GRID_M, GRID_M)
    height = surface(ahead, np.zeros_like(ahead))
    known = np.isfinite(height)
    return np.column_stack([ahead[known], height[known]])


def _surface(setup: Setup) -> Surface | None:
    """Return the heights of the site's height model over the ground at the launch; None without one."""
    if setup.site.height_model is None:
        return None
    from overarm.plan.terrain import surface_of

    return surface_of(setup)

"""The way home: height, speed over ground, time, energy, and what is left of the pack."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, NamedTuple

from overarm.air import GRAVITY_MPS2
from overarm.describe.outlines import HEIGHT_ERROR_M, HOME_ABOVE_M
from overarm.errors import Problem, UnphysicalError
from overarm.odds.finding import Word, graded, worst_word
from overarm.physics.climb import flattest_lift, glide_reach, steady_glide
from overarm.physics.endurance import (
    HOUR_S,
    level_endurance,
    longest_endurance_speed,
    longest_range_speed,
    peukert_time,
)
from overarm.physics.motor import cell_volts
from overarm.physics.turn import ground_circle_bank, load_factor
from overarm.physics.wind import along_wind
from overarm.plan.circle import NOTICE_S
from overarm.plan.cruise import Steady, climb_at, fastest_level, steady
from overarm.plan.result import WayHome
from overarm.plan.scene import Scene
from overarm.plan.way import Way, corridor, highest_ground, lower_side, tallest_in

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

LEAST_GROUND_MPS = 3.0  # common practice, no source
LEAST_GROUND_SHARE = 0.3  # of the airspeed; common practice, no source
RESERVE_SHARE = 0.30  # of the capacity; common practice, no source
WATCH_RESERVE_SHARE = 0.25
LEAST_CELL_V = 3.4  # under load; common practice, no source
FLOOR_CELL_V = 3.2
CAUTIOUS_EFFICIENCY = 0.35  # thrust power over electric power, the low end of common practice
LEAST_CLIMB_MPS = 0.3  # below this nobody waits for home height
SLOWEST_RATIO = 1.2  # of the stall speed, for any steady flight; common practice, no source
PEUKERT = 1.05  # of a lithium-polymer pack; common practice, no source


class Powers(NamedTuple):
    """Steady flight in the three ways that the way home needs, and the launch."""

    level: Steady
    turning: Steady
    climbing: Steady
    launching: Steady


class Leg(NamedTuple):
    """Time [s], energy at the pack's terminals [J] and charge [A h] of a part of the flight."""

    time_s: float
    energy_j: float
    charge_ah: float


def _leg(flight: Steady, time_s: float) -> Leg:
    return Leg(time_s, flight.power_w * time_s, flight.current_a * time_s / HOUR_S)


def _sum(*legs: Leg) -> Leg:
    return Leg(*(math.fsum(column) for column in zip(*legs, strict=True)))


def _cannot(message: str, cure: str) -> UnphysicalError:
    return UnphysicalError([Problem(message, cure)])


def powers_of(scene: Scene) -> Powers:
    """Return the steady flights. Raises UnphysicalError if full throttle does not hold level flight."""
    plane, airspeed_mps = scene.plane, scene.airspeed_mps
    bank_rad = ground_circle_bank(airspeed_mps, 0.0, scene.radius_m)
    level = steady(plane, airspeed_mps)
    if level is None:
        raise _cannot(
            f"full throttle does not hold level flight at {airspeed_mps:.1f} m/s, 1.3 times the stall speed",
            "Check mass, drag, propeller and pack.",
        )
    turning = steady(plane, airspeed_mps, load=load_factor(bank_rad)) or level
    return Powers(
        level,
        turning,
        climb_at(plane, airspeed_mps, scene.cruise_ceiling),
        climb_at(plane, airspeed_mps, scene.launch_ceiling),
    )


def ground_speed(scene: Scene, course_rad: float, height_m: float, against: bool = False) -> float:
    """Return the speed over ground [m/s] along a course with the nose held into the wind.

    Equation: ``u = sqrt(V^2 - Wx^2) + Wa``, Wa and Wx the mean wind along and across the course.
    ``against``: with the wind from the other side. Source: wind triangle.
    """
    x, y = along_wind(scene.air, math.copysign(scene.wind_at(height_m), scene.air.wind_10m_mps), 0.0)
    if against:
        x, y = -x, -y
    along = x * math.cos(course_rad) + y * math.sin(course_rad)
    across = y * math.cos(course_rad) - x * math.sin(course_rad)
    return math.sqrt(max(0.0, scene.airspeed_mps**2 - across**2)) + along


def turn_loss(scene: Scene, powers: Powers, height_m: float) -> float:
    """Return the height [m] that half a circle costs if the throttle stays, with the wind gradient.

    Equation: ``pi R (D_n - D)/W``, the extra drag of the bank along the turn, plus ``V dW/g`` for the
    wind that it loses on the way down. Source: energy balance; Anderson, level turn.
    """
    extra_n = powers.turning.drag_n - powers.level.drag_n
    sink_m = math.pi * scene.radius_m * extra_n / scene.plane.weight_n
    lost_mps = scene.wind_at(height_m) - scene.wind_at(max(1.0, height_m - sink_m))
    return sink_m + scene.airspeed_mps * lost_mps / GRAVITY_MPS2


def way_home(scene: Scene, powers: Powers, handover: tuple[float, float]) -> Way:
    """Return the line of the way home from the place of the handover: on, climbing, then round and back."""
    on_mps = ground_speed(scene, 0.0, scene.home_m)
    return lower_side(handover, max(0.0, on_mps) * _climb_time(scene, powers), scene)


def _climb_time(scene: Scene, powers: Powers) -> float:
    rise_m = max(0.0, scene.home_m - scene.handover_m)
    return rise_m / max(LEAST_CLIMB_MPS, powers.climbing.climb_mps)


def _legs(scene: Scene, powers: Powers, way: Way, against: bool) -> tuple[Leg, Leg]:
    """Return (climb to home height, the rest of the way)."""
    climb_s = _climb_time(scene, powers)
    on_s = way.on_m / ground_speed(scene, 0.0, scene.home_m, against)
    back_s = way.back_m / ground_speed(scene, way.back_course_rad, scene.home_m, against)
    rest = _sum(
        _leg(powers.level, max(0.0, on_s - climb_s)),
        _leg(powers.turning, way.turn_m / scene.airspeed_mps),
        _leg(powers.level, back_s),
    )
    return _leg(powers.climbing, climb_s), rest


def _cell_at_end(scene: Scene) -> float:
    """Return the volts of a cell [V] that climbs again at the cruise ceiling with the reserve left."""
    pack = scene.plane.pack._replace(open_volts=scene.cells * float(cell_volts(RESERVE_SHARE)))
    again = climb_at(scene.plane._replace(pack=pack), scene.airspeed_mps, scene.cruise_ceiling)
    return again.volts_v / scene.cells


def ground_of_way(scene: Scene, way: Way) -> BaseGeometry:
    """Return the ground that the way may pass over: a radius of the circle and its drift to all sides."""
    return corridor(way, scene.radius_m + NOTICE_S * scene.wind_at(scene.home_m))


def tallest_on_way(scene: Scene, way: Way) -> float:
    """Return the highest obstacle or ground [m] on the way and within the circle and its drift."""
    area = ground_of_way(scene, way)
    return max(tallest_in(area, scene.outlines), highest_ground(area, scene))


class Spent(NamedTuple):
    """Legs of the flight, and what they leave of the pack."""

    launch: Leg
    climb: Leg
    today: Leg  # from the handover, the climb included
    against: Leg  # the same with the wind from the other side
    used_share: float  # of the capacity, the launch and the worse way home
    left_share: float  # counted with the cautious efficiency
    loiter_s: float


def _spent(scene: Scene, powers: Powers, way: Way, launch_s: float) -> Spent:
    """Return what launch and way home take.

    What is left is counted with 35 % efficiency where the model's own is better, for it leaves out the
    controller's losses. Circling lasts by Peukert's law, but not longer than the capacity says.
    """
    launch = _leg(powers.launching, launch_s)
    climb, rest = _legs(scene, powers, way, False)
    today, against = _sum(climb, rest), _sum(*_legs(scene, powers, way, True))
    used_share = (launch.charge_ah + max(today.charge_ah, against.charge_ah)) / scene.capacity_ah
    cautious = max(1.0, powers.level.efficiency / CAUTIOUS_EFFICIENCY)
    left_share = scene.charge - cautious * used_share
    current_a = cautious * powers.turning.current_a
    whole_s = min(peukert_time(scene.capacity_ah, current_a, n) for n in (1.0, PEUKERT))
    loiter_s = max(0.0, left_share - RESERVE_SHARE) * whole_s
    return Spent(launch, climb, today, against, used_share, left_share, loiter_s)


def _endurance(scene: Scene, powers: Powers) -> float:
    """Return how long [s] level flight lasts from the pack of the day down to the reserve."""
    share = max(0.0, scene.charge - RESERVE_SHARE)
    whole_s = min(
        level_endurance(
            scene.plane.polar,
            scene.airspeed_mps,
            scene.capacity_ah,
            powers.level.volts_v,
            efficiency=min(powers.level.efficiency, CAUTIOUS_EFFICIENCY),
            exponent=exponent,
        )
        for exponent in (1.0, PEUKERT)
    )
    return share * whole_s


def home_of(scene: Scene, powers: Powers, way: Way, launch_s: float) -> WayHome:
    """Return the way home.

    ``launch_s``: time [s] under power from the first turn of the propeller to the handover. Raises
    UnphysicalError if the wind at home height is as fast as the aeroplane.
    """
    airspeed_mps, wind_mps = scene.airspeed_mps, scene.wind_at(scene.home_m)
    if wind_mps >= airspeed_mps:
        raise _cannot(
            f"the wind at home height is {wind_mps:.1f} m/s and it flies {airspeed_mps:.1f} m/s: "
            "it does not come home",
            "Wait for less wind, or fly lower.",
        )
    spent = _spent(scene, powers, way, launch_s)
    tallest_m = tallest_on_way(scene, way)
    wanted_m = tallest_m + HOME_ABOVE_M + HEIGHT_ERROR_M
    polar, slowest_mps = scene.plane.polar, SLOWEST_RATIO * scene.plane.stall_speed_mps
    glide = steady_glide(polar, flattest_lift(polar))
    least_mps = max(LEAST_GROUND_MPS, LEAST_GROUND_SHARE * airspeed_mps)
    found = WayHome(
        distance_m=way.on_m + way.turn_m + way.back_m,
        height_m=scene.home_m,
        wanted_height_m=wanted_m,
        tallest_m=tallest_m,
        airspeed_mps=airspeed_mps,
        wind_mps=wind_mps,
        ground_speed_mps=ground_speed(scene, way.back_course_rad, scene.home_m),
        into_wind_mps=airspeed_mps - wind_mps,
        least_ground_speed_mps=least_mps,
        fastest_mps=fastest_level(scene.plane, airspeed_mps, scene.cruise_ceiling),
        longest_mps=max(slowest_mps, longest_endurance_speed(polar)),
        farthest_mps=max(slowest_mps, longest_range_speed(polar, PEUKERT)),
        time_s=spent.today.time_s,
        time_against_s=spent.against.time_s,
        launch_energy_j=spent.launch.energy_j,
        climb_energy_j=spent.climb.energy_j,
        energy_j=spent.today.energy_j,
        energy_against_j=spent.against.energy_j,
        energy_share=spent.used_share,
        reserve_share=RESERVE_SHARE,
        capacity_share_left=spent.left_share,
        cell_volts_v=_cell_at_end(scene),
        level_power_w=powers.level.power_w,
        level_throttle=powers.level.throttle,
        level_efficiency=powers.level.efficiency,
        climb_rate_mps=powers.climbing.climb_mps,
        loiter_s=spent.loiter_s,
        endurance_s=_endurance(scene, powers),
        turn_sink_m=turn_loss(scene, powers, scene.handover_m),
        glide_still_m=glide_reach(scene.home_m, glide, 0.0),
        glide_into_wind_m=glide_reach(scene.home_m, glide, wind_mps),
        word="not known",
        sentence="",
    )
    return _judged(found, scene)


def height_word(home: WayHome) -> Word:
    """Return how the home height stands against obstacles, margin and height error."""
    return graded(home.height_m, home.wanted_height_m, home.tallest_m + HEIGHT_ERROR_M)


def speed_word(home: WayHome, strong_mps: float) -> Word:
    """Return how the speed over ground into the wind stands, in the mean and in a strong wind."""
    if home.into_wind_mps < home.least_ground_speed_mps:
        return "stop"
    return "good" if home.airspeed_mps - strong_mps >= home.least_ground_speed_mps else "watch"


def energy_word(home: WayHome) -> Word:
    """Return how the charge left stands against the reserve."""
    return graded(home.capacity_share_left, RESERVE_SHARE, WATCH_RESERVE_SHARE)


def volts_word(home: WayHome) -> Word:
    """Return how the volts of a cell under load stand at the end."""
    return graded(home.cell_volts_v, LEAST_CELL_V, FLOOR_CELL_V)


def climb_word(home: WayHome, scene: Scene) -> Word:
    """Return whether the cruise ceiling holds level flight and reaches home height."""
    if home.level_throttle > scene.cruise_ceiling:
        return "stop"
    return "good" if home.climb_rate_mps >= LEAST_CLIMB_MPS or scene.home_m <= scene.handover_m else "watch"


def _judged(home: WayHome, scene: Scene) -> WayHome:
    words = (
        height_word(home),
        speed_word(home, scene.strong_wind_at(scene.home_m)),
        energy_word(home),
        volts_word(home),
        climb_word(home, scene),
    )
    sentence = (
        f"{home.distance_m:.0f} m home at {home.height_m:.0f} m ({home.wanted_height_m:.0f} m is wanted), "
        f"{home.time_s:.0f} s and {home.energy_j / 1000.0:.1f} kJ, {home.time_against_s:.0f} s with the wind "
        f"from the other side; {100.0 * home.capacity_share_left:.0f} % of the pack is left "
        f"({100.0 * RESERVE_SHARE:.0f} % is the reserve)."
    )
    return dataclasses.replace(home, word=worst_word(*words), sentence=sentence)

"""The way home: heights, wind triangle, energy, circle, handover; each finding can say each word."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.describe.outlines import Outline, outlines
from overarm.errors import UnphysicalError
from overarm.flight.inputs import inputs_of as flight_inputs
from overarm.physics.turn import ground_circle_radius
from overarm.physics.wind import mean_wind
from overarm.plan.circle import STEEPEST_BANK_RAD, circle_of
from overarm.plan.clearance import TERRAIN
from overarm.plan.cruise import aeroplane_of, climb_at, fastest_level, steady, throttle_for
from overarm.plan.findings import ceiling_of, findings_of
from overarm.plan.handover import AHEAD, RISING, TALLEST, TURN, handover_of
from overarm.plan.home import (
    ground_speed,
    height_word,
    home_of,
    powers_of,
    speed_word,
    tallest_on_way,
    turn_loss,
    way_home,
)
from overarm.plan.result import WayHome
from overarm.plan.scene import Scene, scene_of
from overarm.plan.way import corridor, lower_side, tallest_in, way_of
from overarm.sheets.plan_words import plan_content
from tests.examples import derived_of, setup_of
from tests.plans import gap_of, plan_of

HANDOVER = (94.0, 0.0)


def scene_with(changes: dict[str, str] | None = None, letter: str = "b") -> Scene:
    return _scene(letter, tuple(sorted((changes or {}).items())))


@cache
def _scene(letter: str, changes: tuple[tuple[str, str], ...]) -> Scene:
    setup: Setup = changed(setup_of(letter), dict(changes)) if changes else setup_of(letter)
    derived = derive(setup) if changes else derived_of(letter)
    return scene_of(setup, derived, flight_inputs(setup, derived), outlines(setup), None)


def home_with(changes: dict[str, str] | None = None, **more: Any) -> tuple[Scene, WayHome]:
    scene = scene_with(changes)._replace(**more)
    powers = powers_of(scene)
    return scene, home_of(scene, powers, way_home(scene, powers, HANDOVER), 7.0)


def test_home_height_is_obstacle_and_margin_and_height_error() -> None:
    """15 m above what stands on the way and 10 m of satellite height error: common practice, no source."""
    _, home = home_with()
    assert home.tallest_m == 15.0
    assert home.wanted_height_m == 40.0
    assert height_word(home) == "good"
    assert height_word(home_with(home_m=39.0)[1]) == "watch"
    assert height_word(home_with(home_m=20.0)[1]) == "stop"


def test_only_what_stands_on_the_way_counts() -> None:
    far = Outline("mast", np.array([[400.0, -5.0], [400.0, 5.0]]), 60.0, False)
    behind = Outline("mast", np.array([[-40.0, -5.0], [-40.0, 5.0]]), 60.0, False)
    scene = scene_with()
    way = way_of(HANDOVER, 20.0, scene.radius_m, 1.0)
    assert tallest_on_way(scene._replace(outlines=(far,)), way) == 0.0
    assert tallest_on_way(scene._replace(outlines=(behind,)), way) == 60.0


def test_the_height_model_counts_on_the_way() -> None:
    scene = scene_with()._replace(outlines=(), surface=lambda ahead, right: np.where(ahead > 90.0, 12.0, 0.0))
    way = way_of(HANDOVER, 20.0, scene.radius_m, 1.0)
    assert tallest_on_way(scene, way) == 12.0
    low = scene._replace(surface=lambda ahead, right: np.full(ahead.shape, -8.0))
    assert tallest_on_way(low, way) == 0.0
    unknown = scene._replace(surface=lambda ahead, right: np.full(ahead.shape, np.nan))
    assert tallest_on_way(unknown, way) == 0.0


def test_it_turns_over_the_lower_side() -> None:
    right = Outline("wood", np.array([[90.0, 20.0], [160.0, 20.0], [160.0, 80.0], [90.0, 80.0]]), 14.0, True)
    scene = scene_with()._replace(outlines=(right,))
    assert lower_side(HANDOVER, 20.0, scene).side == -1.0
    assert lower_side(HANDOVER, 20.0, scene._replace(outlines=())).side == 1.0


def test_way_is_on_round_and_back() -> None:
    way = way_of((100.0, 0.0), 20.0, 45.0, 1.0)
    assert way.out == (120.0, 0.0)
    assert way.turn == (120.0, 90.0)
    assert way.turn_m == pytest.approx(math.pi * 45.0)
    assert way.back_m == pytest.approx(150.0)
    assert way.back_course_rad == pytest.approx(math.atan2(-90.0, -120.0))
    beside = Outline("pole", np.array([[60.0, 110.0], [61.0, 110.0]]), 9.0, False)
    assert tallest_in(corridor(way, 40.0), [beside]) == 0.0
    assert tallest_in(corridor(way, 70.0), [beside]) == 9.0


def test_wind_triangle() -> None:
    """10.15 m/s in the 4.95 m/s that 4 m/s at 10 m are at 40 m over meadow: 4 ln(40/0.03)/ln(10/0.03)."""
    scene = scene_with()
    wind = 4.0 * math.log(40.0 / 0.03) / math.log(10.0 / 0.03)
    airspeed = scene.airspeed_mps
    assert scene.wind_at(40.0) == pytest.approx(wind)
    assert ground_speed(scene, 0.0, 40.0) == pytest.approx(airspeed - wind)
    assert ground_speed(scene, math.pi, 40.0) == pytest.approx(airspeed + wind)
    assert ground_speed(scene, 0.5 * math.pi, 40.0) == pytest.approx(math.sqrt(airspeed**2 - wind**2))
    assert ground_speed(scene, 0.0, 40.0, against=True) == pytest.approx(airspeed + wind)


def test_a_wind_that_is_given_as_negative_comes_from_behind() -> None:
    scene = scene_with({"day.wind": "-2 m/s"})
    assert ground_speed(scene, 0.0, 40.0) > scene.airspeed_mps > ground_speed(scene, math.pi, 40.0)


def test_wind_from_the_other_side_takes_longer() -> None:
    _, home = home_with()
    assert home.time_against_s > home.time_s
    assert home.energy_against_j > home.energy_j
    _, calm = home_with({"day.wind": "0 m/s"})
    assert calm.time_against_s == pytest.approx(calm.time_s)


def test_ground_speed_into_the_wind_gets_every_word() -> None:
    """3 m/s and 0.3 of the airspeed are wanted: common practice, no source."""
    words = {}
    for wind in ("2 m/s measured", "5 m/s measured", "7 m/s measured"):
        scene, home = home_with({"day.wind": wind})
        assert home.least_ground_speed_mps == pytest.approx(max(3.0, 0.3 * home.airspeed_mps))
        words[wind] = speed_word(home, scene.strong_wind_at(scene.home_m))
    assert list(words.values()) == ["good", "watch", "stop"]


def test_a_wind_as_fast_as_the_aeroplane_is_refused() -> None:
    with pytest.raises(UnphysicalError, match="does not come home"):
        home_with({"day.wind": "9 m/s"})


def test_time_is_the_sum_of_its_legs() -> None:
    scene, home = home_with({"day.wind": "0 m/s"})
    powers = powers_of(scene)
    way = way_home(scene, powers, HANDOVER)
    assert home.distance_m == pytest.approx(way.on_m + way.turn_m + way.back_m)
    assert home.time_s == pytest.approx(home.distance_m / scene.airspeed_mps)
    climb_s = 5.0 / powers.climbing.climb_mps
    turn_s = way.turn_m / scene.airspeed_mps
    level_s = home.time_s - climb_s - turn_s
    assert home.energy_j == pytest.approx(
        climb_s * powers.climbing.power_w + turn_s * powers.turning.power_w + level_s * powers.level.power_w
    )


def test_a_small_pack_breaks_the_reserve() -> None:
    _, home = home_with()
    _, small = home_with(capacity_ah=0.4)
    assert home.capacity_share_left > 0.9
    assert small.energy_share == pytest.approx(10.0 * home.energy_share)
    assert home_with(capacity_ah=0.09)[1].word == "stop"
    assert home_with(capacity_ah=0.09)[1].loiter_s == 0.0


def test_a_resistive_pack_sags_below_what_a_cell_may() -> None:
    _, home = home_with()
    scene = scene_with()
    pack = scene.plane.pack._replace(resistance_ohm=0.5)
    _, weak = home_with(plane=scene.plane._replace(pack=pack))
    assert weak.cell_volts_v < 3.4 < home.cell_volts_v
    assert weak.word in ("watch", "stop")


def test_a_low_cruise_ceiling_does_not_hold_level_flight() -> None:
    scene, home = home_with(cruise_ceiling=0.3)
    assert home.level_throttle > scene.cruise_ceiling
    assert home.word == "stop"
    assert home.fastest_mps == 0.0


def test_an_aeroplane_too_weak_to_fly_level_is_refused() -> None:
    scene = scene_with()
    weak = scene.plane.propeller._replace(thrust_scale=0.05)
    with pytest.raises(UnphysicalError, match="level flight"):
        powers_of(scene._replace(plane=scene.plane._replace(propeller=weak)))


def test_turning_costs_height_that_grows_with_the_bank() -> None:
    """Extra induced drag (n^2 - 1) k CL^2 along half a circle, by hand for a circle of 45 m."""
    scene = scene_with({"day.wind": "0 m/s"})
    plane = scene.plane
    lift = plane.weight_n / (0.5 * plane.density_kgpm3 * scene.airspeed_mps**2 * plane.wing.area_m2)
    bank = math.atan(scene.airspeed_mps**2 / (9.80665 * 45.0))
    extra_n = math.tan(bank) ** 2 * plane.wing.drag_induced * lift**2 * plane.weight_n / lift
    by_hand = math.pi * 45.0 * extra_n / plane.weight_n
    assert turn_loss(scene, powers_of(scene), 35.0) == pytest.approx(by_hand, rel=0.1)
    tight = scene._replace(radius_m=25.0)
    assert turn_loss(tight, powers_of(tight), 35.0) > turn_loss(scene, powers_of(scene), 35.0)


def test_steady_flight_goes_round() -> None:
    """The throttle that level flight asks for is the one at which the climb is nothing."""
    plane = aeroplane_of(derived_of("b"))
    level = steady(plane, 11.0)
    assert level is not None
    assert climb_at(plane, 11.0, level.throttle).climb_mps == pytest.approx(0.0, abs=1e-4)
    climb = climb_at(plane, 11.0, 0.7)
    again = steady(plane, 11.0, climb.climb_mps)
    assert again is not None
    assert again.throttle == pytest.approx(0.7, abs=1e-4)
    assert throttle_for(plane, 100.0, 10.0) is None
    assert steady(plane, fastest_level(plane, 10.0, 0.65) * 1.03, 0.0).throttle > 0.65  # type: ignore[union-attr]


@pytest.mark.parametrize(("radius_m", "word"), [(60.0, "good"), (35.0, "watch"), (30.0, "stop")])
def test_circle_gets_every_word(radius_m: float, word: str) -> None:
    circle = circle_of(scene_with()._replace(radius_m=radius_m))
    assert circle.word == word
    assert ("home_circle_radius" in circle.sentence) == (word != "good")


def test_circle_holds_mean_wind_two_sd_and_a_gust() -> None:
    scene = scene_with()
    circle = circle_of(scene)
    assert circle.mean_wind_mps == pytest.approx(mean_wind(scene.air, 40.0))
    assert circle.wind_mps > mean_wind(scene.air._replace(wind_10m_mps=4.0 + 2.0 * 0.5), 40.0)
    least = ground_circle_radius(circle.airspeed_mps, circle.wind_mps, STEEPEST_BANK_RAD)
    assert circle.least_radius_m == pytest.approx(least)
    winds, radii = zip(*circle.by_wind, strict=True)
    assert winds == tuple(range(11))
    assert list(radii) == sorted(radii)
    assert radii[0] == 40.0


def test_no_circle_in_a_wind_as_fast_as_the_aeroplane() -> None:
    circle = circle_of(scene_with({"day.wind": "8 m/s"}))
    assert circle.word == "stop"
    assert "no circle" in circle.sentence


def test_handover_conditions() -> None:
    """Trees of 15 m at 140 m: 1.5 times their height, and 15 m + 5 m + 10 % of 140 m."""
    scene = scene_with()
    way = way_of(HANDOVER, 20.0, scene.radius_m, 1.0)
    found = handover_of(scene, way, 0.4, 250.0)
    assert found.conditions_m[TALLEST] == 22.5
    assert found.conditions_m[AHEAD] == pytest.approx(34.0)
    assert found.conditions_m[TURN] == pytest.approx(20.4)
    assert (found.lowest_m, found.word) == (found.conditions_m[AHEAD], "good")
    low = handover_of(scene._replace(handover_m=25.0), way, 0.4, 250.0)
    assert low.word == "watch"
    assert "34 m" in low.sentence
    assert handover_of(scene._replace(legal_m=30.0), way, 0.4, 250.0).word == "stop"
    assert handover_of(scene, way, 0.4, 120.0).conditions_m[AHEAD] == 0.0


def test_the_handover_keeps_its_gap_over_rising_ground() -> None:
    """Ground at 30 %: under the far end of the turn, two radii past it, 40 % of the distance is asked for."""
    scene = scene_with()._replace(outlines=(), surface=lambda ahead, right: 0.3 * ahead)
    way = way_of(HANDOVER, 20.0, scene.radius_m, 1.0)
    found = handover_of(scene, way, 0.4, 250.0)
    far_m = HANDOVER[0] + 20.0 + 2.0 * scene.radius_m
    assert found.conditions_m[RISING] == pytest.approx(0.4 * far_m, abs=4.0)
    assert found.lowest_m == found.conditions_m[RISING]
    assert found.word == "watch"
    assert RISING in found.sentence
    assert handover_of(scene._replace(surface=None), way, 0.4, 250.0).conditions_m[RISING] == 0.0


@pytest.mark.parametrize(("highest_m", "word"), [(50.0, "good"), (115.0, "watch"), (121.0, "stop")])
def test_ceiling_is_shown_as_your_local_limit(highest_m: float, word: str) -> None:
    ceiling = ceiling_of(120.0, highest_m)
    assert ceiling.word == word
    assert "your local limit" in ceiling.sentence
    assert "check the rules" in ceiling.sentence


def test_page_three_knows_of_a_height_model() -> None:
    """With a model the caution on heights changes; what is wanted is told no smaller than it is."""
    bare = plan_of()
    ground = gap_of(TERRAIN, 100.0, 0.0, 12.0)
    heights = [
        next(row["words"] for row in plan_content(plan)["cautions"] if row["about"] == "Heights")
        for plan in (bare, dataclasses.replace(bare, gaps=(ground,)))
    ]
    assert "height model" not in heights[0]
    assert "height model" in heights[1]
    low = dataclasses.replace(bare, handover=dataclasses.replace(bare.handover, lowest_m=30.2))
    assert "31" in plan_content(low)["facts"][0]["note"]


@pytest.mark.parametrize(("model", "word"), [(False, "good"), (True, "not known")])
def test_directions_are_not_known_with_a_height_model(model: bool, word: str) -> None:
    """The odds of the directions know obstacles, and no ground that rises."""
    surface = (lambda ahead, right: 0.3 * ahead) if model else None
    bare = plan_of()
    parts = (bare.handover, bare.circle, bare.home, bare.ceiling)
    found = findings_of(scene_with()._replace(surface=surface), (), bare.rose, parts, (1.0, 0.0))
    assert next(item.word for item in found if item.name == "launch direction") == word


def test_a_foot_above_the_launch_is_told() -> None:
    """The trees of B, 140 m ahead on ground that rises 3 in 100, stand about 4 m up."""
    bare = plan_of()
    parts = (bare.handover, bare.circle, bare.home, bare.ceiling)

    def feet(slope: float) -> list[str]:
        scene = scene_with()._replace(surface=lambda ahead, right: slope * ahead)
        found = findings_of(scene, (), bare.rose, parts, (1.0, 0.0))
        return [item.sentence for item in found if item.name == "foot of trees"]

    assert feet(0.01) == []
    assert "up to 4 m above the launch" in feet(0.03)[0]

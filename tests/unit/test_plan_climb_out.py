"""The fan, the gaps to obstacles and the rose: geometry worked by hand, and symmetry."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from overarm.describe.change import changed
from overarm.describe.outlines import Outline, walls, wanted_gap_m
from overarm.errors import Cancelled
from overarm.flight.inputs import inputs_of as flight_inputs
from overarm.flight.paths import POINTS, Paths, fly_paths
from overarm.odds.intervals import Interval
from overarm.plan.clearance import distance_of, gap_of, gaps_to, terrain_gap
from overarm.plan.fan import Tracks, continued, fan_of, reach_of
from overarm.plan.rose import TODAY, directions, rose_of, turned, turned_walls
from tests.examples import derived_of, inputs_of, setup_of

HALF_SPAN_M = 0.5


def line(*corners: tuple[float, float, float], points: int = 400) -> np.ndarray:
    """Return a path through corners (ahead, right, height), evenly spaced in ahead."""
    places = np.array(corners, float)
    ahead = np.linspace(places[0, 0], places[-1, 0], points)
    return np.column_stack([ahead, *(np.interp(ahead, places[:, 0], places[:, k]) for k in (1, 2))])


def tracks_of(*paths: np.ndarray, handed_over: bool = True) -> Tracks:
    return Tracks(np.stack(paths), np.full(len(paths), handed_over))


def wall(ahead_m: float, low_m: float, high_m: float, height_m: float) -> Outline:
    return Outline("wall", np.array([[ahead_m, low_m], [ahead_m, high_m]], float), float(height_m), False)


def square(ahead_m: float, right_m: float, side_m: float, height_m: float) -> Outline:
    near, far = (ahead_m, right_m), (ahead_m + side_m, right_m + side_m)
    corners = [near, (far[0], near[1]), far, (near[0], far[1])]
    return Outline("barn", np.array(corners, float), height_m, True)


def test_level_over_a_wall_the_gap_is_the_height_over_its_top() -> None:
    level = line((0, 0, 20), (200, 0, 20))
    passed = gaps_to(wall(100, -50, 50, 15), tracks_of(level), HALF_SPAN_M)
    least, short = passed.least_m, passed.short
    assert least == pytest.approx([5.0])
    assert not short.any()


def test_climbing_over_an_area_the_gap_is_that_over_its_near_edge() -> None:
    """A climb of 1 in 5 from 2 m is 17.9 m high half a span before 80 m: 10.9 m over the edge, square to
    the path a little less."""
    climb = line((0, 0, 2), (200, 0, 42), points=2001)
    least = gaps_to(square(80, -20, 40, 7), tracks_of(climb), HALF_SPAN_M).least_m
    assert least == pytest.approx([10.9 * math.cos(math.atan(0.2))], abs=0.01)


def test_beside_an_obstacle_the_gap_is_sideways_from_the_wing_tip() -> None:
    low = line((0, 0, 3), (200, 0, 3))
    least = gaps_to(square(80, 12, 40, 7), tracks_of(low), HALF_SPAN_M).least_m
    assert least == pytest.approx([11.5])


def test_beside_and_above_the_gap_is_the_distance_in_space() -> None:
    path = line((0, 0, 11), (200, 0, 11))
    least = gaps_to(wall(100, 3.5, 50, 7), tracks_of(path), HALF_SPAN_M).least_m
    assert least == pytest.approx([math.hypot(3.0, 4.0)], abs=0.02)


def test_below_the_top_it_is_struck_by_how_much_it_is_too_low() -> None:
    gap = gap_of(wall(100, -50, 50, 15), tracks_of(line((0, 0, 12), (200, 0, 12))), HALF_SPAN_M)
    assert gap.struck_share == 1.0
    assert gap.p5_m == pytest.approx(-3.0)
    assert gap.word == "stop"
    assert "strike" in gap.sentence


def test_nothing_slips_through_between_two_points_of_a_path() -> None:
    """Points 7 m apart, and a wall half-way between two of them."""
    coarse = line((0, 0, 12), (210, 0, 12), points=31)
    least = gaps_to(wall(73.5, -50, 50, 15), tracks_of(coarse), HALF_SPAN_M).least_m
    assert least == pytest.approx([-3.0])


def test_a_launch_that_comes_down_before_an_obstacle_is_not_counted_as_over_it() -> None:
    landed = line((0, 0, 2), (40, 0, 0))
    passed = gaps_to(wall(100, -50, 50, 15), tracks_of(landed, handed_over=False), HALF_SPAN_M)
    least, short = passed.least_m, passed.short
    assert short.all()
    assert least[0] > 0.0
    gap = gap_of(wall(100, -50, 50, 15), tracks_of(landed, handed_over=False), HALF_SPAN_M)
    assert (gap.p5_m, gap.p50_m) == (-15.0, -15.0)
    assert (gap.short_share, gap.struck_share) == (1.0, 0.0)
    assert "come down before it" in gap.sentence


def test_a_launch_that_crashed_beyond_an_obstacle_had_flown_over_it() -> None:
    beyond = line((0, 0, 2), (50, 0, 12), (100, 0, 0))
    short = gaps_to(wall(50, -50, 50, 4), tracks_of(beyond, handed_over=False), HALF_SPAN_M).short
    assert not short.any()


def test_wanted_gap_grows_with_the_distance() -> None:
    """5 m + 10 % of the distance: common practice, no source."""
    assert wanted_gap_m(140.0) == pytest.approx(19.0)
    assert distance_of(wall(140, -50, 50, 15)) == pytest.approx(140.0)
    high = gap_of(wall(140, -50, 50, 15), tracks_of(line((0, 0, 35), (300, 0, 35))), HALF_SPAN_M)
    low = gap_of(wall(140, -50, 50, 15), tracks_of(line((0, 0, 33), (300, 0, 33))), HALF_SPAN_M)
    assert (high.word, low.word) == ("good", "watch")


def test_gap_over_rising_ground_leaves_out_the_first_ten_metres() -> None:
    path = line((0, 0, 0.1), (8, 0, 0.1), (9, 0, 10), (200, 0, 10))
    gap = terrain_gap(lambda ahead, right: 0.02 * ahead + 0.0 * right, tracks_of(path))
    assert gap.p50_m == pytest.approx(6.0, abs=0.05)
    assert gap.distance_m == pytest.approx(200.0)
    struck = terrain_gap(lambda ahead, right: 0.1 * ahead + 0.0 * right, tracks_of(path))
    assert struck.word == "stop"
    assert struck.struck_share == 1.0


def test_launches_that_come_down_are_a_stop_over_ground_as_before_an_obstacle() -> None:
    """Three of ten come down, far out or within the first ten metres: a stop, whatever the others keep."""
    up = line((0, 0, 2), (20, 0, 30), (200, 0, 30))
    for end_m in (60.0, 6.0):
        down = line((0, 0, 2), (end_m, 0, 0))
        paths = Tracks(np.stack([up] * 7 + [down] * 3), np.array([True] * 7 + [False] * 3))
        ground = terrain_gap(lambda ahead, right: 0.0 * ahead, paths)
        before = gap_of(wall(150, -50, 50, 5), paths, HALF_SPAN_M)
        for gap in (ground, before):
            assert (gap.word, gap.short_share, gap.struck_share) == ("stop", 0.3, 0.0)
            assert gap.p5_m < 0.0
            assert "30 % come down before" in gap.sentence
    all_down = terrain_gap(lambda ahead, right: 0.0 * ahead, tracks_of(down, handed_over=False))
    assert (all_down.word, all_down.short_share) == ("stop", 1.0)
    unknown = terrain_gap(lambda ahead, right: np.full(ahead.shape, np.nan), paths)
    assert unknown.word == "not known"


def test_a_height_model_that_ends_is_no_gap() -> None:
    path = line((0, 0, 5), (200, 0, 5))
    gap = terrain_gap(lambda ahead, right: np.where(ahead < 100.0, 1.0, np.nan), tracks_of(path))
    assert gap.p50_m == pytest.approx(4.0)
    nowhere = terrain_gap(lambda ahead, right: np.full(ahead.shape, np.nan), tracks_of(path))
    assert nowhere.word == "not known"


def paths_of(points: np.ndarray, handed_over: list[bool]) -> Paths:
    table = np.zeros(len(points), [("handover_s", "f8"), ("end_s", "f8"), ("release_s", "f8")])
    table["handover_s"] = np.where(handed_over, 9.0, -1.0)
    table["end_s"], table["release_s"] = 9.0, 1.0
    return Paths(points, np.arange(len(points)), table, False)


def test_after_the_hand_over_it_goes_on_level_and_straight() -> None:
    path = line((0, 0, 2), (100, 50, 30), points=POINTS)
    tracks = continued(paths_of(path[None], [True]), 100.0)
    end = tracks.points_m[0, -1]
    along = np.array([100.0, 50.0]) / math.hypot(100.0, 50.0)
    assert end == pytest.approx([100.0 + 100.0 * along[0], 50.0 + 100.0 * along[1], 30.0])
    ended = continued(paths_of(path[None], [False]), 100.0)
    assert ended.points_m[0, -1] == pytest.approx(path[-1])


def test_fan_counts_those_who_came_down_as_height_zero_and_leaves_them_out_sideways() -> None:
    up = [line((0, 0, 2), (100, side, 30), points=POINTS) for side in (-10.0, 0.0, 10.0)]
    down = line((0, 0, 2), (20, 3, 0), points=POINTS)
    paths = paths_of(np.stack([*up * 4, *[down] * 4]), [True] * 12 + [False] * 4)
    fan = fan_of(paths, continued(paths, 100.0), reach_of(paths, 0.0))
    place = int(np.argmin(np.abs(fan.ahead_m - 60.0)))
    assert fan.share_there[0] == 1.0
    assert fan.share_there[place] == 0.75
    assert fan.height_p5_m[place] < 5.0 < fan.height_p50_m[place]
    assert fan.right_p50_m[place] == pytest.approx(0.0, abs=1e-6)
    assert fan.right_p95_m[place] == pytest.approx(-fan.right_p5_m[place])
    assert fan.handed_over_share == 0.75
    assert (fan.handover_ahead_m, fan.handover_time_s) == (100.0, 8.0)


def test_paths_are_those_of_the_campaign() -> None:
    """The same launches as a campaign of this seed: they end where it says, and start at the release."""
    inputs = inputs_of("b")
    paths = fly_paths(inputs, 40, 3)
    ends = paths.points_m[:, -1, 0]
    assert ends == pytest.approx(paths.table["distance_m"][paths.launch], abs=0.6)
    assert np.all(np.abs(paths.points_m[:, 0, 2] - 1.9) < 0.8)
    assert paths.handed_over.mean() > 0.8
    assert not fly_paths(inputs, 40, 3, cancelled=lambda: False).cancelled
    assert fly_paths(inputs, 400, 3, cancelled=lambda: True).cancelled


def test_walls_turn_about_the_release() -> None:
    ahead = walls([wall(100, -50, 50, 15)])
    quarter = turned_walls(ahead, 0.5 * math.pi)
    assert quarter[0] == pytest.approx([-50.0, -100.0, 50.0, -100.0, 15.0])
    assert turned_walls(quarter, -0.5 * math.pi) == pytest.approx(ahead)
    assert turned(inputs_of("b"), 0.3).base["air"]["wind_angle_rad"] == pytest.approx(-0.3)


@pytest.fixture(scope="module")
def open_rose() -> tuple[Interval, ...]:
    """Return the rose of a straight thrower on an open field with the wind on the nose."""
    setup = changed(setup_of("b"), {"thrower.release_bank": "0 deg"})
    inputs = flight_inputs(setup, derived_of("b"))
    inputs = dataclasses.replace(inputs, obstacles=inputs.obstacles[:0])
    inputs.base["propeller"]["turning"] = 0.0
    return rose_of(inputs, 500, 1).odds


def test_with_the_wind_on_the_nose_the_rose_is_the_same_on_both_sides(
    open_rose: tuple[Interval, ...],
) -> None:
    angles = directions()
    for step in range(1, TODAY):
        left, right = open_rose[TODAY - step], open_rose[TODAY + step]
        assert angles[TODAY - step] == pytest.approx(-angles[TODAY + step])
        assert left.low - 0.03 <= right.share <= left.high + 0.03


def test_into_the_wind_is_best_and_with_the_wind_worst(open_rose: tuple[Interval, ...]) -> None:
    assert open_rose[TODAY].share > open_rose[TODAY + 4].share > open_rose[0].share
    assert open_rose[TODAY].share >= max(item.share for item in open_rose) - 0.01


def test_rose_says_which_way_to_turn() -> None:
    inputs = inputs_of("b")
    inputs = dataclasses.replace(inputs, base=inputs.base.copy())
    inputs.base["air"]["wind_angle_rad"] = math.radians(90.0)
    rose = rose_of(inputs, 1000, 1)
    assert 0.0 < math.degrees(rose.best_rad) <= 135.0
    assert "right" in rose.sentence
    assert rose.gain.low > 0.0
    assert rose.headwind_mps[TODAY] == pytest.approx(0.0, abs=1e-9)
    with pytest.raises(Cancelled):
        rose_of(inputs, 500, 1, cancelled=lambda: True)

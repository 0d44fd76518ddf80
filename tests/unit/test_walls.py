"""The walls that a launch flies over: what is ahead, gaps, and what is struck.

The truth is plane geometry done by hand.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from overarm.describe.change import changed
from overarm.describe.outlines import Outline, ahead_m, walls
from overarm.flight.campaign import blank_summary, fly_records
from overarm.flight.outcomes import Outcome
from overarm.flight.walls import NOT_CROSSED_M, distance_to, free_way, gap_over, note_walls
from overarm.odds.gather import gather_facts
from overarm.physics.rigid_body import Body
from tests.examples import derived_of, inputs_of, setup_of

SQUARE = [(100, -20), (100, 20), (140, 20), (140, -20)]


def outline(points: Any, height_m: float = 10.0, closed: bool = True) -> Outline:
    return Outline("x", np.array(points, float), height_m, closed)


def test_an_area_has_its_edges_and_cuts_across_it() -> None:
    found = walls([outline(SQUARE)])
    assert len(found) == 4 + 3
    assert found[4:].tolist() == [[x, -20.0, x, 20.0, 10.0] for x in (110.0, 120.0, 130.0)]
    # A horseshoe open to the front: two pieces a cut in its arms, one in its back.
    shoe = [(0, 0), (0, 10), (35, 10), (35, 40), (0, 40), (0, 50), (45, 50), (45, 0)]
    assert [row[0] for row in walls([outline(shoe)])[8:]] == [10.0, 10.0, 20.0, 20.0, 30.0, 30.0, 40.0]
    assert walls([outline(SQUARE, closed=False)]).shape == (3, 5)
    assert walls([]).shape == (0, 5)


@pytest.mark.parametrize(
    ("points", "closed", "wanted"),
    [
        (SQUARE, True, 100.0),
        ([(-10, -10), (-10, 10), (30, 10), (30, -10)], True, 0.0),
        ([(-100, -20), (-100, 20), (-140, 20)], True, None),
        ([(100, 40), (100, 80)], False, None),
        # tan(15 deg) is 0.268: at 100 m the wedge ends at 26.8 m.
        ([(100, 20), (100, 80)], False, math.hypot(100, 20)),
        ([(0, 50), (400, 50)], False, 50.0 / math.sin(math.radians(15.0))),
        ([(100, 1), (100, 1)], False, math.hypot(100, 1)),
    ],
)
def test_what_is_ahead(points: Any, closed: bool, wanted: float | None) -> None:
    assert ahead_m(outline(points, closed=closed)) == (None if wanted is None else pytest.approx(wanted))


WALL = np.array([50.0, -10.0, 50.0, 10.0, 12.0])


@pytest.mark.parametrize(
    ("start", "end", "gap"),
    [
        ((40.0, 0.0, -10.0), (60.0, 0.0, -20.0), 3.0),  # height 15 in the middle
        ((60.0, 0.0, -10.0), (40.0, 0.0, -10.0), -2.0),  # from behind
        ((40.0, 9.0, -13.0), (60.0, 13.0, -13.0), NOT_CROSSED_M),  # past its end at y = 11
        ((40.0, 0.0, -13.0), (50.0, 0.0, -13.0), 1.0),  # ends on it
        ((50.0, 0.0, -13.0), (60.0, 0.0, -13.0), NOT_CROSSED_M),  # starts on it
        ((50.0, -5.0, -13.0), (50.0, 5.0, -13.0), NOT_CROSSED_M),  # along it
        ((40.0, 10.0, -13.0), (60.0, 10.0, -13.0), 1.0),  # over its very end
    ],
)
def test_the_gap_over_a_wall(start: Any, end: Any, gap: float) -> None:
    assert gap_over(WALL, start, end) == pytest.approx(gap)


def test_the_distance_to_a_wall() -> None:
    assert distance_to(WALL, 20.0, 3.0) == pytest.approx(30.0)
    assert distance_to(WALL, 47.0, 14.0) == pytest.approx(5.0)
    assert distance_to(np.array([1.0, 1.0, 1.0, 1.0, 5.0]), 4.0, 5.0) == pytest.approx(5.0)


def flown(*rows: tuple[float, ...]) -> Any:
    inputs = replace(inputs_of("b"), obstacles=np.array(rows, float).reshape(-1, 5))
    return fly_records(inputs, inputs.base, 1)[0]


@pytest.mark.parametrize("seed", range(12))
def test_no_wall_is_missed_by_looking_only_when_the_free_way_is_used_up(seed: int) -> None:
    """Winding ways among walls: the least gap is that of looking at all of them in every step."""
    rng = np.random.default_rng(seed)
    middle, half = rng.uniform(-40.0, 40.0, (30, 2)), rng.uniform(-8.0, 8.0, (30, 2))
    blocks = np.column_stack([middle - half, middle + half, rng.uniform(1.0, 4.0, 30)])
    heading = rng.uniform(-math.pi, math.pi) + np.cumsum(rng.normal(0.0, 0.02, 300))
    steps = rng.uniform(0.1, 0.4, 300)[:, None] * np.column_stack([np.cos(heading), np.sin(heading)])
    places = np.column_stack([np.cumsum(steps, axis=0), np.linspace(-5.0, -9.0, 300)])
    looks, free_m, out = 0, 0.0, blank_summary(1, 0)[0]
    truth = float(out["obstacle_gap_m"])
    for was, now in pairwise([(float(x), float(y), float(z)) for x, y, z in places]):
        truth = min(truth, *(float(gap_over(block, was, now)) for block in blocks))
        body = Body(*now, *[0.0] * 11)
        free_m = free_way(free_m, was, body)
        if free_m <= 0.0:
            looks += 1
            _, free_m = note_walls(out, blocks, was, body)
    assert out["obstacle_gap_m"] == pytest.approx(truth, abs=1e-12)
    assert looks < 250


def test_a_wall_is_struck_only_where_it_stands() -> None:
    assert flown((40, -30, 40, 30, 30))["outcome"] == Outcome.STRUCK_OBSTACLE
    assert flown((40, 60, 40, 90, 30))["outcome"] == Outcome.CLEAN
    assert flown((-40, -30, -40, 30, 30))["outcome"] == Outcome.CLEAN
    assert flown((40, 60, 40, 90, 30))["obstacle_gap_m"] == 1000.0


def test_the_gap_of_a_flight_does_not_depend_on_how_the_wall_is_cut() -> None:
    """Pieces of one wall give the gap of the whole: nothing slips through where they meet."""
    whole = flown((40, -30, 40, 30, 1))["obstacle_gap_m"]
    cut = np.linspace(-30, 30, 601)
    pieces = [(40.0, a, 40.0, b, 1.0) for a, b in pairwise(cut)]
    assert whole < 100.0
    assert flown(*pieces)["obstacle_gap_m"] == pytest.approx(whole, abs=1e-6)
    # Turned round, and among many others far away.
    far = [(900.0, y, 910.0, y, 1.0) for y in range(-50, 50)]
    assert flown(*far, (40, 30, 40, -30, 1))["obstacle_gap_m"] == pytest.approx(whole, abs=1e-6)


def test_after_the_handover_a_wall_on_the_way_counts() -> None:
    free = flown()
    ahead = float(free["distance_m"]) + 300.0
    gap = flown((ahead, -1e4, ahead, 1e4, 30))["obstacle_gap_m"]
    assert gap == pytest.approx(float(free["top_height_m"]) - 30.0, abs=0.2)
    assert flown((ahead, -1e4, ahead, 1e4, 60))["outcome"] == Outcome.STRUCK_OBSTACLE
    assert flown((ahead, 900, ahead, 950, 60))["outcome"] == Outcome.CLEAN


def test_findings_see_what_is_ahead_and_the_tallest_of_all() -> None:
    behind = changed(setup_of("b"), {"site.obstacles.0.angle": "180 deg"})
    plan = gather_facts(behind, derived_of("b")).plan
    assert plan.obstacles == ()
    assert plan.around_m == 15.0
    assert gather_facts(setup_of("b"), derived_of("b")).plan.obstacles == ((140.0, 15.0),)

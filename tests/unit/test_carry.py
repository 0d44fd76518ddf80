"""What a walk does to the cue: one answer for traps and limits, held against the launches that are flown."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from overarm.odds.as_flown import at_risk
from overarm.settings.carry import Carry, carry_of, even_step, false_start_share, nod_rad
from overarm.settings.traps_bench import Bench
from overarm.settings.traps_carry import WALK as NOSE_UP
from tests.examples import setup_of

FLAT = math.tau
WALK = Carry(
    level_mps2=5.0, dwell_s=0.08, raw=True, filter_hz=10.0, pitch_rad=math.radians(15.0), pitch_sd_rad=0.0,
    pitch_high_rad=FLAT, step_mps2=2.0, step_hz=1.9, tilt_rad=math.radians(7.0), tilt_sd_rad=0.0,
    bias_mps2=0.0, bias_sd_mps2=0.0,
)  # fmt: skip


def window(high_deg: int) -> dict[str, str]:
    ends = {"pitch_low": "-20 deg", "pitch_high": f"{high_deg} deg", "bank": "45 deg"}
    return {f"settings.pose_window.{key}": value for key, value in ends.items()}


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(setup_of("e"), 1, 500)


def test_an_even_step_that_fires_does_so_in_half_of_the_carries() -> None:
    """The hardest step is as hard as the even one or harder in half of them, nose as high or higher."""
    fired = 0
    grid = itertools.product((3.0, 5.0, 5.5, 8.0), (0.08, 0.15), (0.0, 1.0, 10.0), (8.0, 13.0, 16.0, 400.0))
    for level, dwell, filter_hz, high_deg in grid:
        carry = WALK._replace(
            level_mps2=level, dwell_s=dwell, filter_hz=filter_hz, pitch_high_rad=math.radians(high_deg)
        )
        if even_step(carry).fires:
            fired += 1
            assert false_start_share(carry) >= 0.49
    assert fired > 10


def test_peak_and_time_above_are_behind_the_same_filter() -> None:
    """9.80665 sin 22 deg + 2/sqrt(1 + (1.9/1)^2) = 3.674 + 0.931; over 5 without a filter, never with it."""
    slow = even_step(WALK._replace(filter_hz=1.0))
    assert slow.peak_mps2 == pytest.approx(
        9.80665 * math.sin(math.radians(22.0)) + 2.0 / math.hypot(1.0, 1.9)
    )
    assert slow.peak_mps2 < WALK.level_mps2
    assert slow.above_s == 0.0
    assert not slow.fires


def test_window_stops_only_walks_that_never_come_below_it() -> None:
    low = WALK.pitch_rad - nod_rad(WALK)
    assert false_start_share(WALK._replace(level_mps2=2.0, pitch_high_rad=low + 1e-3)) > 0.9
    assert false_start_share(WALK._replace(level_mps2=2.0, pitch_high_rad=low - 1e-3)) == 0.0
    assert even_step(WALK._replace(level_mps2=2.0, pitch_high_rad=low + 1e-3)).fires
    assert not even_step(WALK._replace(level_mps2=2.0, pitch_high_rad=low - 1e-3)).fires
    shares = [false_start_share(WALK._replace(pitch_high_rad=math.radians(high))) for high in (10, 12, 18)]
    assert 0.0 < shares[0] < shares[1] < shares[2] <= false_start_share(WALK)


@pytest.mark.parametrize("high_deg", [12, 18])
def test_window_below_the_nose_lets_flown_walks_start_it(bench: Bench, high_deg: int) -> None:
    """The engine walks a few seconds only; in two minutes more carries start than that."""
    flown = float(np.mean(at_risk(bench.fly(dict(NOSE_UP) | window(high_deg)))))
    carry = carry_of(bench.made(dict(NOSE_UP) | window(high_deg))[0])
    assert 0.02 < flown < false_start_share(carry)


def test_still_time_keeps_no_walk_from_starting_it(bench: Bench) -> None:
    """A pause on the way arms it, and steps this soft do not spend the credit of the engine's still time."""
    still = dict(NOSE_UP) | {"settings.still_time": "1 s"}
    flown = [float(np.mean(at_risk(bench.fly(changes)))) for changes in (dict(NOSE_UP), still)]
    assert flown[1] == pytest.approx(flown[0], abs=0.05)
    assert flown[1] > 0.5
    assert even_step(carry_of(bench.made(still)[0])).fires

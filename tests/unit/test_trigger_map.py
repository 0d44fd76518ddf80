"""The level-dwell map of the answer: its limits against scipy.stats, its margins by level, and its gaps."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats

from overarm.trigger.run import run_trigger
from overarm.trigger.settings import listening_of, usual
from tests.examples import setup_of
from tests.recorded import shaken, thrown, walked


def test_limits_are_those_of_scipy() -> None:
    """Garwood's limits from scipy.stats.chi2, Clopper and Pearson's from scipy.stats.binomtest."""
    found = run_trigger([(walked(60.0), "carry"), (thrown(), "throw")], listening_of(setup_of("b")))
    ground, counts = found.to_dict()["level_dwell"], found.grid
    seen = 0
    for a, b in ((0, 0), (2, 3), (8, 8), (40, 20), (70, 30)):
        count, hours = int(counts.false[a, b]), counts.carry_s[a, b] / 3600.0
        low = stats.chi2.ppf(0.025, 2 * count) / 2.0 if count else 0.0
        assert ground["false_low_per_hour"][a][b] == pytest.approx(low / hours, abs=1e-5)
        assert ground["false_high_per_hour"][a][b] == pytest.approx(
            stats.chi2.ppf(0.975, 2 * count + 2) / 2.0 / hours, abs=1e-5
        )
        missed = int(counts.missed[a, b])
        limits = stats.binomtest(missed, counts.gestures).proportion_ci(0.95, "exact")
        assert ground["missed_low_per_hundred"][a][b] == pytest.approx(100.0 * limits.low, abs=1e-5)
        assert ground["missed_high_per_hundred"][a][b] == pytest.approx(100.0 * limits.high, abs=1e-5)
        seen += count > 0
    assert seen


def test_the_tilt_by_level_is_that_of_gravity() -> None:
    """Domain fact: without tilt and bias 5 m/s2 is reached at 30.6 degrees nose-up, 8 at 54.7, 15 never."""
    level_board = usual()._replace(tilt_rad=0.0, bias_mps2=0.0)
    ground: Any = run_trigger([(walked(20.0), "carry")], level_board).to_dict()["level_dwell"]
    by_level = dict(zip(ground["levels_mps2"], ground["self_start_rad"], strict=True))
    assert math.degrees(by_level[5.0]) == pytest.approx(30.7, abs=0.1)
    assert math.degrees(by_level[8.0]) == pytest.approx(54.7, abs=0.1)
    assert by_level[15.0] is None


def test_what_nothing_can_tell_is_null() -> None:
    ground = run_trigger([(shaken(), "shake")], usual()).to_dict()["level_dwell"]
    assert ground["carry_longest_s"] is None
    assert np.all([one is None for line in ground["false_high_per_hour"] for one in line])


def test_it_says_what_to_record_next() -> None:
    few = run_trigger([(walked(60.0), "carry"), (thrown(), "throw")], listening_of(setup_of("b")))
    said = " ".join(few.to_dict()["record_next"])
    assert "19 more minutes of carrying" in said
    assert "15 more throws" in said
    assert "Running" in said
    coarse = run_trigger([(walked(20.0, rate_hz=10.0, name="slow.csv"), "carry")], usual())
    assert "slow.csv again with 50 samples a second" in coarse.to_dict()["record_next"][0]

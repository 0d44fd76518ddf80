"""Scores against scipy, identities and published numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binomtest, kstest, norm

from overarm.learn import scores
from overarm.learn.history import Happened, score_history
from overarm.learn.scores import Band
from tests.agreement import Agrees


def made(count: int, seed: int = 1) -> tuple[scores.Floats, np.ndarray]:
    random = np.random.default_rng(seed)
    predicted = random.choice([0.25, 0.45, 0.65, 0.85, 0.95], count)
    return predicted, random.random(count) < predicted


def test_brier_of_a_worked_case(agrees: Agrees) -> None:
    """(0.9 - 1)^2, (0.7 - 0)^2, (0.2 - 0)^2 average to 0.18, by hand; Brier (1950)."""
    predicted, clean = np.array([0.9, 0.7, 0.2]), np.array([True, False, False])
    agrees(
        "Brier score of three launches", "Brier (1950), worked by hand", scores.brier(predicted, clean), 0.18
    )
    agrees(
        "log score of three launches",
        "Brier (1950), worked by hand",
        scores.log_score(predicted, clean),
        -math.log(0.9 * 0.3 * 0.8) / 3.0,
    )
    assert scores.log_score(np.array([1.0]), np.array([False])) == pytest.approx(-math.log(0.01))


def test_the_parts_add_up() -> None:
    """Murphy (1973): exact where all predictions of a group are equal; else the rest is told."""
    predicted, clean = made(400)
    parts = scores.brier_parts(predicted, clean)
    assert parts.within == pytest.approx(0.0, abs=1e-12)
    assert parts.score == pytest.approx(parts.reliability - parts.resolution + parts.uncertainty)
    spread = np.clip(predicted + np.random.default_rng(2).uniform(-0.04, 0.04, 400), 0.0, 1.0)
    parts = scores.brier_parts(spread, clean)
    assert parts.score == pytest.approx(
        parts.reliability - parts.resolution + parts.uncertainty + parts.within
    )
    assert abs(parts.within) < 0.01
    flat = scores.brier_parts(np.full(400, clean.mean()), clean)
    assert flat.score == pytest.approx(flat.uncertainty)
    assert flat.resolution == pytest.approx(0.0, abs=1e-12)


def test_groups_hold_every_launch_once() -> None:
    predicted = np.array([0.0, 0.0999, 0.1, 0.3, 0.6, 0.7, 0.999, 1.0])
    groups = scores.groups_of(predicted, predicted > 0.5)
    assert [item.launches for item in groups] == [2, 1, 1, 1, 1, 2]
    assert sum(item.clean for item in groups) == 4
    exact = binomtest(2, 2).proportion_ci(0.95, "exact")
    assert groups[-1].happened[1:3] == pytest.approx((exact.low, exact.high))


def test_calibration_is_standard_normal_under_true_odds() -> None:
    """Spiegelhalter (1986): with true odds the z has mean 0 and sd 1; odds that are too sure push it up."""
    zs = [scores.calibration_z(*made(60, seed)) for seed in range(400)]
    assert abs(float(np.mean(zs))) < 3.0 / math.sqrt(400)
    assert float(np.std(zs)) == pytest.approx(1.0, abs=0.12)
    predicted, clean = made(400)
    bold = np.where(predicted > 0.5, 0.97, 0.03)
    found = scores.calibration_z(bold, clean)
    assert found is not None
    assert found > 4.0
    assert scores.calibration_z(np.array([0.5, 1.0]), np.array([True, True])) is None


@pytest.mark.parametrize(("launches", "allowed"), [(10, 0.26), (20, 0.14), (30, 0.095), (100, 0.03)])
def test_the_rule_of_three(agrees: Agrees, launches: int, allowed: float) -> None:
    """Hanley & Lippman-Hand (1983): 0 of 20 allow 14 %, 0 of 10 allow 26 %, 0 of 100 allow 3 %."""
    agrees(
        f"failures that 0 of {launches} allow",
        "Hanley and Lippman-Hand (1983)",
        scores.rule_of_three(launches),
        allowed,
        abs=0.005,
    )
    assert scores.rule_of_three(launches) <= 3.0 / launches
    one_sided = binomtest(0, launches, alternative="less").proportion_ci(0.95, "exact").high
    agrees(
        f"failures that 0 of {launches} allow, exact",
        "scipy.stats.binomtest",
        scores.rule_of_three(launches),
        one_sided,
    )


def test_where_a_figure_fell() -> None:
    """With the percentiles of a normal it is the normal's own distribution function (scipy)."""
    p5, p95 = norm.ppf(0.05, 8.4, 0.8), norm.ppf(0.95, 8.4, 0.8)
    for was in (6.0, 8.0, 8.4, 9.9):
        assert scores.transformed(Band("v", p5, 8.4, p95, was)) == pytest.approx(norm.cdf(was, 8.4, 0.8))
    assert scores.transformed(Band("v", 1.0, 1.0, 1.0, 2.0)) == 1.0
    assert scores.transformed(Band("v", 1.0, 1.0, 1.0, 1.0)) == 0.5


def test_coverage_with_its_exact_interval() -> None:
    bands = [Band("v", 0.0, 1.0, 2.0, was) for was in (0.0, 0.5, 1.9, 2.1, -0.1)]
    found = scores.coverage(bands)
    assert found is not None
    assert (found.inside, found.figures) == (3, 5)
    exact = binomtest(3, 5).proportion_ci(0.95, "exact")
    assert found.share[:3] == pytest.approx((0.6, exact.low, exact.high))
    assert scores.coverage([]) is None


def test_evenness_as_scipy_has_it() -> None:
    random = np.random.default_rng(4)
    for values in (random.random(12), 0.5 + 0.5 * random.random(12), random.random(40) ** 3):
        expected = float(kstest(values, "uniform", method="exact").pvalue)
        found = scores.evenness_p(list(values))
        assert found == pytest.approx(expected, rel=0.1, abs=0.02)
    assert scores.evenness_p([]) is None


def test_words_for_few_launches() -> None:
    clean = [Happened(0.9, 0.84, 0.95, True, (Band("v", 7.0, 8.4, 9.8, 6.5),)) for _ in range(20)]
    score = score_history(clean)
    said = " ".join(score.sentences)
    assert "No failure in 20: up to 14 % may still fail" in said
    assert "20 launches are few" in said
    assert "0 of 20 figures fell into their 90 % interval" in said
    assert "is not the 90 % promised" in said
    assert "came out lower" in said
    assert (score.expected, score.expected_low, score.expected_high) == pytest.approx((18.0, 16.8, 19.0))
    bold = score_history([Happened(0.95, None, None, False) for _ in range(12)])
    assert "were surer than what happened allows" in " ".join(bold.sentences)
    assert "No clean launch in 12" in " ".join(bold.sentences)
    with pytest.raises(ValueError, match="launch"):
        score_history([])


def test_odds_that_promised_too_little_did_not_claim_too_much() -> None:
    """Twelve clean launches at odds of 30 %: Spiegelhalter's z is large, though too little was promised."""
    timid = score_history([Happened(0.3, None, None, True) for _ in range(12)])
    assert timid.z is not None
    assert timid.z > 5.0
    said = " ".join(timid.sentences)
    assert "too much" not in said
    assert "surer than what happened allows" in said


def test_what_few_launches_allow_is_not_told_as_another_number() -> None:
    """1 - 0.05^(1/4) is 53 %, and 3/4 is not: Hanley & Lippman-Hand (1983) give 3/n for many launches."""
    said = score_history([Happened(0.9, None, None, True) for _ in range(4)]).sentences[1]
    assert "up to 53 % may still fail" in said
    assert "3/4" not in said


def test_figures_of_one_launch_are_not_taken_for_so_many_launches() -> None:
    band = Band("v", 7.0, 8.4, 9.8, 6.5)
    one = score_history([Happened(0.9, None, None, True, (band,) * 8)])
    assert "Figures of one launch move together" in " ".join(one.sentences)
    many = score_history([Happened(0.9, None, None, True, (band,))] * 8)
    assert "move together" not in " ".join(many.sentences)

"""Sensitivity indices beside functions whose indices are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri, owens_t

from overarm.odds.sobol import design, indices, library_seed, normal_scores

Floats = NDArray[np.float64]
COUNT = 1024


def ishigami_values(uniform: Floats, a: float = 7.0, b: float = 0.1) -> Floats:
    """``sin x1 + a sin^2 x2 + b x3^4 sin x1``, x uniform within -pi and pi.

    Source: T. Ishigami & T. Homma (1990), Proc. ISUMA '90, 398, doi 10.1109/ISUMA.1990.151285.
    """
    x = math.pi * (2.0 * uniform - 1.0)
    return np.asarray(np.sin(x[:, 0]) * (1.0 + b * x[:, 2] ** 4) + a * np.sin(x[:, 1]) ** 2)


# Of the same source, for a = 7 and b = 0.1: V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2.
VARIANCE = 7.0**2 / 8.0 + 0.1 * math.pi**4 / 5.0 + 0.01 * math.pi**8 / 18.0 + 0.5
FIRST = (0.5 * (1.0 + 0.1 * math.pi**4 / 5.0) ** 2 / VARIANCE, 7.0**2 / 8.0 / VARIANCE, 0.0)
SHARED = 0.01 * math.pi**8 * (1.0 / 18.0 - 1.0 / 50.0) / VARIANCE
TOTAL = (FIRST[0] + SHARED, FIRST[1], SHARED)
NAMES = ("x1", "x2", "x3")


def test_the_function_is_the_one_the_library_ships() -> None:
    from SALib.test_functions import Ishigami

    uniform = design(NAMES, 64, 1)
    theirs = Ishigami.evaluate(math.pi * (2.0 * uniform - 1.0))
    np.testing.assert_allclose(ishigami_values(uniform), theirs, rtol=1e-12)


@pytest.mark.parametrize("seed", [0, 1, 12345, 2**63 - 1])
def test_ishigami(seed: int) -> None:
    """0.314, 0.442, 0 alone and 0.558, 0.442, 0.244 with the others."""
    found = indices(ishigami_values(design(NAMES, COUNT, seed))[:, None], NAMES, seed)
    assert found is not None
    assert found.variance == pytest.approx(VARIANCE, rel=0.03)
    assert abs(found.variance - VARIANCE) < 4.0 * found.variance_error
    assert found.noise_share == 0.0
    for item, first, total in zip(found.inputs, FIRST, TOTAL, strict=True):
        assert item.first == pytest.approx(first, abs=min(0.05, 2.0 * item.first_error + 0.01))
        assert item.total == pytest.approx(total, abs=min(0.05, 2.0 * item.total_error + 0.01))


def test_the_same_seed_gives_the_same_indices_and_zero_is_a_seed() -> None:
    assert np.array_equal(design(NAMES, 16, 0), design(NAMES, 16, 0))
    assert not np.array_equal(design(NAMES, 16, 0), design(NAMES, 16, 1))
    assert library_seed(0) == 1
    values = ishigami_values(design(NAMES, 64, 0))[:, None]
    assert indices(values, NAMES, 0) == indices(values, NAMES, 0)


def both_below(h: float, r: float) -> float:
    """Return the chance that two standard normal numbers of correlation r are both below h.

    Source: D. B. Owen (1956), Ann. Math. Stat. 27, 1075.
    """
    return float(ndtr(h) - 2.0 * owens_t(h, math.sqrt((1.0 - r) / (1.0 + r))))


# A launch that is clean if a sum of unknown scores and one score of the throw stays above a limit:
# odds of a world = Phi(b + sum a z), so every index is known.
SLOPES = np.array([0.9, 0.6, 0.3, 0.0])
LIMIT = 0.5
LAUNCH_NAMES = ("one", "two", "three", "none")


def launch_indices() -> tuple[Floats, Floats, float]:
    """Return first-order and total indices and the variance of ``Phi(b + sum a z)``."""
    spread = 1.0 + float(SLOPES @ SLOPES)
    h = LIMIT / math.sqrt(spread)
    mean = float(ndtr(h))
    variance = both_below(h, (spread - 1.0) / spread) - mean**2
    first = [both_below(h, a * a / spread) - mean**2 for a in SLOPES]
    rest = [both_below(h, (spread - 1.0 - a * a) / spread) - mean**2 for a in SLOPES]
    return np.array(first) / variance, 1.0 - np.array(rest) / variance, variance


def launches(count: int, throws: int, seed: int) -> Floats:
    """Fly the launches of a design: throws of their own for each base point, the same in its rows."""
    scores = normal_scores(design(LAUNCH_NAMES, count, seed))
    per_point = len(LAUNCH_NAMES) + 2
    own = np.random.default_rng(seed).standard_normal((count, throws))
    return np.asarray(
        (LIMIT + scores @ SLOPES)[:, None] + np.repeat(own, per_point, axis=0) > 0.0, dtype=np.float64
    )


@pytest.mark.parametrize("throws", [4, 12])
def test_a_launch_whose_indices_are_known(throws: int) -> None:
    first, total, variance = launch_indices()
    found = indices(launches(COUNT, throws, 3), LAUNCH_NAMES, 3)
    assert found is not None
    assert found.clear
    assert found.variance == pytest.approx(variance, abs=4.0 * found.variance_error)
    for item, alone, with_others in zip(found.inputs, first, total, strict=True):
        assert item.first == pytest.approx(alone, abs=1.5 * item.first_error + 0.01)
        assert item.total == pytest.approx(with_others, abs=1.5 * item.total_error + 0.01)
        assert item.total_error < 0.2


def test_without_the_correction_few_throws_look_like_interaction() -> None:
    """What is corrected is no trifle: with four throws the totals as counted are far too high."""
    from SALib.analyze import sobol

    _, total, variance = launch_indices()
    values = launches(COUNT, 4, 3)
    found = indices(values, LAUNCH_NAMES, 3)
    assert found is not None
    counted = sobol.analyze(
        {"num_vars": 4, "names": list(LAUNCH_NAMES), "bounds": [[0.0, 1.0]] * 4},
        values.mean(axis=1),
        calc_second_order=False,
        seed=4,
    )
    assert found.noise_share > 0.2
    plain = np.asarray(counted["ST"]) * variance / (1.0 - found.noise_share)
    assert plain[0] > total[0] * variance * 1.1


def test_errors_cover_as_often_as_they_say() -> None:
    """Over 40 seeds the 95 % half widths hold the known total index of the strongest input."""
    _, total, _ = launch_indices()
    held = 0
    for seed in range(40):
        found = indices(launches(128, 8, seed), LAUNCH_NAMES, seed)
        assert found is not None
        held += abs(found.inputs[0].total - total[0]) <= found.inputs[0].total_error
    assert held >= 34


def test_nothing_to_explain() -> None:
    """All alike, or odds that differ by the throws alone: no index, and no NaN."""
    assert indices(np.ones((6 * 16, 4)), LAUNCH_NAMES, 1) is None
    only_mixed = np.ones((6 * 16, 4))
    only_mixed[3] = 0.0  # a failure in a row between A and B, none in them
    assert indices(only_mixed, LAUNCH_NAMES, 1) is None
    noise = np.random.default_rng(5).random((6 * 256, 8)) < 0.5
    found = indices(noise.astype(np.float64), LAUNCH_NAMES, 1)
    assert found is None or not found.clear


def test_normal_scores_are_finite_at_the_ends() -> None:
    ends = normal_scores(np.array([[0.0, 1.0]]))
    assert np.all(np.isfinite(ends))
    assert normal_scores(np.array([[0.975]]))[0, 0] == pytest.approx(float(ndtri(0.975)))

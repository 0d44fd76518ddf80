"""Mean and scatter against the textbook's normal-inverse-gamma, scales against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chi2, norm, t

from overarm.learn.scale import Scale, covariance, learn_scale
from overarm.learn.scatter import (
    Grid,
    Prior,
    Readings,
    Slip,
    learn_normal,
    learn_positive,
    throws_of,
)
from overarm.rng import log_spread

FINE = Grid(401, 121)
CARD = Prior(8.4, 1.26, 0.8, 4.0)


def readings(values: list[float], error: float = 0.0, common: float = 0.0) -> Readings:
    return Readings(np.array(values), np.full(len(values), error), common)


@pytest.mark.parametrize("values", [[7.1], [7.1, 6.8, 7.9, 7.2], [8.4] * 3, list(np.linspace(5, 12, 25))])
def test_without_errors_it_is_the_textbook(values: list[float]) -> None:
    """Gelman et al., BDA3 (2013), eq. 3.6 to 3.7; K. P. Murphy (2007), Conjugate Bayesian analysis, 6.3.

    The textbook's sigma_0^2 is the one whose median scatter is that of the card.
    """
    found = learn_normal(CARD, readings(values), grid=FINE)
    y, n = np.array(values), len(values)
    scale = CARD.scatter**2 * chi2.ppf(0.5, 4.0) / 4.0
    weight = (CARD.scatter / CARD.spread) ** 2
    weight_n, degrees = weight + n, 4.0 + n
    mean = (weight * CARD.mean + y.sum()) / weight_n
    squares = 4.0 * scale + ((y - y.mean()) ** 2).sum() + weight * n / weight_n * (y.mean() - CARD.mean) ** 2
    of_mean = t(degrees, mean, math.sqrt(squares / degrees / weight_n))
    assert found.mean == pytest.approx(mean, abs=1e-9)
    assert found.sd == pytest.approx(of_mean.std(), rel=1e-4)
    for level in (0.05, 0.5, 0.95):
        assert found.mean_at(level) == pytest.approx(of_mean.ppf(level), abs=4e-3 * of_mean.std())
        scatter = math.sqrt(squares / chi2.ppf(1.0 - level, degrees))
        assert found.scatter_at(level) == pytest.approx(scatter, rel=2e-3)


def test_before_any_launch_it_is_the_card() -> None:
    found = learn_normal(CARD, readings([]))
    assert found.mean == pytest.approx(8.4)
    assert found.scatter == pytest.approx(0.8, rel=1e-3)
    assert found.spread == pytest.approx(1.26, rel=0.1)


def test_a_known_scatter_gives_the_normal_mean() -> None:
    """BDA3 eq. 2.11 with each reading's variance scatter^2 + error^2: precisions add."""
    sure = Prior(8.4, 1.26, 0.8, 1e4)
    errors = np.array([0.3, 0.6, 1.5])
    found = learn_normal(sure, Readings(np.array([7.0, 8.0, 9.0]), errors), grid=FINE)
    each = 1.0 / (0.64 + errors**2)
    before = 1.0 / 1.26**2
    mean = (before * 8.4 + each @ [7.0, 8.0, 9.0]) / (before + each.sum())
    assert found.mean == pytest.approx(mean, abs=2e-3)
    assert found.sd == pytest.approx((before + each.sum()) ** -0.5, rel=3e-3)


def test_an_error_in_common_is_not_averaged_away() -> None:
    """With very many throws the mean is still only known to the error that all of them share."""
    many = list(8.0 + 0.8 * np.linspace(-1.7, 1.7, 400))
    for spread in (5.0, 0.4):
        found = learn_normal(Prior(8.0, spread, 0.8), readings(many, 0.1, 0.3))
        assert found.sd == pytest.approx((1 / spread**2 + 1 / 0.3**2) ** -0.5, rel=0.02)
    alone = learn_normal(Prior(8.0, 5.0, 0.8), readings(many, 0.1))
    assert alone.sd < 0.06


def test_errors_are_not_taken_for_scatter() -> None:
    """Readings that differ by their errors alone leave a small scatter; taken as exact, a large one."""
    random = np.random.default_rng(3)
    seen = list(8.4 + 0.2 * random.standard_normal(60) + 1.0 * random.standard_normal(60))
    told = learn_normal(CARD, readings(seen, 1.0))
    taken = learn_normal(CARD, readings(seen, 0.0))
    assert taken.scatter > 0.9
    assert told.scatter < 0.65 * taken.scatter


def test_a_slip_counts_little() -> None:
    """Three usual throws and one 30 % slow: as a slip it moves neither mean nor scatter by much."""
    held, all_four = [8.3, 8.5, 8.4], [8.3, 8.5, 8.4, 0.7 * 8.4]
    slip, even = Slip(0.015, 0.7), Prior(8.4, 0.5, 0.4)
    without = learn_normal(even, readings(held, 0.2))
    with_slip = learn_normal(even, readings(all_four, 0.2), slip)
    taken = learn_normal(even, readings(all_four, 0.2))
    assert abs(with_slip.mean - without.mean) < 0.35 * abs(taken.mean - without.mean)
    assert with_slip.scatter < 0.75 * taken.scatter


def test_a_lower_bound_only_pushes_up() -> None:
    bound = np.array([True])
    below = learn_normal(CARD, Readings(np.array([5.0]), np.array([0.5]), 0.0, bound))
    above = learn_normal(CARD, Readings(np.array([10.0]), np.array([0.5]), 0.0, bound))
    exact = learn_normal(CARD, readings([10.0], 0.5))
    assert below.mean == pytest.approx(8.4, abs=0.15)
    assert above.mean > exact.mean > 9.0


@pytest.mark.parametrize("bound", [3.0, 5.0, 8.4, 12.0])
@pytest.mark.parametrize("number", [6, 40])
def test_many_lower_bounds_by_brute_force(bound: float, number: int) -> None:
    """Against a plain sum over all means and scatters of ``prior Phi((mean - bound)/sd)^n``.

    Bounds far below the card say nothing, however many there are.
    """
    prior, means = Prior(8.4, 0.4, 0.8), np.linspace(-100.0, 400.0, 10001)
    scatters = np.exp(np.linspace(math.log(0.8) - 4.0, math.log(0.8) + 6.0, 301))[:, None]
    log = number * norm.logcdf((means - bound) / np.hypot(scatters, 0.5))
    log = log + norm.logpdf(means, prior.mean, scatters / math.sqrt(prior.mean_throws))
    log = log + chi2.logpdf(4.0 * 0.64 * chi2.ppf(0.5, 4.0) / 4.0 / scatters**2, 4.0) - 2.0 * np.log(scatters)
    weights = np.exp(np.maximum(log - log.max(), -100.0))
    expected = float((weights * means).sum() / weights.sum())
    bounds = Readings(np.full(number, bound), np.full(number, 0.5), 0.0, np.ones(number, dtype=bool))
    found = learn_normal(prior, bounds)
    assert found.mean == pytest.approx(expected, rel=2e-3)
    if bound == 3.0:
        assert found.mean == pytest.approx(8.4, abs=0.03)
        assert found.scatter == pytest.approx(0.8, rel=0.03)


@pytest.mark.parametrize("error", [0.004, 0.03, 0.08])
def test_the_logarithm_by_brute_force(error: float) -> None:
    """Start delays: the posterior on a plain grid, each true delay integrated out by scipy's trapezoid."""
    from scipy.integrate import trapezoid

    card, seen = Prior(math.log(0.15), 0.32, 0.35, 4.0), [0.22, 0.12]
    found = learn_positive(card, Readings(np.array(seen), np.full(2, error)), FINE)
    mean, scatter = np.linspace(-3.6, 0.1, 75), np.exp(np.linspace(-2.6, 1.6, 60))
    logs = np.linspace(-6.0, 1.0, 900)
    m, s, x = mean[:, None, None], scatter[None, :, None], logs[None, None, :]
    with np.errstate(under="ignore"):
        of_true = np.exp(-0.5 * ((x - m) / s) ** 2) / s
        total = np.ones((75, 60))
        for value in seen:
            told = np.exp(-0.5 * ((value - np.exp(logs)) / error) ** 2)
            total *= trapezoid(of_true * told, logs, axis=2)
        scale = 0.35**2 * chi2.ppf(0.5, 4.0) / 4.0
        s2 = scatter[None, :]
        total *= s2**-4.0 * np.exp(-2.0 * scale / s2**2)
        width = s2 * 0.32 / 0.35
        total *= np.exp(-0.5 * ((mean[:, None] - card.mean) / width) ** 2) / width
        total /= total.sum()
        expected = float(total.sum(axis=1) @ mean)
        sd = math.sqrt(float(total.sum(axis=1) @ (mean - expected) ** 2))
    assert found.mean == pytest.approx(expected, abs=0.02 * sd + 2e-3)
    assert found.sd == pytest.approx(sd, rel=0.02)
    middle = np.interp(0.5, np.cumsum(total.sum(axis=0)), scatter)
    assert found.scatter == pytest.approx(middle, rel=0.04)


def test_throws_behind_a_scatter() -> None:
    """The sd of ln(scatter) of a scaled inverse chi-square, drawn with numpy, gives the throws back."""
    random = np.random.default_rng(5)
    for throws in (4.0, 9.0, 40.0):
        logs = -0.5 * np.log(random.chisquare(throws, 200_000))
        assert throws_of(float(logs.std())) == pytest.approx(throws, rel=0.02)


def test_scales_add_their_precisions() -> None:
    """BDA3 section 2.5 on logarithms, by hand: 20 % and one reading of 4 %."""
    found = learn_scale(Scale(15.4, 0.2), np.array([14.0]), np.array([0.56]), np.array([0.0]))
    error = log_spread(14.0, 0.56)
    weight = (1 / 0.04 * math.log(15.4) + error**-2 * math.log(14.0)) / (1 / 0.04 + error**-2)
    assert found.median == pytest.approx(math.exp(weight), rel=1e-12)
    assert found.log_sd == pytest.approx((1 / 0.04 + error**-2) ** -0.5, rel=1e-12)
    assert log_spread(found.median, found.spread) == pytest.approx(found.log_sd, rel=1e-9)
    assert learn_scale(Scale(1.0, 0.2), np.array([]), np.array([]), np.array([])) == (1.0, 0.2)


def test_shared_errors_are_a_random_effect() -> None:
    """n readings with half their variance shared tell ``e^2 (1/2 + 1/2n)``: by hand, for any n."""
    for count in (1, 2, 10, 100):
        errors = np.full(count, 0.1)
        found = learn_scale(Scale(1.0, 1e6), np.ones(count), errors, np.full(count, 0.5))
        own = log_spread(1.0, 0.1)
        assert found.log_sd == pytest.approx(own * math.sqrt(0.5 + 0.5 / count), rel=1e-6)
    assert covariance(np.array([1.0, 2.0]), np.array([0.25, 0.25])) == pytest.approx(
        np.array([[1.0, 0.5], [0.5, 4.0]])
    )

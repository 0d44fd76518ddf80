"""A mean and a scatter learned from a few readings that have errors of their own.

Each throw has its own true value ``x_i = mean + scatter z``; what is read off it is ``y_i = x_i + e_i z'``.
So the spread of the readings is scatter *and* error, and the two are told apart because the errors are
known. The prior is normal-inverse-gamma; with errors it is no longer conjugate in the scatter, and is
then computed on a grid: for each scatter the mean is (nearly) normal, and the grid runs over both.
Without errors, slips and bounds the grid gives the textbook answer.

Source: A. Gelman et al., *Bayesian Data Analysis*, 3rd ed. (2013), section 3.3 (the prior and its update)
and 5.4 (normal readings with known errors).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# A scatter that no launch stands behind counts as much as this many throws; common practice, no source.
PRIOR_THROWS = 4.0
MOST_THROWS = 1e4
FARTHEST = 200.0  # a point of the grid less likely than exp(-200) of the best counts as that
FACTORS_BELOW, FACTORS_ABOVE, WIDE_POINTS = 5.0, 4.5, 61  # of the first grid, on the logarithm
ROUGH_MEANS = 17
LEAST_SHARE = 1e-8
APART, WIDENED = 0.4, 0.8  # points of a true value: of the relative error, and of that step
NEWTON_STEPS = 30
LOG_2PI = math.log(2.0 * math.pi)


class Grid(NamedTuple):
    """How fine the grid is: points over the scatter, and over the mean for each scatter."""

    scatters: int = 161
    means: int = 49
    reach: float = 8.0  # of the conditional mean, in its own standard deviations


GRID = Grid()


class Prior(NamedTuple):
    """What the card says before any launch, in the unit in which the quantity is normal.

    ``mean`` with its ``spread`` (one sd of what we do not know); ``scatter`` from throw to throw, as
    its median; ``throws`` is how many throws that scatter counts as.
    """

    mean: float
    spread: float
    scatter: float
    throws: float = PRIOR_THROWS

    @property
    def mean_throws(self) -> float:
        """Return how many throws the mean of the card counts as: ``(scatter/spread)^2``."""
        return min(MOST_THROWS, (self.scatter / self.spread) ** 2) if self.spread > 0.0 else PRIOR_THROWS


class Readings(NamedTuple):
    """What was read: values and errors, shape (n,), and the part of the error that all have in common."""

    values: Floats
    errors: Floats  # each on its own, one sd
    common: float = 0.0
    at_least: NDArray[np.bool_] | None = None  # True: the value is only a lower bound


class Slip(NamedTuple):
    """Now and then a grip slips: in a share of the throws the value is ``kept`` times as large."""

    share: float
    kept: float


# (mean, shape (s, m)), (scatter, shape (s, 1)) -> log of the likelihood, shape (s, m)
LogLikelihood = Callable[[Floats, Floats], Floats]


@cache
def _median_factor(throws: float) -> float:
    """Return ``chi2_0.5(throws)/throws``, which makes a scatter the median of its distribution."""
    from scipy.special import chdtri

    return float(chdtri(throws, 0.5)) / throws


def log_normal_density(gap: Floats, variance: Floats) -> Floats:
    """Return the log of the normal density of a gap from its mean."""
    return -0.5 * (gap * gap / variance + np.log(variance) + LOG_2PI)


class Posterior(NamedTuple):
    """A mean and a scatter on a grid: rows are scatters, columns means; weights sum to one."""

    scatters: Floats  # (s,)
    means: Floats  # (s, m)
    sds: Floats  # (s, 1): what is left open of the mean at each grid point
    weights: Floats  # (s, m)

    @property
    def mean(self) -> float:
        """Return the expected mean."""
        return float(np.sum(self.weights * self.means))

    @property
    def sd(self) -> float:
        """Return one standard deviation of the mean."""
        gaps = self.means - self.mean
        return math.sqrt(float(np.sum(self.weights * (gaps * gaps + self.sds * self.sds))))

    @property
    def spread(self) -> float:
        """Return half the width of the middle 68 % of the mean: one sd, without the weight of far tails."""
        return 0.5 * (self.mean_at(0.8413447) - self.mean_at(0.1586553))

    @property
    def scatter(self) -> float:
        """Return the median of the scatter."""
        return self.scatter_at(0.5)

    @property
    def scatter_log_sd(self) -> float:
        """Return one standard deviation of the logarithm of the scatter."""
        share, logs = self.weights.sum(axis=1), np.log(self.scatters)
        middle = float(share @ logs)
        return math.sqrt(float(share @ (logs - middle) ** 2))

    def scatter_at(self, level: float) -> float:
        """Return a quantile of the scatter."""
        below = np.cumsum(self.weights.sum(axis=1))
        middles = below - 0.5 * self.weights.sum(axis=1)
        return float(np.exp(np.interp(level, middles, np.log(self.scatters))))

    def cdf(self, mean: float) -> float:
        """Return how likely it is that the mean is no larger."""
        from scipy.special import ndtr

        cells = (self.means[:, 1:2] - self.means[:, 0:1]) / math.sqrt(12.0)
        open_sds = np.hypot(self.sds, cells)  # a cell of the grid stands for all that lies in it
        scores = np.clip((mean - self.means) / open_sds, -37.0, 37.0)
        with np.errstate(under="ignore"):
            return float(np.sum(self.weights * ndtr(scores)))

    def mean_at(self, level: float) -> float:
        """Return a quantile of the mean, to a millionth of its sd."""
        from scipy.optimize import brentq

        sd = max(self.sd, 1e-12)
        reach = 40.0 * sd
        return float(
            brentq(lambda x: self.cdf(x) - level, self.mean - reach, self.mean + reach, xtol=1e-6 * sd)
        )

    def draws(self, count: int, random: np.random.Generator) -> tuple[Floats, Floats]:
        """Return means and scatters drawn from it, each of shape (count,).

        A draw lies evenly within the cell of its grid point, so that no two are alike.
        """
        picked = random.choice(self.weights.size, size=count, p=self.weights.reshape(-1))
        row = picked // self.weights.shape[1]
        step = float(np.log(self.scatters[1] / self.scatters[0]))
        scatters = np.exp(np.log(self.scatters[row]) + step * (random.random(count) - 0.5))
        steps = (self.means[:, 1] - self.means[:, 0])[row]
        means = self.means.reshape(-1)[picked] + steps * (random.random(count) - 0.5)
        return means + self.sds[row, 0] * random.standard_normal(count), scatters


def normal_likelihood(readings: Readings, slip: Slip | None = None) -> LogLikelihood:
    """Return the likelihood of readings with normal errors: ``y ~ N(mean, scatter^2 + error^2)``.

    With a slip it is the mixture of a throw that held and one that slipped; a lower bound ``y`` counts
    as the probability that the throw was at least that.
    """

    def log_likelihood(means: Floats, scatters: Floats) -> Floats:
        total = np.zeros(np.broadcast_shapes(means.shape, scatters.shape))
        for k, value in enumerate(readings.values):
            variance = scatters * scatters + float(readings.errors[k]) ** 2
            bound = readings.at_least is not None and bool(readings.at_least[k])
            term = _term(value - means, variance, bound=bound)
            if slip is not None and 0.0 < slip.share < 1.0:
                slipped = _term(value - slip.kept * means, variance, bound=bound)
                with np.errstate(under="ignore"):
                    term = np.logaddexp(math.log1p(-slip.share) + term, math.log(slip.share) + slipped)
            total = total + term
        return total

    return log_likelihood


def _term(gap: Floats, variance: Floats, *, bound: bool) -> Floats:
    if not bound:
        return log_normal_density(gap, variance)
    from scipy.special import log_ndtr

    with np.errstate(under="ignore"):
        found: Floats = log_ndtr(-gap / np.sqrt(variance))
    return found


def positive_likelihood(readings: Readings, floor: float) -> LogLikelihood:
    """Return the likelihood of readings of something positive whose *logarithm* scatters normally.

    Means and scatters are of the logarithm, the readings and their normal errors are not. The true value
    of each reading is integrated out over points of its logarithm, four tenths of the relative error
    apart, each widened to a normal of 0.8 of that step so that no scatter is too small for them; the error
    is narrowed by as much. ``floor``: the least true value that is looked at.
    """
    points = [
        _points(float(y), float(e), floor) for y, e in zip(readings.values, readings.errors, strict=True)
    ]

    def log_likelihood(means: Floats, scatters: Floats) -> Floats:
        total = np.zeros(np.broadcast_shapes(means.shape, scatters.shape))
        for logs, weights, width in points:
            variance = scatters * scatters + width * width
            gaps = means[..., None] - logs
            density = log_normal_density(gaps, variance[..., None]) + weights
            highest = density.max(axis=-1)
            with np.errstate(under="ignore"):
                total = total + highest + np.log(np.exp(density - highest[..., None]).sum(axis=-1))
        return total

    return log_likelihood


def _points(value: float, error: float, floor: float) -> tuple[Floats, Floats, float]:
    """Return logarithms of true values, the log of their weights, and the width of each."""
    high = max(value, floor) + 5.0 * error
    low = max(floor, value - 5.0 * error)
    relative = error / max(value, error)
    step = min(0.2, APART * relative)
    width = WIDENED * step
    logs = np.arange(math.log(low), math.log(high) + step, step)
    scores = (value - np.exp(logs)) / (error * math.sqrt(1.0 - (width / relative) ** 2))
    return logs, -0.5 * scores * scores + math.log(step / error), width


def learned(
    prior: Prior, common: float, likelihood: LogLikelihood, near: Readings, grid: Grid = GRID
) -> Posterior:
    """Return the posterior of a mean and a scatter.

    Parameters
    ----------
    prior : Prior
    common : float
        The error that all readings have in common, one sd. It shifts all alike, so it adds to the spread
        of the prior of what is seen, and is taken out of the mean at the end.
    likelihood : callable
        As `normal_likelihood` or `positive_likelihood` return it.
    near : Readings
        Normal readings that say about the same; they only place the grid.
    grid : Grid

    Equations: ``scatter^2 ~ throws s0^2/chi2(throws)``, ``mean | scatter ~ N(m0, scatter^2/mean_throws)``,
    ``s0^2 = scatter_0^2 chi2_0.5(throws)/throws``, so that the scatter of the card is the median.
    Source: Gelman et al. (2013), section 3.3.
    """
    rough = Grid(WIDE_POINTS, ROUGH_MEANS, grid.reach)
    wide = _posterior(prior, common, likelihood, near, _wide(prior, near), rough)
    return _posterior(prior, common, likelihood, near, _narrow(wide, grid.scatters), grid)


def _posterior(
    prior: Prior, common: float, likelihood: LogLikelihood, near: Readings, scatters: Floats, grid: Grid
) -> Posterior:
    """Return the posterior on a grid with given scatters."""
    squares = scatters * scatters
    open_before = squares / prior.mean_throws
    seen_before = open_before + common**2
    low, high = _ends(prior.mean, seen_before, squares, near, grid.reach)
    seen = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, grid.means)
    log_weights = likelihood(seen, scatters[:, None])
    log_weights = log_weights + log_normal_density(seen - prior.mean, seen_before[:, None])
    log_weights = log_weights + (_log_scatter_prior(prior, scatters) + np.log(high - low))[:, None]
    log_weights = np.maximum(log_weights - log_weights.max(), -FARTHEST)
    weights = np.exp(log_weights)
    weights = weights / weights.sum()
    kept = open_before / seen_before
    return Posterior(
        scatters,
        prior.mean + kept[:, None] * (seen - prior.mean),
        np.sqrt(kept)[:, None] * common,
        weights,
    )


def _wide(prior: Prior, near: Readings) -> Floats:
    """Return scatters that any posterior lies within, a few, evenly spaced in their logarithm."""
    low = high = math.log(prior.scatter)
    if near.values.size:
        far = float(np.max(np.abs(near.values - prior.mean)))
        high = max(high, math.log(max(far, prior.scatter)))
    return np.exp(np.linspace(low - FACTORS_BELOW, high + FACTORS_ABOVE, WIDE_POINTS))


def _narrow(wide: Posterior, points: int) -> Floats:
    """Return scatters where a first posterior has any weight to speak of."""
    share = wide.weights.sum(axis=1)
    there = np.flatnonzero(share > LEAST_SHARE * share.max())
    first, last = max(0, int(there[0]) - 1), min(len(share) - 1, int(there[-1]) + 1)
    return np.exp(np.linspace(math.log(wide.scatters[first]), math.log(wide.scatters[last]), points))


def _log_scatter_prior(prior: Prior, scatters: Floats) -> Floats:
    """Return the log density of the logarithm of the scatter."""
    scale = prior.scatter**2 * _median_factor(prior.throws)
    return np.asarray(-prior.throws * np.log(scatters) - 0.5 * prior.throws * scale / (scatters * scatters))


def _ends(
    mean: float, before: Floats, squares: Floats, near: Readings, reach: float
) -> tuple[Floats, Floats]:
    """Return between which means (s,) the grid runs for each scatter, normal readings taken for granted.

    Lower bounds are no readings: a throw of at least 3 m/s does not draw the mean down to 3. Below the most
    likely mean they make the density fall faster, above it no faster than the readings alone do.
    """
    variance = squares[:, None] + near.errors**2
    bound = np.zeros(near.values.size, dtype=bool) if near.at_least is None else near.at_least
    each = np.where(bound, 0.0, 1.0 / variance)
    precision = 1.0 / before + each.sum(axis=1)
    centre = (mean / before + (each * near.values).sum(axis=1)) / precision
    width = 1.0 / np.sqrt(precision)
    if not bound.any():
        return centre - reach * width, centre + reach * width
    likely, narrow = _with_bounds(centre, precision, near.values[bound], np.sqrt(variance[:, bound]))
    return likely - reach * narrow, likely + reach * width


def _with_bounds(centre: Floats, precision: Floats, bounds: Floats, sds: Floats) -> tuple[Floats, Floats]:
    """Return the most likely mean (s,) with lower bounds (b,) of sds (s, b), and one sd by its curvature.

    Newton's method on the log of ``N(centre, 1/precision) prod Phi((mean - bound)/sd)``. Its slope falls and
    is convex, so that from the centre, which lies below, every step stays below and none overshoots.
    """
    from scipy.special import log_ndtr

    likely, curvature = centre, precision
    for _ in range(NEWTON_STEPS):
        scores = (likely[:, None] - bounds) / sds
        with np.errstate(under="ignore"):
            hazard = np.exp(-0.5 * (scores * scores + LOG_2PI) - log_ndtr(scores))
            curved = np.clip(hazard * (hazard + scores), 0.0, 1.0)
        curvature = precision + (curved / (sds * sds)).sum(axis=1)
        slope = precision * (centre - likely) + (hazard / sds).sum(axis=1)
        likely = likely + slope / curvature
    return likely, 1.0 / np.sqrt(curvature)


def learn_normal(prior: Prior, readings: Readings, slip: Slip | None = None, grid: Grid = GRID) -> Posterior:
    """Return mean and scatter of something whose values scatter normally, such as the speed of a throw."""
    return learned(prior, readings.common, normal_likelihood(readings, slip), readings, grid)


def learn_positive(prior: Prior, readings: Readings, grid: Grid = GRID) -> Posterior:
    """Return mean and scatter of the logarithm of something positive, such as the start delay.

    The prior and the error in common are of the logarithm; values and other errors are not.
    """
    floor = math.exp(prior.mean) * 0.02
    values = np.maximum(readings.values, 0.5 * readings.errors)
    near = Readings(np.log(np.maximum(values, floor)), np.minimum(readings.errors / values, 1.0))
    return learned(prior, readings.common, positive_likelihood(readings, floor), near, grid)


def throws_of(log_sd: float) -> float:
    """Return how many throws a scatter counts as whose logarithm is known to one sd ``log_sd``.

    Equation: ``log_sd^2 = trigamma(throws/2)/4``, the variance of the log of a chi-square variable.
    Source: N. L. Johnson, S. Kotz & N. Balakrishnan (1994), *Continuous Univariate Distributions* 1, ch. 17.
    """
    from scipy.special import polygamma

    low, high = 0.5, MOST_THROWS
    for _ in range(80):
        middle = math.sqrt(low * high)
        wider = 0.25 * float(polygamma(1, 0.5 * middle)) > log_sd * log_sd
        low, high = (middle, high) if wider else (low, middle)
    return math.sqrt(low * high)

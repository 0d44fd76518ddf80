"""One positive figure that does not scatter, such as the thrust: known as a factor, learned on its logarithm.

Source: A. Gelman et al., *Bayesian Data Analysis*, 3rd ed. (2013), section 2.5 (a normal mean with known
variances); errors that all readings share: section 14.7 (known covariance).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.rng import log_spread

Floats = NDArray[np.float64]


class Scale(NamedTuple):
    """A positive figure: its median, and one sd of its logarithm."""

    median: float
    log_sd: float

    @property
    def spread(self) -> float:
        """Return one sd in the unit of the figure, as cards mean it: `log_spread` of it gives ``log_sd``."""
        return self.median * math.sqrt(math.expm1(self.log_sd**2))

    def at(self, score: float) -> float:
        """Return the figure so many standard deviations of its logarithm from the median."""
        return self.median * math.exp(score * self.log_sd)


def log_errors(values: Floats, errors: Floats) -> Floats:
    """Return the errors of the logarithms of positive values."""
    return np.array([log_spread(float(v), float(e)) for v, e in zip(values, errors, strict=True)])


def covariance(errors: Floats, shared: Floats) -> Floats:
    """Return the covariance of readings with errors of which a share of the variance is common to all.

    ``shared``: that share of each reading, 0 to 1. Equation: ``C_ij = e_i e_j sqrt(r_i r_j)`` off the
    diagonal and ``e_i^2`` on it.
    """
    common = errors * np.sqrt(shared)
    return np.asarray(np.outer(common, common) + np.diag(errors**2 * (1.0 - shared)))


def learn_scale(prior: Scale, values: Floats, errors: Floats, shared: Floats) -> Scale:
    """Return the posterior of a positive figure.

    Parameters: the prior; positive values and their errors, shape (n,), in the unit of the figure; the
    share of each error's variance that is common to all of them. Equation, on logarithms:
    ``1/s'^2 = 1/s^2 + 1' C^-1 1``, ``m' = s'^2 (m/s^2 + 1' C^-1 y)``.
    """
    if not len(values):
        return prior
    logs, spread = np.log(values), log_errors(values, errors)
    solved = np.linalg.solve(covariance(spread, shared), np.column_stack([np.ones(len(logs)), logs]))
    told, pull = float(solved[:, 0].sum()), float(solved[:, 1].sum())
    before = 1.0 / max(prior.log_sd, 1e-9) ** 2
    middle = (before * math.log(prior.median) + pull) / (before + told)
    return Scale(math.exp(middle), 1.0 / math.sqrt(before + told))

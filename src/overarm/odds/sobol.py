"""Variance-based sensitivity: the share of the variance of the odds that each unknown input makes.

The design is Saltelli's over Sobol' points, its rows in the order A, AB_1 .. AB_D, B for each of N base
points. Launches of one base point have the same throws and gusts in all its rows, so that two rows
differ by the unknown inputs alone; each base point has throws of its own, so that no single handful of
throws decides. What is left of the noise of few throws in a row is taken out: for a mean of products
over M throws that is the covariance over these throws, divided by M.

Source: I. M. Sobol' (1993), Math. Modelling Comput. Exp. 1, 407; A. Saltelli et al. (2010), Comput. Phys.
Commun. 181, 259 (design and first-order index); M. J. W. Jansen (1999), Comput. Phys. Commun. 117, 35
(total index); computed by SALib. The correction is our own derivation; see docs/theory/sensitivity.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RESAMPLES = 200
LEVEL = 0.95
# As far out as a standard normal number goes that is drawn from 32 bits.
LEAST_UNIFORM = 2.0**-33


class Index(NamedTuple):
    """Share of the variance that one input makes alone, and with all others; half widths of 95 %."""

    name: str
    first: float
    first_error: float
    total: float
    total_error: float


class Indices(NamedTuple):
    """The indices of all inputs and the variance that they are shares of."""

    inputs: tuple[Index, ...]
    variance: float  # of the odds over what we do not know, the noise of the throws taken out
    variance_error: float  # one standard error
    noise_share: float  # part of the variance as counted that was noise of the throws

    @property
    def clear(self) -> bool:
        """Return True if the variance stands out from its own noise."""
        return self.variance > 2.0 * self.variance_error


def library_seed(seed: int) -> int:
    """Return a seed that the library takes as one: 1 .. 2**31 - 1, as it treats 0 as none."""
    return 1 + seed % (2**31 - 1)


def _problem(names: Sequence[str]) -> dict[str, Any]:
    return {"num_vars": len(names), "names": list(names), "bounds": [[0.0, 1.0]] * len(names)}


def design(names: Sequence[str], count: int, seed: int) -> Floats:
    """Return the rows of the design as uniform numbers, shape (count (D + 2), D).

    Parameters
    ----------
    names : sequence of str
        The D inputs.
    count : int
        Base points; a power of two.
    seed : int
        Of the scrambling.
    """
    from SALib.sample import sobol

    rows = sobol.sample(_problem(names), count, calc_second_order=False, seed=library_seed(seed))
    return np.asarray(rows, dtype=np.float64)


def normal_scores(uniform: Floats) -> Floats:
    """Return standard normal numbers of uniform ones."""
    from scipy.special import ndtri

    return np.asarray(ndtri(np.clip(uniform, LEAST_UNIFORM, 1.0 - LEAST_UNIFORM)), dtype=np.float64)


def _parts(values: Floats, inputs: int) -> tuple[Floats, Floats, Floats]:
    """Split rows into A (n, m), AB (n, d, m) and B (n, m)."""
    blocks = values.reshape(-1, inputs + 2, values.shape[1])
    return blocks[:, 0], blocks[:, 1:-1], blocks[:, -1]


def _noise(one: Floats, other: Floats) -> Floats:
    """Return, for each row, how much of the product of two means over throws is noise.

    Equation: ``cov_t(u, v)/M`` with the sample covariance over M throws; the mean of products then is
    an average over pairs of different throws alone.
    """
    throws = one.shape[-1]
    if throws < 2:
        return np.zeros(one.shape[:-1])
    u = one - one.mean(axis=-1, keepdims=True)
    v = other - other.mean(axis=-1, keepdims=True)
    return np.asarray((u * v).sum(axis=-1) / ((throws - 1.0) * throws))


def indices(values: Floats, names: Sequence[str], seed: int) -> Indices | None:
    """Return first-order and total indices of what the rows of `design` gave.

    Parameters
    ----------
    values : float array, shape (count (D + 2), M)
        The output of each row in each of M throws (1 clean, 0 not); one column for a function that
        has no throws.
    names : sequence of str
    seed : int
        Of the resampling behind the errors.

    Returns
    -------
    Indices or None
        None if A and B hold one value alone, or if their variance is all noise.

    Equations: ``S_i = mean[B (AB_i - A)]/V`` and ``T_i = mean[(A - AB_i)^2]/(2 V)``, V the variance of A
    and B, each mean less its `_noise`.
    """
    from SALib.analyze import sobol

    rows = values.mean(axis=1)
    a, ab, b = _parts(values, len(names))
    both = np.concatenate([a.mean(axis=1), b.mean(axis=1)])
    counted = float(np.var(both))
    own = np.concatenate([_noise(a, a), _noise(b, b)])
    variance = counted - float(own.mean())
    if np.ptp(both) == 0.0 or variance <= 0.0:
        return None
    with np.errstate(under="ignore"):
        found = sobol.analyze(
            _problem(names),
            rows,
            calc_second_order=False,
            num_resamples=RESAMPLES,
            conf_level=LEVEL,
            seed=library_seed(seed),
        )
    each = ((both - both.mean()) ** 2 - own).reshape(2, -1).mean(axis=0)
    step = ab - a[:, None, :]
    first = np.asarray(found["S1"]) * counted - _noise(np.broadcast_to(b[:, None, :], ab.shape), step).mean(0)
    total = np.asarray(found["ST"]) * counted - 0.5 * _noise(step, step).mean(0)
    scale = counted / variance
    return Indices(
        tuple(
            Index(
                name,
                float(first[k]) / variance,
                float(found["S1_conf"][k]) * scale,
                float(total[k]) / variance,
                float(found["ST_conf"][k]) * scale,
            )
            for k, name in enumerate(names)
        ),
        variance,
        float(each.std(ddof=1)) / math.sqrt(len(each)),
        1.0 - variance / counted,
    )

"""Exponential and logarithm of the side-by-side loops, against the C library in extended precision.

On x86 that has 64 bits of mantissa; where `numpy.longdouble` is no wider than `float`, the bounds still hold.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest

from overarm.exponent import MOST, exponential, logarithm
from overarm.jit import over_samples

Floats = npt.NDArray[np.float64]
COUNT = 200_000
# Own bounds, stated in the module.
NEAR, NEAR_ERROR = 20.0, 2e-14
EXPONENTIAL_ERROR = 3e-12
LOGARITHM_ERROR = 3e-16


@over_samples
def grown(x: Floats, found: Floats) -> None:
    for index in range(x.shape[0]):
        found[index] = exponential(x[index])


@over_samples
def logs(x: Floats, found: Floats) -> None:
    for index in range(x.shape[0]):
        found[index] = logarithm(x[index])


@pytest.mark.parametrize(("most", "error"), [(NEAR, NEAR_ERROR), (MOST, EXPONENTIAL_ERROR)])
def test_exponential_within_its_range(most: float, error: float) -> None:
    x = np.random.default_rng(1).uniform(-most, most, COUNT)
    found = np.empty(COUNT)
    grown(x, found)
    wide = np.exp(x.astype(np.longdouble))
    assert np.max(np.abs(found / wide - 1.0)) < error


@pytest.mark.parametrize(("x", "kept"), [(-1e9, -MOST), (1e9, MOST), (MOST, MOST), (0.0, 0.0)])
def test_exponential_ends_at_its_range(x: float, kept: float) -> None:
    assert exponential(x) == pytest.approx(math.exp(kept), rel=EXPONENTIAL_ERROR)


def test_logarithm_over_its_range() -> None:
    x = 2.0 ** np.random.default_rng(2).uniform(0.0, 32.0, COUNT)
    found = np.empty(COUNT)
    logs(x, found)
    wide = np.log(x.astype(np.longdouble))
    assert np.max(np.abs(found - wide) - LOGARITHM_ERROR * np.abs(wide)) < LOGARITHM_ERROR


@pytest.mark.parametrize("x", [1.0, math.sqrt(2.0), 2.0, math.e, 4.0, 1e4, 65536.0, 4e9])
def test_logarithm_at_the_edges_of_its_halvings(x: float) -> None:
    assert logarithm(x) == pytest.approx(math.log(x), rel=4e-16, abs=1e-300)

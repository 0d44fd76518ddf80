"""Sine, cosine and inverse tangent of every step, against the C library in extended precision.

On x86 that has 64 bits of mantissa; where `numpy.longdouble` is no wider than `float`, the bounds still hold.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest

from overarm.jit import over_samples
from overarm.trig import inverse_tangent, sine_cosine

Floats = npt.NDArray[np.float64]
COUNT = 200_000
# Own bounds, a little above the largest errors seen, which the module states.
SINE_ERROR = 2.5e-16
PER_RADIAN = 1e-16
ANGLE_ERROR = 5e-16


@over_samples
def turned(angles: Floats, sines: Floats, cosines: Floats) -> None:
    for index in range(angles.shape[0]):
        sines[index], cosines[index] = sine_cosine(angles[index])


@over_samples
def angled(y: Floats, x: Floats, angles: Floats) -> None:
    for index in range(angles.shape[0]):
        angles[index] = inverse_tangent(y[index], x[index])


@pytest.mark.parametrize("most", [math.pi / 4.0, math.pi, 100.0, 1e4])
def test_sine_and_cosine(most: float) -> None:
    angles = np.random.default_rng(1).uniform(-most, most, COUNT)
    sines, cosines = np.empty(COUNT), np.empty(COUNT)
    turned(angles, sines, cosines)
    wide = angles.astype(np.longdouble)
    bound = SINE_ERROR + PER_RADIAN * most
    assert np.max(np.abs(sines - np.sin(wide))) < bound
    assert np.max(np.abs(cosines - np.cos(wide))) < bound


def test_inverse_tangent_all_round_and_over_all_sizes() -> None:
    rng = np.random.default_rng(2)
    around = rng.uniform(-math.pi, math.pi, COUNT)
    size = 10.0 ** rng.uniform(-150.0, 150.0, COUNT)
    y, x = size * np.sin(around), size * np.cos(around)
    angles = np.empty(COUNT)
    angled(y, x, angles)
    wide = np.arctan2(y.astype(np.longdouble), x.astype(np.longdouble))
    assert np.max(np.abs(angles - wide)) < ANGLE_ERROR


@pytest.mark.parametrize(
    ("y", "x"),
    [
        (0.0, 0.0),
        (0.0, 1.0),
        (1.0, 0.0),
        (-1.0, 0.0),
        (0.0, -1.0),
        (1.0, 1.0),
        (-1.0, 1.0),
        (1.0, -1.0),
        (-1.0, -1.0),
    ],
)
def test_inverse_tangent_on_axes_and_diagonals(y: float, x: float) -> None:
    assert inverse_tangent(y, x) == pytest.approx(math.atan2(y, x), abs=ANGLE_ERROR)


def test_sine_and_cosine_of_quarters() -> None:
    for quarter in range(-8, 9):
        sine, cosine = sine_cosine(quarter * 0.5 * math.pi)
        assert sine == pytest.approx((0.0, 1.0, 0.0, -1.0)[quarter % 4], abs=2e-15)
        assert cosine == pytest.approx((1.0, 0.0, -1.0, 0.0)[quarter % 4], abs=2e-15)

"""Gusts: sizes, lengths and spectra of MIL-F-8785C (1980), section 3.7, and an exact discretisation."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numba
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import welch

from overarm.physics import wind
from tests.agreement import Agrees

MIL = "MIL-F-8785C, section 3.7"

KNOT_MPS = 0.514444
SPEED_MPS = 15.0
SECONDS = 1400.0
SEEDS = (1, 2, 3, 4)

# MIL-F-8785C figures 10 and 11, worked: height m, wind at 20 ft in kt, sigma_w, sigma_u, L_w, L_u.
ROWS = [
    (10.0, 15.0, 0.7717, 1.4574, 10.0, 67.366),
    (10.0, 30.0, 1.5433, 2.9148, 10.0, 67.366),
    (30.0, 15.0, 0.7717, 1.3267, 30.0, 152.465),
    (50.0, 30.0, 1.5433, 2.4592, 50.0, 202.290),
]


def air_with(wind_20ft_kt: float) -> wind.Air:
    """Return air over a meadow whose mean wind at 20 ft is this, blowing towards +x."""
    at_10 = wind_20ft_kt * KNOT_MPS * math.log(10.0 / 0.03) / math.log(wind.GUST_WIND_HEIGHT_M / 0.03)
    return wind.Air(1.225, at_10, math.pi, 0.03, 1.0)


@numba.njit
def record(air: Any, height_m: float, step_s: float, draws: Any, out: Any) -> None:
    state = wind.gust_start(draws[0, 0], draws[0, 1], draws[0, 2], draws[0, 3], draws[0, 4])
    pace = wind.gust_pace(height_m, SPEED_MPS, step_s)
    for i in range(out.shape[0]):
        out[i, 0], out[i, 1], out[i, 2] = wind.gust_velocity(air, state, height_m)
        n = draws[i + 1]
        state = wind.gust_advance(pace, state, n[0], n[1], n[2], n[3], n[4])


def gusts(air: wind.Air, height_m: float, step_s: float, seed: int) -> NDArray[np.float64]:
    count = round(SECONDS / step_s)
    out = np.empty((count, 3))
    record(air, height_m, step_s, np.random.default_rng(seed).standard_normal((count + 1, 5)), out)
    return out


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]:g} m, {row[1]:g} kt")
def test_published_sizes_and_lengths(agrees: Agrees, row: tuple[float, ...]) -> None:
    height_m, wind_kt, sigma_w, sigma_u, length_w, length_u = row
    agrees(
        f"size of gusts at {height_m:g} m, {wind_kt:g} kt [m/s]",
        MIL,
        wind.gust_sigmas(air_with(wind_kt), height_m),
        (sigma_u, sigma_w),
        rel=1e-4,
    )
    agrees(
        f"length of gusts at {height_m:g} m [m]",
        MIL,
        wind.gust_lengths(height_m),
        (length_u, length_w),
        rel=1e-4,
    )


def test_below_ten_feet_counts_as_ten_feet() -> None:
    air = air_with(15.0)
    assert wind.gust_sigmas(air, 1.8) == wind.gust_sigmas(air, 10.0 * 0.3048)
    assert wind.gust_lengths(0.5) == wind.gust_lengths(10.0 * 0.3048)


# An independent simulator (JSBSim 1.3.3, its two turbulence models of this standard; 4 seeds of
# 1400 s at 15 m/s, rms): along, across, vertical.
@pytest.mark.parametrize(
    ("height_m", "wind_kt", "others"),
    [(10.0, 15.0, (1.43, 1.48, 0.78)), (50.0, 30.0, (2.47, 2.52, 1.555))],
)
def test_simulated_size(height_m: float, wind_kt: float, others: tuple[float, ...]) -> None:
    air = air_with(wind_kt)
    squares = [np.mean(gusts(air, height_m, 0.02, seed) ** 2, axis=0) for seed in SEEDS]
    rms = np.sqrt(np.mean(squares, axis=0))
    level, vertical = wind.gust_sigmas(air, height_m)
    assert rms == pytest.approx([level, level, vertical], rel=0.06)
    assert rms == pytest.approx(others, rel=0.08)  # both are samples


def published_spectra(
    height_m: float, air: wind.Air, hertz: NDArray[np.float64]
) -> list[NDArray[np.float64]]:
    """Return the one-sided spectra [m2/s2/Hz] of MIL-F-8785C 3.7.1.2 along, across, vertical."""
    (sigma_u, sigma_w), (length_u, length_w) = wind.gust_sigmas(air, height_m), wind.gust_lengths(height_m)
    omega = 2.0 * math.pi * hertz / SPEED_MPS
    to_hertz = 2.0 * math.pi / SPEED_MPS

    def across(sigma: float, length: float) -> NDArray[np.float64]:
        square = (length * omega) ** 2
        return sigma**2 * length / math.pi * (1.0 + 3.0 * square) / (1.0 + square) ** 2 * to_hertz

    along = sigma_u**2 * 2.0 * length_u / math.pi / (1.0 + (length_u * omega) ** 2) * to_hertz
    return [along, across(sigma_u, length_u), across(sigma_w, length_w)]


@pytest.mark.parametrize("step_s", [0.01, 0.04])
def test_spectrum(step_s: float) -> None:
    height_m, air = 10.0, air_with(15.0)
    found = []
    for seed in SEEDS:
        hertz, power = welch(gusts(air, height_m, step_s, seed), fs=1.0 / step_s, nperseg=2048, axis=0)
        found.append(power)
    mean = np.mean(found, axis=0)
    expected = published_spectra(height_m, air, hertz)
    edges = np.geomspace(3.0 * hertz[1], 2.5, 8)  # below a tenth of the slower sample rate
    for axis in range(3):
        for low, high in pairwise(edges):
            band = (hertz >= low) & (hertz < high)
            assert mean[band, axis].sum() == pytest.approx(expected[axis][band].sum(), rel=0.2), (axis, low)


@pytest.mark.parametrize("step_s", [0.002, 0.02, 0.5])
def test_correlation_is_exact_at_any_step(step_s: float) -> None:
    """The correlation of the Dryden forms is exp(-x) along and exp(-x)(1 - x/2) across, x = V t/L
    (the Fourier pair of the published spectra). One step must give just that, and keep the size."""
    pace = wind.gust_pace(10.0, SPEED_MPS, step_s)
    reach_u, reach_w = (SPEED_MPS * step_s / length for length in wind.gust_lengths(10.0))
    assert pace.along_keep == pytest.approx(math.exp(-reach_u))
    assert pace.along_keep**2 + pace.along_noise**2 == pytest.approx(1.0)
    steady = np.array([[1.0, 0.5], [0.5, 0.5]])
    read = math.sqrt(0.5) * np.array([math.sqrt(3.0), 1.0 - math.sqrt(3.0)])
    assert read @ steady @ read == pytest.approx(1.0)
    for reach, keep, feed, first, cross, second in (
        (
            reach_u,
            pace.across_keep,
            pace.across_feed,
            pace.across_first,
            pace.across_cross,
            pace.across_second,
        ),
        (reach_w, pace.down_keep, pace.down_feed, pace.down_first, pace.down_cross, pace.down_second),
    ):
        turn = np.array([[keep, 0.0], [feed, keep]])
        noise = np.array([[first, 0.0], [cross, second]])
        np.testing.assert_allclose(turn @ steady @ turn.T + noise @ noise.T, steady, rtol=1e-9)
        assert read @ turn @ steady @ read == pytest.approx(math.exp(-reach) * (1.0 - 0.5 * reach))


def test_each_draw_drives_what_it_should() -> None:
    pace, rest = wind.gust_pace(10.0, SPEED_MPS, 0.02), wind.GustState(0.0, 0.0, 0.0, 0.0, 0.0)
    moved = [tuple(wind.gust_advance(pace, rest, *row)) for row in np.eye(5).tolist()]
    assert moved == [
        (pace.along_noise, 0.0, 0.0, 0.0, 0.0),
        (0.0, pace.across_first, pace.across_cross, 0.0, 0.0),
        (0.0, 0.0, pace.across_second, 0.0, 0.0),
        (0.0, 0.0, 0.0, pace.down_first, pace.down_cross),
        (0.0, 0.0, 0.0, 0.0, pace.down_second),
    ]
    states = [wind.GustState(*row) for row in np.eye(5).tolist()]
    assert [tuple(wind.gust_advance(pace, state, *[0.0] * 5)) for state in states] == [
        (pace.along_keep, 0.0, 0.0, 0.0, 0.0),
        (0.0, pace.across_keep, pace.across_feed, 0.0, 0.0),
        (0.0, 0.0, pace.across_keep, 0.0, 0.0),
        (0.0, 0.0, 0.0, pace.down_keep, pace.down_feed),
        (0.0, 0.0, 0.0, 0.0, pace.down_keep),
    ]


def test_start_is_the_steady_state() -> None:
    draws = np.random.default_rng(5).standard_normal((4000, 5))
    states = np.array([wind.gust_start(*row) for row in draws])
    covariance = np.cov(states.T)
    steady = np.array([[1.0, 0.5], [0.5, 0.5]])
    np.testing.assert_allclose(covariance[1:3, 1:3], steady, atol=0.06)
    np.testing.assert_allclose(covariance[3:, 3:], steady, atol=0.06)
    assert covariance[0, 0] == pytest.approx(1.0, abs=0.06)
    assert abs(covariance[:3, 3:]).max() < 0.06


def test_the_step_does_not_change_the_statistics() -> None:
    air = air_with(15.0)
    coarse, fine = (
        np.sqrt(np.mean([np.mean(gusts(air, 10.0, step, seed) ** 2, axis=0) for seed in SEEDS], axis=0))
        for step in (0.1, 0.01)
    )
    assert coarse == pytest.approx(fine, rel=0.06)

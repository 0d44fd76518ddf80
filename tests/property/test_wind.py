"""Properties of the wind: monotone, mirrored, and the same at any step."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from overarm.physics import wind
from overarm.physics.wind import Air, GustState

speeds = st.floats(0.0, 15.0)
angles = st.floats(-math.pi, math.pi)
roughnesses = st.floats(0.001, 1.0)
heights = st.floats(0.0, 200.0)
units = st.floats(-3.0, 3.0)
states = st.builds(GustState, units, units, units, units, units)
many = settings(max_examples=100, deadline=None)


@many
@given(speeds, roughnesses, heights, st.floats(0.0, 50.0))
def test_wind_rises_with_height(speed: float, roughness: float, height: float, higher: float) -> None:
    air = Air(1.225, speed, 0.0, roughness, 1.0)
    low, high = wind.mean_wind(air, height), wind.mean_wind(air, height + higher)
    assert 0.0 <= low <= high + 1e-12


@many
@given(st.floats(0.5, 15.0), roughnesses, st.floats(0.0, 0.5), st.floats(1.6, 9.9))
def test_rougher_ground_takes_more_from_the_hand(
    speed: float, roughness: float, rougher: float, height: float
) -> None:
    smooth = Air(1.225, speed, 0.0, roughness, 1.0)
    rough = smooth._replace(roughness_m=roughness + rougher)
    assert wind.mean_wind(rough, height) <= wind.mean_wind(smooth, height) + 1e-12
    assert math.isclose(wind.mean_wind(rough, 10.0), speed)


@many
@given(speeds, angles, states, st.floats(0.5, 120.0))
def test_mirror(speed: float, angle: float, state: GustState, height: float) -> None:
    """The wind from the other side, with the side gust turned round, is the mirror image."""
    air = Air(1.225, speed, angle, 0.03, 1.0)
    x, y, z = wind.gust_velocity(air, state, height)
    other = state._replace(v1=-state.v1, v2=-state.v2)
    mirrored = wind.gust_velocity(air._replace(wind_angle_rad=-angle), other, height)
    assert mirrored == pytest.approx((x, -y, z), abs=1e-12)


@many
@given(speeds, angles, states, st.floats(0.5, 120.0), st.floats(0.0, 3.0))
def test_gusts_scale(speed: float, angle: float, state: GustState, height: float, scale: float) -> None:
    air = Air(1.225, speed, angle, 0.03, 1.0)
    one = wind.gust_velocity(air, state, height)
    scaled = wind.gust_velocity(air._replace(gust_scale=scale), state, height)
    assert scaled == pytest.approx([scale * value for value in one], abs=1e-12)


@many
@given(st.floats(0.001, 3.0), st.floats(0.001, 3.0))
def test_two_steps_are_one(first: float, second: float) -> None:
    """The state after two steps has the mean and the covariance that one step of both gives."""

    def parts(reach: float) -> tuple[np.ndarray, np.ndarray]:
        keep, feed, a, cross, b = wind.double_pole(reach)
        noise = np.array([[a, 0.0], [cross, b]])
        return np.array([[keep, 0.0], [feed, keep]]), noise @ noise.T

    (turn_1, noise_1), (turn_2, noise_2), (turn, noise) = (
        parts(reach) for reach in (first, second, first + second)
    )
    np.testing.assert_allclose(turn_2 @ turn_1, turn, atol=1e-12)
    np.testing.assert_allclose(turn_2 @ noise_1 @ turn_2.T + noise_2, noise, atol=1e-12)


@many
@given(st.floats(0.0, 400.0), st.floats(0.0, 30.0), st.floats(1e-4, 1.0))
def test_every_coefficient_is_finite_and_damped(height: float, airspeed: float, step_s: float) -> None:
    pace = wind.gust_pace(height, airspeed, step_s)
    assert all(math.isfinite(value) for value in pace)
    for keep in (pace.along_keep, pace.across_keep, pace.down_keep):
        assert 0.0 <= keep < 1.0


@many
@given(st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_faster_flight_forgets_sooner(airspeed: float, other: float) -> None:
    assume(abs(airspeed - other) > 1e-6)
    slow, fast = sorted((airspeed, other))
    assert wind.gust_pace(5.0, fast, 0.02).down_keep <= wind.gust_pace(5.0, slow, 0.02).down_keep

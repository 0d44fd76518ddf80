"""What the board feels, its filter, and the attitude estimate that a throw drags along."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import lfilter

from overarm.frames import launch_to_body, quaternion_from_angles
from overarm.physics import attitude as belief
from overarm.physics import sensor
from overarm.physics.sensor import Board
from tests.agreement import Agrees

BY_HAND = "worked by hand"

G_MPS2 = 9.80665
BOARD = Board(
    tilt_rad=0.0, bias_mps2=0.0, noise_mps2=0.0, range_mps2=160.0, filter_hz=10.0, rate_hz=200.0,
    offset_x_m=0.0, offset_z_m=0.0, attitude_time_s=1.0, level_error_rad=0.0, bank_error_rad=0.0,
    speed_delay_s=0.2, trust_band_mps2=1000.0, gyro_bias_radps=0.0, vibration_mps2=0.0,
)  # fmt: skip
NO_RATES = (0.0, 0.0, 0.0)


def test_at_rest(agrees: Agrees) -> None:
    """Level: (0, 0, -g). Nose up 30 degrees: 4.903 forward, the spirit-level block of the bench."""
    assert sensor.specific_force(NO_RATES, 0.0, 0.0) == pytest.approx((0.0, 0.0, -G_MPS2))
    forward, _, down = sensor.specific_force(NO_RATES, math.radians(30.0), 0.0)
    agrees("forward reading at 30 deg nose-up [m/s2]", BY_HAND, forward, 4.903, abs=1e-3)
    agrees("downward reading at 30 deg nose-up [m/s2]", BY_HAND, down, -8.493, abs=1e-3)


@pytest.mark.parametrize(("pitch_deg", "bank_deg"), [(12.0, -35.0), (-40.0, 100.0), (75.0, 10.0)])
def test_gravity_as_the_quaternion_turns_it(pitch_deg: float, bank_deg: float) -> None:
    pitch, bank = math.radians(pitch_deg), math.radians(bank_deg)
    turned = launch_to_body(*quaternion_from_angles(bank, pitch, 1.1), 0.0, 0.0, G_MPS2)
    acceleration = (3.0, -2.0, 5.0)
    expected = [a - g for a, g in zip(acceleration, turned, strict=True)]
    assert sensor.specific_force(acceleration, pitch, bank) == pytest.approx(expected)


def test_free_fall_feels_nothing() -> None:
    pitch, bank = 0.3, -0.2
    falling = launch_to_body(*quaternion_from_angles(bank, pitch, 0.0), 0.0, 0.0, G_MPS2)
    assert sensor.specific_force(falling, pitch, bank) == pytest.approx(NO_RATES, abs=1e-12)


def test_wrist_flick(agrees: Agrees) -> None:
    """8 rad/s with the board 0.1 m ahead takes 6.4 m/s2 off the forward reading: enough to hide a cue."""
    ahead = BOARD._replace(offset_x_m=0.1)
    agrees(
        "a wrist at 8 rad/s, pitching [m/s2]",
        BY_HAND,
        sensor.lever_terms(ahead, (0.0, 8.0, 0.0), NO_RATES)[0],
        -6.4,
    )
    agrees(
        "a wrist at 8 rad/s, yawing [m/s2]",
        BY_HAND,
        sensor.lever_terms(ahead, (0.0, 0.0, 8.0), NO_RATES)[0],
        -6.4,
    )


def test_lever_terms_are_the_vector_products() -> None:
    board = BOARD._replace(offset_x_m=0.12, offset_z_m=-0.04)
    rates, changes = (1.5, -2.0, 3.0), (10.0, 20.0, -30.0)
    arm = np.array([0.12, 0.0, -0.04])
    expected = np.cross(changes, arm) + np.cross(rates, np.cross(rates, arm))
    assert sensor.lever_terms(board, rates, changes) == pytest.approx(expected)


@pytest.mark.parametrize(("tilt_deg", "reading"), [(5.0, 0.855), (7.0, 1.195)])
def test_tilted_board(agrees: Agrees, tilt_deg: float, reading: float) -> None:
    """Level and at rest a tilted board reads g sin(tilt): 0.86 at 5 degrees, 1.2 at 7."""
    board = BOARD._replace(tilt_rad=math.radians(tilt_deg))
    agrees(
        f"forward reading of a board tilted by {tilt_deg:g} deg [m/s2]",
        BY_HAND,
        sensor.felt_forward(board, 0.0, -G_MPS2, 0.0, 0.0),
        reading,
        abs=1e-3,
    )


def test_bias_noise_vibration_and_range() -> None:
    board = BOARD._replace(bias_mps2=0.2, noise_mps2=0.3, vibration_mps2=0.8, range_mps2=39.2)
    assert sensor.felt_forward(board, 1.0, -G_MPS2, 0.0, 2.0) == pytest.approx(1.0 + 0.2 + 0.6)
    assert sensor.felt_forward(board, 0.0, 0.0, 0.5, 1.0) == pytest.approx(0.2 + 0.5)  # 3-4-5
    assert sensor.felt_forward(board, 57.0, 0.0, 0.0, 0.0) == 39.2  # a 4 g part clips a 10 m/s throw
    assert sensor.felt_forward(board, -57.0, 0.0, 0.0, 0.0) == -39.2


def test_low_pass_against_an_independent_filter() -> None:
    values = np.random.default_rng(2).standard_normal(300)
    pole = math.exp(-2.0 * math.pi * 10.0 / 200.0)
    expected = lfilter([1.0 - pole], [1.0, -pole], values)
    found, state = [], 0.0
    for value in values:
        state = sensor.low_pass(state, float(value), 10.0, 0.005)
        found.append(state)
    np.testing.assert_allclose(found, expected, rtol=1e-10, atol=1e-12)
    assert sensor.low_pass(1.0, 5.0, 0.0, 0.005) == 5.0


@pytest.mark.parametrize(("signal_hz", "gain"), [(2.5, 0.97), (2.0, 0.98)])
def test_a_filter_does_not_tell_a_walk_from_a_shake(signal_hz: float, gain: float) -> None:
    """1/sqrt(1 + (f/fc)^2) at 10 Hz: a shake of 2.5 Hz keeps 97 %, steps of 2 Hz keep 98 %."""
    step = 0.0005
    state, peak = 0.0, 0.0
    for i in range(4000):
        state = sensor.low_pass(state, math.sin(2.0 * math.pi * signal_hz * i * step), 10.0, step)
        peak = max(peak, state) if i > 1000 else peak
    assert peak == pytest.approx(gain, abs=0.005)


def test_lag_of_the_filter() -> None:
    """A ramp comes out 1/(2 pi fc) late: 16 ms at 10 Hz."""
    state, step = 0.0, 1e-4
    for i in range(1, 5001):
        state = sensor.low_pass(state, i * step, 10.0, step)
    assert 5000 * step - state == pytest.approx(0.0159, abs=2e-4)
    assert sensor.lag_share(0.2, 0.2) == pytest.approx(1.0 - math.exp(-1.0))
    assert sensor.lag_share(0.0, 0.005) == 1.0


@pytest.mark.parametrize(("pitch_deg", "bank_deg"), [(0.0, 0.0), (20.0, -30.0), (-60.0, 150.0)])
def test_attitude_of_a_board_at_rest(pitch_deg: float, bank_deg: float) -> None:
    pitch, bank = math.radians(pitch_deg), math.radians(bank_deg)
    felt = sensor.specific_force(NO_RATES, pitch, bank)
    assert belief.accelerometer_attitude(felt) == pytest.approx((pitch, bank))


def test_gyros_alone_follow_a_tumble(agrees: Agrees) -> None:
    """Constant body rates (0.5, -0.3, 0.8) rad/s for 2 s from level: bank 13.22917, pitch -58.05570
    degrees, by the exact quaternion (rotation vector of the rates)."""
    board = BOARD._replace(trust_band_mps2=0.0)
    state = belief.attitude_start(board, 0.0, 0.0)
    for _ in range(8000):
        state = belief.attitude_step(board, state, (0.0, 0.0, -G_MPS2), (0.5, -0.3, 0.8), 0.00025)
    agrees(
        "pitch after a tumble [deg]", "exact quaternion", math.degrees(state.pitch_rad), -58.0557, abs=0.05
    )
    agrees("bank after a tumble [deg]", "exact quaternion", math.degrees(state.bank_rad), 13.2292, abs=0.05)


def dragged_deg(board: Board) -> float:
    """Return how far 0.3 s of 30 m/s2 forward, held level, tips the estimate nose-up [deg]."""
    state = belief.attitude_start(board, 0.0, 0.0)
    for _ in range(60):
        state = belief.attitude_step(board, state, (30.0, 0.0, -G_MPS2), NO_RATES, 0.005)
    return math.degrees(state.pitch_rad)


def test_a_throw_drags_the_estimate() -> None:
    """With a time constant of 1 s, expect 10 to 20 degrees: arctan(a/g)(1 - exp(-t/tau))."""
    assert 10.0 < dragged_deg(BOARD) < 20.0
    exact = math.degrees(math.atan2(30.0, G_MPS2)) * (1.0 - math.exp(-0.3))
    assert dragged_deg(BOARD) == pytest.approx(exact, rel=1e-6)
    assert dragged_deg(BOARD._replace(attitude_time_s=5.0)) < 5.0


def test_the_trust_band_shuts_a_throw_out() -> None:
    assert dragged_deg(BOARD._replace(trust_band_mps2=3.0)) == pytest.approx(0.0, abs=1e-9)


def test_errors_of_the_horizon_stay() -> None:
    board = BOARD._replace(level_error_rad=0.05, bank_error_rad=-0.03, gyro_bias_radps=0.01)
    state = belief.attitude_start(board, 0.1, 0.0)
    assert state == pytest.approx((0.15, -0.03))
    felt = sensor.specific_force(NO_RATES, 0.1, 0.0)
    for _ in range(2000):
        state = belief.attitude_step(board, state, felt, NO_RATES, 0.005)
    assert state == pytest.approx((0.15 + 0.01, -0.03 + 0.01), abs=5e-4)  # bias times time constant


def test_upside_down_estimate_does_not_spin() -> None:
    """Across +-180 degrees of bank the correction takes the short way."""
    felt = sensor.specific_force(NO_RATES, 0.0, math.radians(-175.0))
    state = belief.Attitude(0.0, math.radians(175.0))
    state = belief.attitude_step(BOARD, state, felt, NO_RATES, 0.005)
    assert abs(math.degrees(state.bank_rad)) > 174.9

"""Facts of the trade: common practice, no source, unless one is named. Each must come out of the model.

The tables of shakes and of walking were made with a scratch model (10 Hz filter; nose-up 10 degrees
for the shakes; steps at 1.9 Hz); here the real filter and the real trigger logic must repeat them.
"""

from __future__ import annotations

import math
from typing import Any

import numba
import numpy as np
import pytest

from overarm.physics import hand as arm
from overarm.physics import trigger as cue
from overarm.physics.hand import Hand, usual_speed
from overarm.physics.ramp import full_time, throttle_ramp
from overarm.physics.sensor import Board, felt_forward, low_pass, specific_force
from overarm.physics.trigger import CueState, Trigger

RATE_HZ = 200.0
BOARD = Board(
    tilt_rad=0.0, bias_mps2=0.0, noise_mps2=0.0, range_mps2=160.0, filter_hz=10.0, rate_hz=RATE_HZ,
    offset_x_m=0.0, offset_z_m=0.0, attitude_time_s=1.0, level_error_rad=0.0, bank_error_rad=0.0,
    speed_delay_s=0.2, trust_band_mps2=1000.0, gyro_bias_radps=0.0, vibration_mps2=0.0,
)  # fmt: skip
# An ordinary board: a degree of tilt, a bias and a noise in the middle of their usual ranges.
ORDINARY = BOARD._replace(tilt_rad=math.radians(1.0), bias_mps2=0.1, noise_mps2=0.2)
TRIGGER = Trigger(
    level_mps2=5.0, dwell_s=0.10, jerks=1.0, gravity_free=0.0, speed_gate_mps=0.0, speed_window_s=1.0,
    pitch_low_rad=-2.0, pitch_high_rad=2.0, bank_limit_rad=4.0, still_s=0.0,
)  # fmt: skip
HELD = Hand(
    speed_mps=8.4, path_rad=0.15, pitch_rad=0.2, bank_rad=0.0, heading_rad=0.0, height_m=1.9, stroke_m=1.3,
    windup_m=0.0, windup_s=0.0, roll_rate_radps=0.0, pitch_rate_radps=0.0, yaw_rate_radps=0.0,
    hand_deceleration_mps2=35.0, hand_lag_mps=0.4, grip_to_disc_m=0.36, clear_margin_m=0.05, carry_s=0.5,
    carry_pitch_rad=math.radians(10.0), step_mps2=0.0, step_hz=1.9, shake_m=0.1, shake_hz=2.0, shakes=3.0,
    hold_s=0.5, spin_in_hand=0.0,
)  # fmt: skip


@numba.njit
def listen(hand: Any, board: Any, trigger: Any, seconds: float, draws: Any) -> Any:
    """Return (how often the trigger fires, last cue state) for a held model."""
    step = 1.0 / board.rate_hz
    start, _, down = specific_force((0.0, 0.0, 0.0), hand.carry_pitch_rad, 0.0)
    reading = felt_forward(board, start, down, 0.0, 0.0)
    state, fires, fired = cue.cue_start(), 0, 0.0
    for i in range(int(seconds / step)):
        motion = arm.hand_motion(hand, i * step, 1e9)
        forward, _, down = specific_force((motion.acceleration_mps2, 0.0, 0.0), motion.pitch_rad, 0.0)
        raw = felt_forward(board, forward, down, 0.0, draws[i])
        reading = low_pass(reading, raw, board.filter_hz, step)
        metric = cue.jerk_metric(trigger, reading, motion.pitch_rad)
        before = fired
        state, fired = cue.cue_step(trigger, state, metric, motion.pitch_rad, 0.0, 0.0, 0.0, step)
        fires += 1 if fired > before else 0
    return fires, state


def shaken(reach_m: float, frequency_hz: float, level_mps2: float) -> tuple[int, CueState]:
    hand = HELD._replace(shake_m=reach_m, shake_hz=frequency_hz)
    trigger = TRIGGER._replace(level_mps2=level_mps2)
    found: tuple[int, CueState] = listen(hand, BOARD, trigger, 3.0, np.zeros(600))
    return found


def walked(
    step_mps2: float, pitch_deg: float, level_mps2: float = 5.0, gravity_free: float = 0.0
) -> tuple[int, CueState]:
    pitch = math.radians(pitch_deg)
    hand = HELD._replace(carry_s=30.0, carry_pitch_rad=pitch, step_mps2=step_mps2, shakes=0.0)
    trigger = TRIGGER._replace(level_mps2=level_mps2, gravity_free=gravity_free)
    draws = np.random.default_rng(7).standard_normal(6000)
    found: tuple[int, CueState] = listen(hand, ORDINARY, trigger, 30.0, draws)
    return found


# reach m, frequency Hz, filtered peak, seconds above 5, 8 and 15 m/s2.
SHAKES = [
    (0.05, 2.0, 9.4, 0.18, 0.10, 0.0),
    (0.05, 3.0, 18.7, 0.15, 0.13, 0.07),
    (0.10, 2.0, 17.2, 0.22, 0.18, 0.09),
    (0.10, 2.5, 25.6, 0.18, 0.17, 0.12),
    (0.15, 2.0, 24.9, 0.23, 0.21, 0.15),
]


@pytest.mark.parametrize("row", SHAKES, ids=lambda row: f"{row[0]:g} m, {row[1]:g} Hz")
def test_shake_table(row: tuple[float, ...]) -> None:
    reach, frequency, peak, *above = row
    assert shaken(reach, frequency, 5.0)[1].peak_mps2 == pytest.approx(peak, rel=0.02)
    tilted = 9.80665 * math.sin(math.radians(10.0))
    kept = 1.0 / math.hypot(1.0, frequency / 10.0)
    amplitude = kept * reach * (2.0 * math.pi * frequency) ** 2
    for level, expected in zip((5.0, 8.0, 15.0), above, strict=True):
        found = shaken(reach, frequency, level)[1].longest_above_s
        assert found == pytest.approx(expected, abs=0.012)
        closed = cue.time_above(amplitude, frequency, level - tilted)
        assert found == pytest.approx(closed, abs=0.012)
        assert found < 0.5 / frequency


# step amplitude m/s2, nose-up degrees, filtered peak m/s2.
@pytest.mark.parametrize(
    ("step_mps2", "pitch_deg", "peak"),
    [(1.5, 0.0, 2.0), (2.5, 0.0, 2.9), (1.5, 15.0, 4.5), (2.5, 15.0, 5.4), (2.5, 25.0, 6.9)],
)
def test_walking_table(step_mps2: float, pitch_deg: float, peak: float) -> None:
    _, state = walked(step_mps2, pitch_deg)
    assert state.peak_mps2 == pytest.approx(peak, abs=0.25)


def test_level_five_nose_up_is_not_safe_against_walking() -> None:
    """Held 25 degrees up, walking is over 5 m/s2 for 0.30 s at a time (scratch model; 0.24 s here,
    with steps of a pure sine): a start at almost every step. Level 8 or no gravity ends that."""
    fires, state = walked(2.5, 25.0)
    assert state.longest_above_s == pytest.approx(0.30, abs=0.08)
    assert fires > 40  # of 57 steps
    assert walked(2.5, 25.0, level_mps2=8.0)[0] == 0
    assert walked(2.5, 25.0, gravity_free=1.0)[0] == 0


def test_the_trap_of_the_tilted_board() -> None:
    """A board tilted by 7 degrees, nose-up 15 degrees, level 5: starts while carried; 8 cures it."""
    tilted = ORDINARY._replace(tilt_rad=math.radians(7.0))
    hand = HELD._replace(carry_s=30.0, carry_pitch_rad=math.radians(15.0), step_mps2=2.0, shakes=0.0)
    draws = np.random.default_rng(7).standard_normal(6000)
    fires, state = listen(hand, tilted, TRIGGER._replace(dwell_s=0.08), 30.0, draws)
    assert state.peak_mps2 == pytest.approx(5.8, abs=0.3)
    assert state.longest_above_s == pytest.approx(0.14, abs=0.05)
    assert fires > 0
    assert listen(hand, tilted, TRIGGER._replace(level_mps2=8.0, dwell_s=0.08), 30.0, draws)[0] == 0


def test_throttle_rise_in_seconds() -> None:
    """20 %/s takes 5 s to full, 25 %/s takes 4 s."""
    for rate, seconds in ((0.20, 5.0), (0.25, 4.0)):
        assert full_time(rate, 1.0) == pytest.approx(seconds)
        assert throttle_ramp(rate, 1.0, seconds) == pytest.approx(1.0)
        assert throttle_ramp(rate, 1.0, seconds - 0.1) < 1.0
    assert throttle_ramp(0.25, 0.95, 60.0) == 0.95
    assert throttle_ramp(0.25, 0.95, -1.0) == 0.0


def test_five_is_reached_by_tilt_and_by_an_easy_shake() -> None:
    """At 30.6 degrees nose-up with no motion, or by 5 cm to and fro twice a second."""
    assert math.degrees(cue.self_start_tilt(5.0, 0.0, 0.0)) == pytest.approx(30.6, abs=0.1)
    resting = HELD._replace(carry_s=2.0, carry_pitch_rad=math.radians(31.0), shakes=0.0)
    assert listen(resting, BOARD, TRIGGER, 1.0, np.zeros(600))[0] == 1
    resting = resting._replace(carry_pitch_rad=math.radians(30.0))
    assert listen(resting, BOARD, TRIGGER, 1.0, np.zeros(600))[0] == 0
    assert shaken(0.05, 2.0, 5.0)[0] > 0


def test_fifteen_is_not_reached_by_tilt_and_hardly_by_a_shake() -> None:
    """No attitude reads more than g. Of the table's shakes only the two violent ones last 0.10 s, and
    none lasts the 0.16 s that a throw passes with ease."""
    assert cue.self_start_tilt(15.0, 0.0, 0.0) == math.inf
    found = [shaken(reach, frequency, 15.0) for reach, frequency, *_ in SHAKES]
    assert [fires > 0 for fires, _ in found] == [False, False, False, True, True]
    assert max(state.longest_above_s for _, state in found) < 0.16


@pytest.mark.parametrize(
    ("mass_kg", "carried_deg", "reach_m", "level"), [(0.6, 5.0, 0.05, 5.0), (1.6, 15.0, 0.10, 8.0)]
)
def test_five_suits_a_small_wing_and_eight_a_larger_one(
    mass_kg: float, carried_deg: float, reach_m: float, level: float
) -> None:
    """A small wing is carried level and shaken lightly, a larger one is carried nose-up and needs a
    firm shake. The level must be out of reach of the carry, within the shake's and far below the
    slowest throw (a beginner's)."""
    assert walked(2.5, carried_deg, level_mps2=level)[1].peak_mps2 < 0.8 * level
    assert shaken(reach_m, 2.0, level)[0] > 0
    throw = HELD._replace(speed_mps=usual_speed(mass_kg, 0.6), stroke_m=1.2)
    assert level < 0.6 * arm.stroke_peak(throw.speed_mps, throw.stroke_m)


def test_the_small_wings_level_does_not_suit_the_larger_and_the_other_way_round() -> None:
    assert walked(2.5, 15.0, level_mps2=5.0)[1].peak_mps2 > 5.0  # carried nose-up
    assert shaken(0.05, 2.0, 8.0)[1].longest_above_s < 0.12  # shaken lightly, against a dwell of 0.12 s

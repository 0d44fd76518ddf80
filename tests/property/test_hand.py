"""Properties of the arm: its speed is the rate of its way, the order of phases, the clearing of the disc."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.physics import hand as arm
from overarm.physics.hand import Hand

hands = st.builds(
    Hand,
    speed_mps=st.floats(3.0, 12.0),
    path_rad=st.floats(-0.2, 0.5),
    pitch_rad=st.floats(-0.3, 0.6),
    bank_rad=st.just(0.0),
    heading_rad=st.just(0.0),
    height_m=st.just(1.8),
    stroke_m=st.floats(0.8, 1.8),
    windup_m=st.floats(0.0, 0.8),
    windup_s=st.floats(0.2, 0.8),
    roll_rate_radps=st.just(0.0),
    pitch_rate_radps=st.just(0.0),
    yaw_rate_radps=st.just(0.0),
    hand_deceleration_mps2=st.floats(8.0, 120.0),
    hand_lag_mps=st.floats(0.0, 1.5),
    grip_to_disc_m=st.floats(0.0, 0.6),
    clear_margin_m=st.just(0.05),
    carry_s=st.floats(0.0, 3.0),
    carry_pitch_rad=st.floats(-0.3, 0.6),
    step_mps2=st.floats(0.0, 3.0),
    step_hz=st.floats(1.0, 2.5),
    shake_m=st.floats(0.02, 0.2),
    shake_hz=st.floats(1.5, 4.0),
    shakes=st.integers(0, 4).map(float),
    hold_s=st.floats(0.0, 2.0),
    spin_in_hand=st.just(0.0),
)
many = settings(max_examples=150, deadline=None)
STEP_S = 1e-5


@many
@given(hands, st.floats(0.0, 1.0))
def test_motion_is_consistent(hand: Hand, share: float) -> None:
    """Away from the joints, differences of the way give the speed, of the speed the acceleration."""
    start = arm.planned_throw_start(hand)
    time = share * arm.release_time(hand, start)
    before, now, after = (arm.hand_motion(hand, time + k * STEP_S, start) for k in (-1.0, 0.0, 1.0))
    if not before.phase == now.phase == after.phase:
        return
    assert (after.distance_m - before.distance_m) / (2.0 * STEP_S) == pytest.approx(now.speed_mps, abs=1e-4)
    rise = (after.speed_mps - before.speed_mps) / (2.0 * STEP_S)
    assert rise == pytest.approx(now.acceleration_mps2, abs=1e-3)
    turn = (after.pitch_rad - before.pitch_rad) / (2.0 * STEP_S)
    assert turn == pytest.approx(now.pitch_rate_radps, abs=1e-4)


@many
@given(hands)
def test_no_jumps_at_the_joints(hand: Hand) -> None:
    start = arm.planned_throw_start(hand)
    joints = (hand.carry_s, arm.shake_end(hand), start, arm.stroke_start(hand, start))
    for joint in (*joints, arm.release_time(hand, start)):
        if joint < STEP_S:
            continue
        before, after = (arm.hand_motion(hand, joint + k * STEP_S, start) for k in (-1.0, 1.0))
        assert after.distance_m == pytest.approx(before.distance_m, abs=5e-4)
        assert after.speed_mps == pytest.approx(before.speed_mps, abs=5e-3)
        assert after.pitch_rad == pytest.approx(before.pitch_rad, abs=1e-4)
        assert after.phase >= before.phase


@many
@given(hands)
def test_release_is_what_was_asked_for(hand: Hand) -> None:
    start = arm.planned_throw_start(hand)
    end = arm.hand_motion(hand, arm.release_time(hand, start) + 1e-9, start)
    assert end.phase == arm.PHASE_RELEASED
    assert end.speed_mps == pytest.approx(hand.speed_mps)
    assert end.pitch_rad == pytest.approx(hand.pitch_rad)
    assert end.distance_m == pytest.approx(hand.stroke_m - hand.windup_m, abs=1e-6)


@many
@given(hands)
def test_clear_time_closes_the_gap(hand: Hand) -> None:
    time = arm.clear_time(hand)
    assert time > 0.0
    assert arm.hand_gap(hand, hand.speed_mps * time, time) == pytest.approx(0.0, abs=1e-9)
    sooner = 0.9 * time
    assert arm.hand_gap(hand, hand.speed_mps * sooner, sooner) > 0.0


@many
@given(hands, st.floats(1.01, 3.0))
def test_clear_time_trends(hand: Hand, factor: float) -> None:
    """A quicker stop clears sooner, a longer boom later."""
    time = arm.clear_time(hand)
    quick = hand._replace(hand_deceleration_mps2=hand.hand_deceleration_mps2 * factor)
    long = hand._replace(grip_to_disc_m=hand.grip_to_disc_m * factor + 0.01)
    assert arm.clear_time(quick) <= time
    assert arm.clear_time(long) > time


@many
@given(hands, st.floats(0.0, 2.0), st.floats(0.0, 1.0))
def test_the_hand_never_goes_back(hand: Hand, time: float, more: float) -> None:
    early, late = arm.clear_travel(hand, time), arm.clear_travel(hand, time + more)
    assert 0.0 <= early <= late + 1e-12
    assert late <= hand.speed_mps**2 / (2.0 * hand.hand_deceleration_mps2) + 1e-12


@many
@given(hands)
def test_stroke_peak_and_time(hand: Hand) -> None:
    middle = arm.stroke_motion(hand, 0.5 * arm.stroke_time(hand))
    assert middle.acceleration_mps2 == pytest.approx(arm.stroke_peak(hand.speed_mps, hand.stroke_m))
    assert middle.speed_mps == pytest.approx(0.5 * hand.speed_mps)
    assert math.isclose(arm.stroke_time(hand) * hand.speed_mps, 2.0 * hand.stroke_m)

"""The trigger's five families, sample by sample, on signals whose answer can be counted by hand."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest

from overarm.physics import trigger as cue
from overarm.physics.trigger import CueState, Trigger

STEP_S = 0.01
G_MPS2 = 9.80665
RAW = Trigger(
    level_mps2=8.0, dwell_s=0.10, jerks=1.0, gravity_free=0.0, speed_gate_mps=0.0, speed_window_s=1.0,
    pitch_low_rad=-2.0, pitch_high_rad=2.0, bank_limit_rad=4.0, still_s=0.0,
)  # fmt: skip

Sample = tuple[float, float, float, float, float]  # metric, pitch, bank, speed, still


def sample(
    metric: float = 0.0, pitch: float = 0.0, bank: float = 0.0, speed: float = 0.0, still: float = 0.0
) -> Sample:
    return metric, pitch, bank, speed, still


def over(seconds: float, metric: float = 9.0) -> list[Sample]:
    return [sample(metric)] * round(seconds / STEP_S)


def under(seconds: float) -> list[Sample]:
    return over(seconds, 0.0)


def first_fire(trigger: Trigger, samples: Iterable[Sample]) -> tuple[int | None, CueState]:
    """Return (number of the sample, from 1, that fires or None, last state)."""
    state, found = cue.cue_start(), None
    for number, values in enumerate(samples, start=1):
        state, fired = cue.cue_step(trigger, state, *values, STEP_S)
        if fired > 0.5 and found is None:
            found = number
    return found, state


# 1. raw level and dwell


def test_fires_at_the_tenth_sample_of_a_tenth_of_a_second() -> None:
    found, _ = first_fire(RAW, [*under(0.05), *over(0.3)])
    assert found == 5 + 10


def test_nine_samples_are_a_nudge() -> None:
    found, state = first_fire(RAW, [*over(0.09), *under(0.01), *over(0.09), *under(0.05)])
    assert found is None
    assert state.nudges == 2.0
    assert state.longest_above_s == pytest.approx(0.09)
    assert state.peak_mps2 == 9.0


def test_the_level_itself_is_not_over() -> None:
    assert first_fire(RAW, over(1.0, metric=8.0))[0] is None


def test_one_sample_below_starts_the_dwell_again() -> None:
    found, _ = first_fire(RAW, [*over(0.09), *under(0.01), *over(0.2)])
    assert found == 10 + 10


def test_no_dwell_fires_at_once() -> None:
    found, state = first_fire(RAW._replace(dwell_s=0.0), [*under(0.03), *over(0.01), *under(0.02)])
    assert found == 4
    assert state.nudges == 0.0


def test_a_dwell_counts_whole_samples() -> None:
    """0.10 s at 30 samples a second is reached by the third of 33 ms, not by rounding."""
    state = cue.cue_start()
    fired = []
    for _ in range(4):
        state, yes = cue.cue_step(RAW, state, 9.0, 0.0, 0.0, 0.0, 0.0, 1.0 / 30.0)
        fired.append(yes)
    assert fired[:3] == [0.0, 0.0, 1.0]


# 2. gravity taken off


def test_gravity_free_metric() -> None:
    """Held 60 degrees nose-up at rest the raw metric is over 8 m/s2, the other is zero."""
    pitch = math.radians(60.0)
    reading = G_MPS2 * math.sin(pitch)
    assert cue.jerk_metric(RAW, reading, pitch) == pytest.approx(8.493, abs=1e-3)
    free = RAW._replace(gravity_free=1.0)
    assert cue.jerk_metric(free, reading, pitch) == pytest.approx(0.0, abs=1e-12)
    assert cue.jerk_metric(free, reading, 0.0) == pytest.approx(reading)


# 3. level, then speed


def test_speed_gate() -> None:
    gated = RAW._replace(speed_gate_mps=7.0, speed_window_s=0.5)
    pull = over(0.10)
    slow = [sample(speed=3.0)] * 20
    fast = [sample(speed=7.0)] * 20
    assert first_fire(gated, [*pull, *slow, *fast])[0] == 10 + 20 + 1
    assert first_fire(gated, [*pull, *slow, *slow, *slow, *fast])[0] is None  # the window is over
    assert first_fire(gated, [*fast, *slow])[0] is None  # speed without a jerk


def test_the_window_ends_where_it_says() -> None:
    gated = RAW._replace(speed_gate_mps=7.0, speed_window_s=0.5)
    just = [*over(0.10), *[sample(speed=3.0)] * 49, sample(speed=9.0)]
    late = [*over(0.10), *[sample(speed=3.0)] * 50, sample(speed=9.0)]
    assert first_fire(gated, just)[0] == 60
    assert first_fire(gated, late)[0] is None


def test_a_long_pull_keeps_the_window_open() -> None:
    gated = RAW._replace(speed_gate_mps=7.0, speed_window_s=0.2)
    pulled = [sample(9.0, speed=i * 0.1) for i in range(80)]
    assert first_fire(gated, pulled)[0] == 71


# 4. windows


def test_pose_window() -> None:
    posed = RAW._replace(
        pitch_low_rad=math.radians(-10.0),
        pitch_high_rad=math.radians(45.0),
        bank_limit_rad=math.radians(30.0),
    )
    for pitch_deg, bank_deg, fires in (
        (0, 0, 1),
        (44, -29, 1),
        (46, 0, 0),
        (-11, 0, 0),
        (0, 31, 0),
        (0, -31, 0),
    ):
        held = [sample(9.0, math.radians(pitch_deg), math.radians(bank_deg))] * 20
        assert (first_fire(posed, held)[0] is not None) == bool(fires), (pitch_deg, bank_deg)


def test_pose_may_come_right_while_the_jerk_lasts() -> None:
    posed = RAW._replace(bank_limit_rad=0.5)
    samples = [*[sample(9.0, bank=0.6)] * 15, *[sample(9.0, bank=0.4)] * 5]
    assert first_fire(posed, samples)[0] == 16


def test_still_before() -> None:
    rested = RAW._replace(still_s=2.0)
    rest = [sample(still=1.0)] * 200
    assert first_fire(rested, [*rest, *under(0.5), *over(0.2)])[0] == 200 + 50 + 10
    assert first_fire(rested, [*rest[:-1], *under(0.5), *over(0.2)])[0] is None  # a sample short
    assert first_fire(rested, [*rest, *under(2.5), *over(0.2)])[0] is None  # walked on for too long


def test_what_counts_as_still() -> None:
    assert cue.is_still(1.7, 0.0, -9.66, (0.05, 0.0, 0.1)) == 1.0
    assert cue.is_still(4.0, 0.0, -9.66, (0.0, 0.0, 0.0)) == 1.0  # 10.46 in all
    assert cue.is_still(6.0, 0.0, -9.66, (0.0, 0.0, 0.0)) == 0.0
    assert cue.is_still(0.0, 0.0, -9.8, (0.0, 0.3, 0.0)) == 0.0


# 5. two jerks


@pytest.mark.parametrize(
    ("apart_s", "fires"), [(0.25, False), (0.30, True), (0.60, True), (1.20, True), (1.25, False)]
)
def test_two_jerks(apart_s: float, fires: bool) -> None:
    """The time is from one completed jerk to the next: 0.3 to 1.2 s."""
    double = RAW._replace(jerks=2.0)
    found, _ = first_fire(double, [*over(0.12), *under(apart_s - 0.12), *over(0.12)])
    assert found == (10 + round(apart_s / STEP_S) if fires else None)


def test_one_long_jerk_is_not_two() -> None:
    assert first_fire(RAW._replace(jerks=2.0), over(3.0))[0] is None


def test_a_late_second_jerk_is_a_new_first() -> None:
    double = RAW._replace(jerks=2.0)
    found, _ = first_fire(double, [*over(0.12), *under(1.5), *over(0.12), *under(0.4), *over(0.12)])
    assert found == 12 + 150 + 12 + 40 + 10


# closed forms


@pytest.mark.parametrize(
    ("amplitude", "frequency_hz", "level"), [(7.9, 2.0, 3.3), (24.7, 2.5, 6.3), (10.0, 3.0, -2.0)]
)
def test_time_above_against_counting(amplitude: float, frequency_hz: float, level: float) -> None:
    count = 100_000
    swing = (amplitude * math.sin(2.0 * math.pi * i / count) for i in range(count))
    counted = sum(value > level for value in swing) / count / frequency_hz
    assert cue.time_above(amplitude, frequency_hz, level) == pytest.approx(counted, abs=2e-5)


def test_time_above_at_its_ends() -> None:
    assert cue.time_above(5.0, 2.0, 6.0) == 0.0
    assert cue.time_above(5.0, 2.0, -6.0) == pytest.approx(0.5)
    assert cue.time_above(1e6, 2.5, 5.0) < 0.2  # never longer than half a period


@pytest.mark.parametrize(
    ("level", "tilt_deg", "angle_deg"), [(5.0, 0.0, 30.65), (8.0, 0.0, 54.66), (5.0, 7.0, 23.65)]
)
def test_self_start_tilt(level: float, tilt_deg: float, angle_deg: float) -> None:
    """arcsin(5/9.80665) by hand; a board tilted by 7 degrees starts at 24 degrees nose-up."""
    found = cue.self_start_tilt(level, math.radians(tilt_deg), 0.0)
    assert math.degrees(found) == pytest.approx(angle_deg, abs=0.01)
    biased = cue.self_start_tilt(level + 0.3, math.radians(tilt_deg), 0.3)
    assert biased == pytest.approx(found, abs=1e-12)


def test_no_attitude_reaches_more_than_gravity() -> None:
    assert cue.self_start_tilt(15.0, 0.1, 0.0) == math.inf

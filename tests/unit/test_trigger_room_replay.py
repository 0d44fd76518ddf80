"""Replay of recordings made by hand: every answer here can be counted on the fingers or in a plain loop."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest

from overarm.physics.trigger import Trigger, cue_start, cue_step
from overarm.recordings.recording import Channel, Recording
from overarm.recordings.replay import Replay, replay
from tests.recorded import G_MPS2, RAW, recorded, sampled


def run(recording: Recording, trigger: Trigger = RAW, filter_hz: float = 0.0, **window: float) -> Replay:
    whole = {"from_s": recording.from_s, "to_s": recording.to_s} | window
    return replay(recording, trigger, filter_hz=filter_hz, **whole)


def pulses(*spans: tuple[float, float], rate_hz: float = 100.0, until_s: float = 10.0) -> Recording:
    """Return a recording that reads 20 m/s2 in each span (from, to) and 0 between them."""
    t_s = np.arange(round(until_s * rate_hz)) / rate_hz
    values = np.zeros(t_s.size)
    for low, high in spans:
        values[(t_s >= low - 1e-9) & (t_s < high - 1e-9)] = 20.0
    return recorded(force_x_mps2=sampled(t_s, values))


def test_it_fires_at_the_tenth_sample_of_a_tenth_of_a_second() -> None:
    found = run(pulses((2.0, 2.5)))
    assert found.fired_s == pytest.approx((2.09,))
    assert found.peak_mps2 == 20.0
    assert found.longest_above_s == pytest.approx(0.5)
    assert (found.nudges, found.rate_hz, found.tells, found.why) == (0, pytest.approx(100.0), "yes", "")


def test_nudges_are_counted_and_do_not_fire() -> None:
    found = run(pulses((1.0, 1.05), (2.0, 2.09), (3.0, 3.04)))
    assert (found.fired_s, found.nudges) == ((), 3)
    assert found.longest_above_s == pytest.approx(0.09)


def test_it_listens_again_after_a_second_under_the_level() -> None:
    # 0.9 s apart counts as one start, 1.1 s as two; what keeps coming within a second is one start too.
    assert len(run(pulses((1.0, 1.3), (2.2, 2.5))).fired_s) == 1
    assert len(run(pulses((1.0, 1.3), (2.4, 2.7))).fired_s) == 2
    assert len(run(pulses((1.0, 1.3), (2.0, 2.3), (3.0, 3.3), (4.0, 4.3))).fired_s) == 1
    # A nudge after a start keeps it from listening, too.
    assert len(run(pulses((1.0, 1.3), (2.1, 2.12), (2.8, 3.1))).fired_s) == 1


def test_only_the_window_counts_but_the_filter_runs_before_it() -> None:
    recording = pulses((1.0, 1.3), (5.0, 5.3))
    assert run(recording, from_s=3.0).fired_s == pytest.approx((5.09,))
    assert run(recording, to_s=3.0).fired_s == pytest.approx((1.09,))
    late = run(recording, filter_hz=1.0, from_s=1.3)
    assert late.metric.values[0] > 10.0  # what is left of the pulse behind the filter


def test_the_filter_is_the_textbook_first_order_low_pass() -> None:
    """A step seen through a low pass of 2 Hz: 1 - exp(-2 pi f t), e.g. K. Ogata (2010), Modern Control
    Engineering, section 5-2."""
    recording = pulses((1.0, 5.0))
    found = run(recording, filter_hz=2.0)
    since = found.metric.t_s[100:200] - 1.0 + 0.01
    expected = 20.0 * (1.0 - np.exp(-2.0 * math.pi * 2.0 * since))
    assert found.metric.values[100:200] == pytest.approx(expected, abs=1e-6)


def test_nothing_goes_across_a_break() -> None:
    t_s = np.concatenate([np.arange(0, 206) / 100.0, 7.0 + np.arange(0, 100) / 100.0])
    values = np.where((t_s >= 1.999) & (t_s < 7.045), 20.0, 0.0)  # 6 samples before the hole, 5 behind it
    found = run(recorded(force_x_mps2=sampled(t_s, values)))
    # Nobody knows how long the one that the hole cut off went on: it is no nudge.
    assert (found.fired_s, found.nudges) == ((), 1)
    assert found.longest_above_s == pytest.approx(0.06)
    whole = pulses((2.0, 2.11))
    cut = recorded(force_x_mps2=whole.channels["force_x_mps2"], breaks_s=(2.05,))
    assert len(run(whole).fired_s) == 1
    assert run(cut).fired_s == ()


@pytest.mark.parametrize(
    ("rate_hz", "tells", "words"),
    [(100.0, "yes", ""), (50.0, "yes", ""), (40.0, "coarse", "25 ms"), (25.0, "coarse", "40 ms"),
     (10.0, "cannot tell", "10 samples a second")],
)  # fmt: skip
def test_slow_recordings_say_so(rate_hz: float, tells: str, words: str) -> None:
    found = run(pulses((2.0, 3.0), rate_hz=rate_hz))
    assert found.tells == tells
    assert words in found.why
    assert len(found.fired_s) == 1  # the samples are counted all the same


def test_no_forward_acceleration_and_no_sample() -> None:
    nothing = run(recorded(pitch_rad=sampled(np.arange(3.0), np.zeros(3))))
    assert (nothing.tells, nothing.fired_s, nothing.peak_mps2) == ("cannot tell", (), 0.0)
    assert "no forward acceleration" in nothing.why
    outside = run(pulses((1.0, 2.0)), from_s=50.0, to_s=60.0)
    assert (outside.tells, outside.peak_mps2) == ("cannot tell", 0.0)
    assert "no sample between 50.00 and 60.00" in outside.why


def tilted(pitch_deg: float, *, felt: bool = True, pitch: bool = True) -> Recording:
    """Return 5 s at rest, nose-up, with or without gravity and pitch in it."""
    t_s = np.arange(500) / 100.0
    angle = math.radians(pitch_deg)
    given: dict[str, Channel] = {
        "force_x_mps2": sampled(t_s, np.full(500, G_MPS2 * math.sin(angle) if felt else 0.0)),
        "force_y_mps2": sampled(t_s, np.zeros(500)),
        "force_z_mps2": sampled(t_s, np.full(500, -G_MPS2 * math.cos(angle) if felt else 0.0)),
    }
    if pitch:
        given["pitch_rad"] = sampled(t_s, np.full(500, angle))
    return recorded(**given, gravity_felt=felt)


def test_tilt_is_felt_by_the_raw_cue_and_not_by_the_other() -> None:
    """5 m/s2 is reached at 30.6 degrees nose-up, by arcsin(5/9.80665)."""
    raw, free = RAW._replace(level_mps2=5.0), RAW._replace(level_mps2=5.0, gravity_free=1.0)
    for with_pitch in (True, False):  # recorded, or estimated from the accelerometers
        assert len(run(tilted(31.0, pitch=with_pitch), raw).fired_s) == 1
        assert run(tilted(30.0, pitch=with_pitch), raw).fired_s == ()
        assert run(tilted(80.0, pitch=with_pitch), free).peak_mps2 == pytest.approx(0.0, abs=1e-6)
    assert "accelerometers alone" in run(tilted(20.0, pitch=False), free).why


def test_gravity_that_was_taken_off_is_put_back_if_the_pitch_is_known() -> None:
    raw = RAW._replace(level_mps2=5.0)
    back = run(tilted(31.0, felt=False), raw)
    assert len(back.fired_s) == 1
    assert "put back" in back.why
    lost = run(tilted(31.0, felt=False, pitch=False), raw)
    assert (lost.fired_s, lost.tells) == ((), "yes")
    assert "tilt is not in it" in lost.why
    assert run(tilted(31.0, felt=False), raw._replace(gravity_free=1.0)).peak_mps2 == 0.0


def family(recording: Recording, **channels: Channel) -> Recording:
    return recorded(**{**recording.channels, **channels})


def level_pose(recording: Recording, pitch_deg: float) -> Mapping[str, Channel]:
    t_s = recording.channels["force_x_mps2"].t_s
    return {
        "pitch_rad": sampled(t_s, np.full(t_s.size, math.radians(pitch_deg))),
        "bank_rad": sampled(t_s, np.zeros(t_s.size)),
    }


def test_the_speed_gate_uses_the_last_speed_that_was_reported() -> None:
    gate = RAW._replace(speed_gate_mps=6.0, speed_window_s=1.0)
    jerk = pulses((2.0, 2.3))
    fixes = np.array([0.0, 2.0, 2.5, 3.0])
    fast = family(jerk, ground_speed_mps=Channel(fixes, np.array([0.0, 5.0, 7.0, 7.0]), "made"))
    assert run(fast, gate).fired_s == pytest.approx((2.5,))
    slow = family(jerk, ground_speed_mps=Channel(fixes, np.array([0.0, 5.0, 5.0, 5.0]), "made"))
    assert run(slow, gate).fired_s == ()
    unknown = run(jerk, gate)
    assert (unknown.fired_s, unknown.tells) == (pytest.approx((2.09,)), "cannot tell")
    assert "no ground speed" in unknown.why


def test_the_pose_window_and_the_still_time() -> None:
    window = RAW._replace(pitch_low_rad=math.radians(-10.0), pitch_high_rad=math.radians(45.0))
    jerk = pulses((2.0, 2.3))
    assert len(run(family(jerk, **level_pose(jerk, 20.0)), window).fired_s) == 1
    assert run(family(jerk, **level_pose(jerk, 50.0)), window).fired_s == ()
    assert "pose window was left out" in run(jerk, window).why
    t_s = jerk.channels["force_x_mps2"].t_s
    rest = {"force_y_mps2": sampled(t_s, np.zeros(t_s.size)),
            "force_z_mps2": sampled(t_s, np.full(t_s.size, -G_MPS2))}  # fmt: skip
    still = RAW._replace(still_s=1.5)
    assert len(run(family(jerk, **rest), still).fired_s) == 1  # 2 s of rest came before
    assert run(family(pulses((1.0, 1.3)), **rest), still).fired_s == ()  # only 1 s
    assert "still time was left out" in run(jerk, still).why


def test_two_jerks() -> None:
    twice = RAW._replace(jerks=2.0)
    assert run(pulses((2.0, 2.2)), twice).fired_s == ()
    assert run(pulses((2.0, 2.2), (2.6, 2.8)), twice).fired_s == pytest.approx((2.69,))
    assert run(pulses((2.0, 2.2), (3.6, 3.8)), twice).fired_s == ()


@pytest.mark.parametrize("seed", range(5))
def test_a_noisy_recording_agrees_with_a_plain_loop_of_the_logic(seed: int) -> None:
    draws = np.random.default_rng(seed)
    t_s = np.cumsum(draws.uniform(0.008, 0.013, 1500))
    values = np.convolve(draws.normal(0.0, 25.0, 1507), np.ones(8) / 8.0, mode="valid")
    state, held, under, expected = cue_start(), False, 0.0, []
    step = np.diff(t_s, prepend=t_s[0] - float(np.median(np.diff(t_s))))
    for t, value, dt in zip(t_s, values, step, strict=True):
        if held:
            under = 0.0 if value > RAW.level_mps2 else under + dt
            held = under < 1.0 - 1e-9
            state = cue_start()
            continue
        state, fired = cue_step(RAW, state, value, 0.0, 0.0, 0.0, 0.0, dt)
        if fired > 0.5:
            expected.append(t)
            held, under = True, 0.0
    assert run(recorded(force_x_mps2=sampled(t_s, values))).fired_s == pytest.approx(tuple(expected))
    assert expected

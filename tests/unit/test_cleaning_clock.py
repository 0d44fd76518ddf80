"""Wild clocks, doubled samples, gaps and jitter: found with count and time, and mended as said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from overarm.recordings.cleaning import clean
from overarm.recordings.recording import Note, Recording
from tests.mending import Numbers, found, recording

FAST_S = np.arange(0.0, 200.0, 0.01)
SLOW_S = np.arange(0.003, 200.0, 0.2)
RNG = np.random.default_rng(3)
FORCE, SPEED = RNG.normal(size=FAST_S.size), 5.0 + RNG.random(SLOW_S.size)


def _timed(fast_s: Numbers, slow_s: Numbers) -> Recording:
    return recording({"force_x_mps2": (fast_s, FORCE), "ground_speed_mps": (slow_s, SPEED)})


def _rise(whole: Recording) -> None:
    for channel in whole.channels.values():
        assert (np.diff(channel.t_s) > 0.0).all()


@pytest.mark.parametrize(
    ("span_s", "name"), [(2**16 * 1e-3, "16-bit counter of milliseconds"), (2**16 * 1e-6, "microseconds")]
)
def test_a_full_counter_is_counted_on_to_the_millisecond(span_s: float, name: str) -> None:
    slow_s = np.mod(SLOW_S, span_s) if span_s > 1.0 else SLOW_S
    cleaned = clean(_timed(np.mod(FAST_S, span_s), slow_s))
    assert [repair.defect for repair in cleaned.repairs] == ["rollover"]
    repair = cleaned.repairs[0]
    assert repair.times == int(FAST_S[-1] // span_s)
    assert repair.word == "good"
    assert name in repair.sentence
    assert np.abs(cleaned.channels["force_x_mps2"].t_s - FAST_S).max() < 1e-9
    assert np.abs(cleaned.channels["ground_speed_mps"].t_s - SLOW_S).max() < 1e-9
    assert cleaned.breaks_s == ()


@pytest.mark.parametrize("span_s", [2**32 * 1e-6, 86400.0, 604800.0, 2**32 * 1e-3])
def test_a_long_counter_that_is_full_in_the_middle_is_counted_on(span_s: float) -> None:
    begin_s = span_s - 50.0
    cleaned = clean(_timed(np.mod(FAST_S + begin_s, span_s), np.mod(SLOW_S + begin_s, span_s)))
    assert [(repair.defect, repair.times) for repair in cleaned.repairs] == [("rollover", 1)]
    assert cleaned.repairs[0].from_s == pytest.approx(span_s, abs=0.011)
    assert np.abs(cleaned.channels["force_x_mps2"].t_s - FAST_S - begin_s).max() < 1e-6
    assert np.abs(cleaned.channels["ground_speed_mps"].t_s - SLOW_S - begin_s).max() < 1e-6


def test_parts_after_restarts_follow_each_other_with_a_break() -> None:
    def off(t_s: Numbers) -> Numbers:
        return np.where(t_s > 150.0, t_s - 149.0, np.where(t_s > 50.0, t_s - 49.0, t_s))

    whole = _timed(off(FAST_S), off(SLOW_S))
    notes = (Note(10.0, "one"), Note(2.0, "two"), Note(1.5, "three"))
    cleaned = clean(replace(whole, notes=notes))
    assert [(repair.defect, repair.times) for repair in cleaned.repairs] == [("restart", 2)]
    assert np.allclose(cleaned.breaks_s, [50.0, 150.0], atol=0.05)
    assert cleaned.repairs[0].from_s == cleaned.breaks_s[0]
    _rise(cleaned)
    # Both channels are moved alike, and every value is where it was but for the unknown pause.
    for name, t_s in (("force_x_mps2", FAST_S), ("ground_speed_mps", SLOW_S)):
        moved = cleaned.channels[name].t_s - t_s
        assert np.abs(moved).max() < 0.05
        assert np.ptp(moved[t_s < 50.0]) == 0.0
    assert [round(note.t_s, 1) for note in cleaned.notes] == [10.0, 51.0, 150.5]


def test_a_step_back_is_a_jump() -> None:
    whole = _timed(
        np.where(FAST_S > 50.0, FAST_S - 10.0, FAST_S), np.where(SLOW_S > 50.0, SLOW_S - 10.0, SLOW_S)
    )
    assert [(repair.times, round(repair.from_s)) for repair in found(whole, "clock jump")] == [(1, 50)]
    _rise(clean(whole))


def test_a_clock_that_is_set_to_the_date_is_closed_up() -> None:
    late = 1.7e9
    whole = _timed(
        np.where(FAST_S > 50.0, FAST_S + late, FAST_S), np.where(SLOW_S > 50.0, SLOW_S + late, SLOW_S)
    )
    assert [(repair.times, round(repair.from_s)) for repair in found(whole, "clock jump")] == [(1, 50)]
    cleaned = clean(whole)
    assert np.abs(cleaned.channels["force_x_mps2"].t_s - FAST_S).max() < 0.05
    assert len(cleaned.breaks_s) == 1


def test_an_hour_ahead_is_told_and_left() -> None:
    whole = _timed(FAST_S + 3600.0 * (FAST_S > 50.0), SLOW_S + 3600.0 * (SLOW_S > 50.0))
    jumps = found(whole, "clock jump")
    assert {repair.channel for repair in jumps} == {"force_x_mps2", "ground_speed_mps"}
    assert not found(whole, "gap")
    assert clean(whole).breaks_s == pytest.approx([50.0 + 1800.0], abs=0.1)


def test_single_samples_out_of_order_are_left_out() -> None:
    times = FAST_S.copy()
    times[3000] += 100.0
    times[7000] -= 3.0
    repairs = found(_timed(times, SLOW_S), "clock jump")
    assert [(repair.channel, repair.times, repair.word) for repair in repairs] == [
        ("force_x_mps2", 2, "watch")
    ]
    assert (repairs[0].from_s, repairs[0].to_s) == pytest.approx((29.99, 69.99))
    kept = clean(_timed(times, SLOW_S)).channels["force_x_mps2"]
    assert np.array_equal(kept.values, np.delete(FORCE, [3000, 7000]))


def test_a_clock_that_runs_wild_is_a_stop() -> None:
    whole = _timed(RNG.permutation(FAST_S), SLOW_S)
    assert "stop" in {repair.word for repair in found(whole, "clock jump")}
    _rise(clean(whole))


def test_of_doubled_samples_the_first_stays_and_unlike_ones_are_counted() -> None:
    at = np.sort(np.concatenate((np.arange(FAST_S.size), [100, 200, 200])))
    values = FORCE[at]
    values[101] += 1.0  # the second of the two at 1.00 s
    whole = recording({"force_x_mps2": (FAST_S[at], values), "pitch_rad": (FAST_S[at], 0.01 * FORCE[at])})
    cleaned = clean(whole)
    assert np.array_equal(cleaned.channels["force_x_mps2"].values, FORCE)
    (repair,) = cleaned.repairs
    assert (repair.defect, repair.channel, repair.times, repair.word) == ("duplicate", "", 3, "watch")
    assert (repair.from_s, repair.to_s) == pytest.approx((1.0, 2.0))
    assert "1 of them held other values" in repair.sentence


def test_doubled_samples_that_agree_are_mended_without_loss() -> None:
    at = np.sort(np.concatenate((np.arange(FAST_S.size), [100])))
    (repair,) = found(recording({"force_x_mps2": (FAST_S[at], FORCE[at])}), "duplicate")
    assert repair.word == "good"


def test_gaps_are_listed_with_their_total_and_long_ones_break_the_forces() -> None:
    keep = ~((FAST_S > 20.0) & (FAST_S < 20.1)) & ~((FAST_S > 60.0) & (FAST_S < 61.0))
    whole = recording({"force_x_mps2": (FAST_S[keep], FORCE[keep]), "ground_speed_mps": (SLOW_S, SPEED)})
    (repair,) = found(whole, "gap")
    assert (repair.channel, repair.times) == ("force_x_mps2", 2)
    assert (repair.from_s, repair.to_s) == pytest.approx((20.0, 61.0), abs=0.02)
    assert "1.08 s are missing in all" in repair.sentence  # 9 and 99 samples of 10 ms
    assert clean(whole).breaks_s == pytest.approx([60.5], abs=0.01)
    assert np.array_equal(clean(whole).channels["force_x_mps2"].values, FORCE[keep])


def test_a_gap_of_the_satellite_breaks_nothing() -> None:
    keep = (SLOW_S < 50.0) | (SLOW_S > 60.0)
    whole = recording({"force_x_mps2": (FAST_S, FORCE), "ground_speed_mps": (SLOW_S[keep], SPEED[keep])})
    assert [repair.channel for repair in found(whole, "gap")] == ["ground_speed_mps"]
    assert clean(whole).breaks_s == ()


def test_jitter_is_told_and_left() -> None:
    uneven = FAST_S + RNG.uniform(-0.004, 0.004, FAST_S.size)
    (repair,) = found(_timed(uneven, SLOW_S), "jitter")
    assert (repair.channel, repair.word) == ("force_x_mps2", "watch")
    assert np.array_equal(clean(_timed(uneven, SLOW_S)).channels["force_x_mps2"].t_s, uneven)


@pytest.mark.parametrize("rate_hz", [25.0, 60.0, 400.0])
def test_times_in_whole_milliseconds_are_no_jitter(rate_hz: float) -> None:
    t_s = np.round(np.arange(0.0, 20.0, 1.0 / rate_hz), 3)
    whole = recording({"force_x_mps2": (t_s, RNG.normal(size=t_s.size))})
    assert clean(whole) is whole

"""Properties of the trigger: equal to a plain reading of its rules, and monotone in its settings."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.physics import trigger as cue
from overarm.physics.trigger import Trigger

RATE_HZ = 100.0
RAW = Trigger(
    level_mps2=8.0, dwell_s=0.05, jerks=1.0, gravity_free=0.0, speed_gate_mps=0.0, speed_window_s=1.0,
    pitch_low_rad=-2.0, pitch_high_rad=2.0, bank_limit_rad=4.0, still_s=0.0,
)  # fmt: skip

# Runs of constant metric make excursions of all lengths.
runs = st.lists(st.tuples(st.floats(-10.0, 30.0), st.integers(1, 25)), min_size=1, max_size=14)
levels = st.floats(1.0, 20.0)
dwells = st.integers(0, 20).map(lambda count: count / RATE_HZ)


def unroll(found: list[tuple[float, int]]) -> list[float]:
    return [value for value, count in found for _ in range(count)]


def fires(trigger: Trigger, metrics: list[float], speeds: list[float] | None = None) -> list[int]:
    """Return the numbers of all samples at which the trigger fires."""
    state, found = cue.cue_start(), []
    for number, metric in enumerate(metrics):
        speed = speeds[number] if speeds else 0.0
        state, fired = cue.cue_step(trigger, state, metric, 0.0, 0.0, speed, 0.0, 1.0 / RATE_HZ)
        if fired > 0.5:
            found.append(number)
    return found


def complete(metrics: list[float], level: float, dwell_s: float) -> list[int]:
    """Return the samples at which the last samples, as many as the dwell needs, are all over."""
    need = max(1, math.ceil(dwell_s * RATE_HZ - 1e-6))
    return [
        number
        for number in range(need - 1, len(metrics))
        if all(value > level for value in metrics[number - need + 1 : number + 1])
    ]


@settings(max_examples=60, deadline=None)
@given(runs, levels, dwells)
def test_level_and_dwell_as_the_rule_reads(
    found: list[tuple[float, int]], level: float, dwell_s: float
) -> None:
    metrics = unroll(found)
    trigger = RAW._replace(level_mps2=level, dwell_s=dwell_s)
    assert fires(trigger, metrics) == complete(metrics, level, dwell_s)


@settings(max_examples=60, deadline=None)
@given(runs, levels, dwells, st.integers(1, 60), st.data())
def test_speed_gate_as_the_rule_reads(
    found: list[tuple[float, int]], level: float, dwell_s: float, window: int, data: st.DataObject
) -> None:
    metrics = unroll(found)
    speeds = data.draw(st.lists(st.floats(0.0, 12.0), min_size=len(metrics), max_size=len(metrics)))
    trigger = RAW._replace(
        level_mps2=level, dwell_s=dwell_s, speed_gate_mps=7.0, speed_window_s=window / RATE_HZ
    )
    jerks = complete(metrics, level, dwell_s)
    expected = [
        number
        for number in range(len(metrics))
        if speeds[number] >= 7.0 and any(number - window <= jerk <= number for jerk in jerks)
    ]
    assert fires(trigger, metrics, speeds) == expected


def pairs(metrics: list[float], level: float, dwell_s: float) -> list[int]:
    """Return the samples at which a second, separate jerk is complete, 0.3 to 1.2 s after a first."""
    done, first, found = complete(metrics, level, dwell_s), None, []
    for number in done:
        if first is None or number - first > 120:
            first = number
            continue
        separate = any(value <= level for value in metrics[first:number])
        if separate and number - first >= 30:
            found.append(number)
    return found


@settings(max_examples=60, deadline=None)
@given(runs, levels, dwells)
def test_pairs_as_the_rule_reads(found: list[tuple[float, int]], level: float, dwell_s: float) -> None:
    metrics = unroll(found)
    trigger = RAW._replace(level_mps2=level, dwell_s=dwell_s, jerks=2.0)
    assert fires(trigger, metrics) == pairs(metrics, level, dwell_s)


@settings(max_examples=60, deadline=None)
@given(runs, levels, dwells, st.floats(0.0, 5.0), st.integers(0, 8))
def test_stricter_never_fires_more(
    found: list[tuple[float, int]], level: float, dwell_s: float, higher: float, longer: int
) -> None:
    metrics = unroll(found)
    easy = set(fires(RAW._replace(level_mps2=level, dwell_s=dwell_s), metrics))
    strict = RAW._replace(level_mps2=level + higher, dwell_s=dwell_s + longer / RATE_HZ)
    assert set(fires(strict, metrics)) <= easy
    assert set(fires(strict._replace(jerks=2.0), metrics)) <= easy


@settings(max_examples=60, deadline=None)
@given(runs, levels, dwells)
def test_the_record_of_the_excursions(found: list[tuple[float, int]], level: float, dwell_s: float) -> None:
    """Nudges, peak and longest time over, against a split of the signal into excursions."""
    metrics = unroll(found)
    trigger = RAW._replace(level_mps2=level, dwell_s=dwell_s)
    state = cue.cue_start()
    for metric in metrics:
        state, _ = cue.cue_step(trigger, state, metric, 0.0, 0.0, 0.0, 0.0, 1.0 / RATE_HZ)
    lengths = [len(run) for run in "".join("x" if m > level else " " for m in metrics).split()]
    ended = lengths if metrics[-1] <= level else lengths[:-1]
    assert state.nudges == sum(length / RATE_HZ < dwell_s - 1e-6 for length in ended)
    assert state.peak_mps2 == max(0.0, *metrics)
    assert math.isclose(state.longest_above_s, max(lengths, default=0) / RATE_HZ, abs_tol=1e-9)


@settings(max_examples=100, deadline=None)
@given(st.floats(0.1, 60.0), st.floats(0.5, 5.0), st.floats(0.0, 30.0), st.floats(0.0, 5.0))
def test_time_above_falls_with_the_level(
    amplitude: float, frequency_hz: float, level: float, more: float
) -> None:
    low, high = (cue.time_above(amplitude, frequency_hz, value) for value in (level, level + more))
    assert 0.0 <= high <= low <= 0.5 / frequency_hz + 1e-12

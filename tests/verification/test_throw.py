"""The throw: stroke, wind-up, shake, and how the hand clears the disc."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numba
import numpy as np
import pytest
from numpy.typing import NDArray

from overarm.physics import hand as arm
from overarm.physics.hand import Hand
from overarm.physics.sensor import low_pass_share
from tests.agreement import Agrees

G_MPS2 = 9.80665
THROW = Hand(
    speed_mps=8.4, path_rad=math.radians(9.0), pitch_rad=math.radians(12.0), bank_rad=0.0, heading_rad=0.0,
    height_m=1.9, stroke_m=1.3, windup_m=0.4, windup_s=0.4, roll_rate_radps=0.0, pitch_rate_radps=0.0,
    yaw_rate_radps=0.0, hand_deceleration_mps2=35.0, hand_lag_mps=0.4, grip_to_disc_m=0.36,
    clear_margin_m=0.05, carry_s=2.0, carry_pitch_rad=math.radians(4.0), step_mps2=1.5, step_hz=1.9,
    shake_m=0.1, shake_hz=2.0, shakes=3.0, hold_s=0.5, spin_in_hand=0.0,
)  # fmt: skip
THROW_START_S = 4.0  # carry 2.0, three shakes of 0.5, hold 0.5


# Trade estimate of a standing throw with a step: speed m/s, time of the stroke s, raw peak m/s2.
@pytest.mark.parametrize(
    ("speed_mps", "stroke_m", "time_s", "peak_mps2"),
    [(6.0, 1.2, 0.40, 24.0), (8.0, 1.3, 0.33, 39.0), (10.0, 1.4, 0.28, 57.0)],
)
def test_stroke_peaks(speed_mps: float, stroke_m: float, time_s: float, peak_mps2: float) -> None:
    throw = THROW._replace(speed_mps=speed_mps, stroke_m=stroke_m)
    assert arm.stroke_time(throw) == pytest.approx(time_s, abs=0.006)
    assert arm.stroke_peak(throw.speed_mps, throw.stroke_m) == pytest.approx(peak_mps2, rel=0.03)


def test_stroke_against_even_acceleration(agrees: Agrees) -> None:
    """10 m/s over 1.5 m takes 0.300 s at an even 33.333 m/s2 (v = a t, s = a t^2/2). A half sine of
    the same mean takes as long and peaks pi/2 higher."""
    throw = THROW._replace(speed_mps=10.0, stroke_m=1.5)
    agrees(
        "time of 10 m/s over 1.5 m [s]", "v = a t, worked by hand", arm.stroke_time(throw), 0.300, abs=1e-9
    )
    agrees(
        "its peak [m/s2]",
        "v = a t, worked by hand",
        arm.stroke_peak(throw.speed_mps, throw.stroke_m),
        0.5 * math.pi * 33.3333,
        rel=1e-5,
    )


def test_reversal_of_the_windup() -> None:
    """Drawing the arm back and stopping it feels like 8 to 15 m/s2 forward (engineering estimate)."""
    end = arm.hand_motion(THROW, THROW_START_S + THROW.windup_s - 1e-9, THROW_START_S)
    assert end.acceleration_mps2 == pytest.approx(0.2 * (math.pi / 0.4) ** 2, rel=1e-6)
    assert 8.0 < end.acceleration_mps2 < 15.0
    assert end.distance_m == pytest.approx(-0.4, abs=1e-6)


def test_phases_in_order() -> None:
    assert arm.shake_end(THROW) == pytest.approx(3.5)
    assert arm.planned_throw_start(THROW) == pytest.approx(THROW_START_S)
    release_s = arm.release_time(THROW, THROW_START_S)
    assert release_s == pytest.approx(4.4 + 2.6 / 8.4)
    times = (1.0, 2.5, 3.7, 4.2, 4.5, release_s + 0.01)
    phases = [arm.hand_motion(THROW, time, THROW_START_S).phase for time in times]
    assert phases == [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]


def test_release_state() -> None:
    end = arm.hand_motion(THROW, arm.release_time(THROW, THROW_START_S) - 1e-9, THROW_START_S)
    assert end.speed_mps == pytest.approx(8.4, abs=1e-6)
    assert end.pitch_rad == pytest.approx(math.radians(12.0), abs=1e-6)
    assert end.pitch_rate_radps == pytest.approx(0.0, abs=1e-4)
    assert end.distance_m == pytest.approx(1.3 - 0.4, abs=1e-6)


def test_the_throw_waits_for_the_word() -> None:
    """A model that spins in the hand is held until the throw is started; a shake is finished first."""
    assert arm.hand_motion(THROW, 60.0, 1e9).phase == arm.PHASE_HOLD
    assert arm.hand_motion(THROW, 3.4, 3.0).phase == arm.PHASE_SHAKE
    assert arm.hand_motion(THROW, 3.55, 3.0) == pytest.approx(arm.windup_motion(THROW, 0.05))
    assert arm.release_time(THROW, 3.0) == pytest.approx(3.5 + 0.4 + 2.6 / 8.4)


def test_usual_speed_follows_the_published_exponent() -> None:
    """Cross, Am. J. Phys. 72 (2004) 305: 60 times the mass, 2.4 times slower."""
    exponent = math.log(arm.usual_speed(6.0, 1.0) / arm.usual_speed(0.1, 1.0)) / math.log(60.0)
    assert exponent == pytest.approx(-math.log(2.4) / math.log(60.0), abs=0.03)


@pytest.mark.parametrize(("mass_kg", "bound_mps"), [(0.6, 20.0), (1.0, 17.9), (2.0, 15.4)])
def test_usual_speed_below_a_handball(mass_kg: float, bound_mps: float) -> None:
    """A trained thrower's standing throw of a compact ball, 21.0 m/s at 0.475 kg (Skejo et al.,
    Sensors 20 (2020) 4925), scaled by the exponent above, bounds any aeroplane from above."""
    assert arm.usual_speed(mass_kg, 1.0) < bound_mps


@numba.njit
def fly_through(throw: Any, rate_hz: float, level_mps2: float, dwell_s: float) -> Any:
    """Return (detection after the start of the stroke, time above 15 m/s2) by the real filter."""
    step_s, share = 1.0 / rate_hz, low_pass_share(10.0, 1.0 / rate_hz)
    rest = 9.80665 * math.sin(math.radians(10.0))
    reading, above, violent, detected = rest, 0.0, 0.0, -1.0
    count = int(arm.stroke_time(throw) / step_s)
    for i in range(1, count + 1):
        reading += share * (arm.stroke_motion(throw, i * step_s).acceleration_mps2 + rest - reading)
        above = above + step_s if reading > level_mps2 else 0.0
        violent += step_s if reading > 15.0 else 0.0
        if detected < 0.0 and above >= dwell_s - 1e-9:
            detected = i * step_s
    return detected, violent


@pytest.mark.parametrize(("speed_mps", "stroke_m"), [(6.0, 1.2), (8.0, 1.3), (10.0, 1.4)])
def test_a_throw_is_never_a_weak_signal(speed_mps: float, stroke_m: float) -> None:
    """Scratch model: detected 0.12-0.16 s after the start of the stroke with 0.10 s dwell, 0.16-0.24 s
    before release; above 15 m/s2 for about 0.23 s."""
    throw = THROW._replace(speed_mps=speed_mps, stroke_m=stroke_m)
    detected, violent = fly_through(throw, 400.0, 8.0, 0.10)
    assert 0.115 <= detected <= 0.16
    assert 0.155 <= arm.stroke_time(throw) - detected <= 0.26
    assert violent == pytest.approx(0.23, abs=0.03)


# Scratch model: grip to disc m; release to clear p50, p95, p99; detection to clear p50.
CLEAR_ROWS = [
    (0.20, (0.11, 0.16, 0.18), 0.28),
    (0.28, (0.13, 0.18, 0.21), 0.30),
    (0.36, (0.14, 0.20, 0.24), 0.31),
    (0.45, (0.16, 0.22, 0.26), 0.33),
]


@numba.njit
def clear_times(throws: Any) -> Any:
    out = np.empty(throws.size)
    for i in range(throws.size):
        out[i] = arm.clear_time(throws[i])
    return out


def sampled_throws(change: Callable[[NDArray[np.void]], None]) -> NDArray[np.void]:
    """Return 20 000 throws: deceleration lognormal(35, 0.45), lag 0.4 +- 0.3 m/s, not below 0."""
    dtype = np.dtype([(name, np.float64) for name in Hand._fields])
    throws = np.full(20_000, np.array(tuple(THROW), dtype=dtype))
    rng = np.random.default_rng(11)
    throws["hand_deceleration_mps2"] = 35.0 * np.exp(0.45 * rng.standard_normal(throws.size))
    throws["hand_lag_mps"] = np.maximum(0.0, 0.4 + 0.3 * rng.standard_normal(throws.size))
    change(throws)
    return throws


@pytest.mark.parametrize(("grip_m", "quantiles_s", "from_detection_s"), CLEAR_ROWS)
def test_clear_hand_times(grip_m: float, quantiles_s: tuple[float, ...], from_detection_s: float) -> None:
    def change(throws: NDArray[np.void]) -> None:
        throws["grip_to_disc_m"] = grip_m

    found = np.quantile(clear_times(sampled_throws(change)), [0.5, 0.95, 0.99])
    assert found == pytest.approx(quantiles_s, abs=0.01)
    detected, _ = fly_through(THROW, 400.0, 8.0, 0.10)
    lead = arm.stroke_time(THROW) - detected
    assert found[0] + lead == pytest.approx(from_detection_s, abs=0.03)


def test_clear_time_by_hand() -> None:
    """0.25 m at 35 m/s2 and 0.4 m/s: 0.4 t + 17.5 t^2 = 0.25 gives 0.10863 s."""
    throw = THROW._replace(grip_to_disc_m=0.20)
    assert arm.clear_time(throw) == pytest.approx(0.10863, abs=1e-5)


def test_clear_after_the_hand_has_stopped() -> None:
    """A hand that stops at once: the disc needs (gap + way of the hand)/v."""
    throw = THROW._replace(speed_mps=4.0, hand_lag_mps=0.0, hand_deceleration_mps2=400.0)
    assert arm.clear_time(throw) == pytest.approx((0.41 + 0.02) / 4.0)
    assert arm.clear_travel(throw, 10.0) == pytest.approx(0.02)

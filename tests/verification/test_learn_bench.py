"""Bench tests against closed forms, published formulas and worked numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit

from overarm.air import GRAVITY_MPS2
from overarm.learn.bench import clear, glide, pull, swing, tilt
from overarm.learn.bench.propagate import Figure, mean_of, propagated

SURE = Figure(1.0, 0.0)


def reading(throttle: float, pull_n: float, amps: float, volts: float) -> pull.PullReading:
    """Return a reading with 4 % of the pull, 3 % of the current and 0.03 V."""
    return pull.PullReading(
        throttle, Figure(pull_n, 0.04 * pull_n), Figure(amps, 0.03 * amps), Figure(volts, 0.03)
    )


def test_errors_of_a_product_and_a_quotient_add_as_shares() -> None:
    """JCGM 100:2008, 5.1.6: for y = a^p b^q the relative variances add with p^2 and q^2."""
    found = propagated(lambda x: x[0] ** 2 / x[1], (Figure(3.0, 0.03), Figure(5.0, 0.1)))
    assert found.value == pytest.approx(1.8)
    assert found.error / found.value == pytest.approx(math.hypot(2 * 0.01, 0.02), rel=1e-5)


def test_the_error_of_a_mean_is_the_larger_of_claimed_and_seen() -> None:
    """JCGM 100:2008, 4.2.3: s/sqrt(n) of 1, 2, 3, 4 is sqrt(5/3)/2 = 0.6455."""
    far = mean_of([Figure(value, 0.1) for value in (1.0, 2.0, 3.0, 4.0)])
    assert far == (2.5, pytest.approx(math.sqrt(5.0 / 3.0) / 2.0))
    assert mean_of([Figure(2.0, 0.4)] * 4).error == pytest.approx(0.2)
    with pytest.raises(ValueError, match="nothing"):
        mean_of([])


def test_a_line_through_points_as_scipy_fits_it() -> None:
    """scipy.optimize.curve_fit with absolute_sigma is another weighted least squares."""
    points = [(1.0, Figure(2.1, 0.1)), (2.0, Figure(3.9, 0.3)), (4.0, Figure(8.2, 0.2))]
    x, y = [p[0] for p in points], [p[1].value for p in points]
    best, spread = curve_fit(
        lambda x, a, b: a + b * np.asarray(x), x, y, sigma=[p[1].error for p in points], absolute_sigma=True
    )
    found = pull.slope_of(points)
    assert found.value == pytest.approx(best[1], rel=1e-6)
    assert found.error == pytest.approx(math.sqrt(spread[1, 1]), rel=1e-4)
    with pytest.raises(ValueError, match="same place"):
        pull.slope_of([(1.0, SURE._replace(error=1.0))] * 2)


def test_two_throttles_give_exponent_and_resistance() -> None:
    """k = ln(T1/T2)/ln(s1/s2); R = (U2 - U1)/(I1 - I2), both by hand."""
    readings = (reading(0.95, 15.4, 21.6, 15.73), reading(0.50, 4.70, 3.9, 16.11))
    power = pull.exponent(readings)
    apart = math.log(0.95 / 0.50)
    assert power.value == pytest.approx(math.log(15.4 / 4.70) / apart, rel=1e-12)
    assert power.error == pytest.approx(math.hypot(0.04, 0.04) / apart, rel=1e-12)
    ohm = pull.pack_resistance(readings)
    assert ohm is not None
    assert ohm.value == pytest.approx((16.11 - 15.73) / (21.6 - 3.9), rel=1e-9)
    by_hand = math.hypot(math.hypot(0.03, ohm.value * 0.648), math.hypot(0.03, ohm.value * 0.117)) / 17.7
    assert ohm.error == pytest.approx(by_hand, rel=1e-6)
    at = pull.thrust_at(readings, 1.0, power)
    assert at.value == pytest.approx(15.4 * (1.0 / 0.95) ** power.value)
    assert at.error / at.value == pytest.approx(math.hypot(0.04, math.log(1.0 / 0.95) * power.error))
    assert pull.pack_resistance([item._replace(volts_v=None) for item in readings]) is None


@pytest.mark.parametrize(
    ("inertia", "mass", "period"),
    [(0.020, 0.60, 2.24), (0.100, 1.60, 3.07), (0.055, 1.10, 2.75), (0.42, 2.80, 4.76), (0.042, 0.95, 2.58)],
)
def test_the_swing_on_two_lines(inertia: float, mass: float, period: float) -> None:
    """I = m g d^2 T^2/(16 pi^2 L), AIAA 2007-6822; periods for L 1.5 m, d 0.4 m computed by hand."""
    assert swing.inertia(mass, 1.5, 0.4, period) == pytest.approx(inertia, rel=5e-3)


@pytest.mark.plain_floats("scipy's integrator underflows on its way to an event")
def test_the_swing_as_its_motion_is_integrated() -> None:
    """The turning body on two lines, m g d^2/(4 L) sin(angle) = -I angle'', integrated by scipy."""
    from scipy.integrate import solve_ivp

    inertia, mass, line, spacing, amplitude = 0.1, 1.6, 1.5, 0.4, 0.5
    stiff = mass * GRAVITY_MPS2 * spacing**2 / (4.0 * line)

    def motion(_t: float, state: list[float]) -> list[float]:
        return [state[1], -stiff / inertia * math.sin(state[0])]

    def middle(_t: float, state: list[float]) -> float:
        return state[0]

    ended = solve_ivp(motion, (0.0, 3.0), [amplitude, 0.0], events=middle, rtol=1e-10, atol=1e-12)
    period = 4.0 * float(ended.t_events[0][0])
    small = swing.small_swing(period, amplitude)
    assert swing.inertia(mass, line, spacing, small) == pytest.approx(inertia, rel=1e-3)
    assert swing.inertia(mass, line, spacing, period) > 1.02 * inertia


def test_the_error_of_the_swing_adds_as_shares() -> None:
    hung = swing.Swing(Figure(1.6, 0.016), Figure(1.5, 0.015), Figure(0.4, 0.004), 0.0)
    found = swing.swung(hung, [Figure(3.07, 0.0307)])
    assert found.error / found.value == pytest.approx(math.sqrt(1 + 4 + 4 + 1) / 100.0, rel=1e-4)


def glider(**changes: Figure) -> glide.Glider:
    whole = glide.Glider(
        Figure(1.2, 0.0),
        Figure(0.30, 0.0),
        1.25,
        Figure(0.8, 0.0),
        1.225,
        Figure(10.0, 0.0),
        Figure(0.0, 0.0),
    )
    return whole._replace(**changes)


def test_a_glide_gives_back_the_drag_that_it_was_flown_with() -> None:
    """Steady glide, textbook: CL 0.6, CD 0.0502, L/D 11.9522, V 10.31346 m/s for m 1.2, S 0.30 (by hand).

    K = 0.07 is e = 1/(pi A K) with A = 1.25^2/0.30, so CD0 = 0.025.
    """
    aspect = 1.25**2 / 0.30
    plane = glider(span_efficiency=Figure(1.0 / (math.pi * aspect * 0.07), 0.0))
    through = 10.0 * 11.9522
    time = math.hypot(through, 10.0) / 10.31346
    found = glide.glided(plane, [glide.Flat(Figure(through, 0.1), Figure(time, 0.01))])
    assert found.ratio.value == pytest.approx(11.9522, rel=1e-6)
    assert found.lift.value == pytest.approx(0.6, rel=1e-4)
    assert found.drag_zero.value == pytest.approx(0.025, rel=1e-3)


def test_wind_and_height_are_shared_by_all_glides() -> None:
    """Ratio d/h: 2 % of h is 2 % of the ratio however many glides; 1 m of 100 goes with 1/sqrt(n)."""
    flat = glide.Flat(Figure(100.0, 1.0), Figure(10.0, 0.0))
    plane = glider(height_m=Figure(10.0, 0.2))
    for count in (1, 4, 16):
        found = glide.glided(plane, [flat] * count).ratio
        assert found.error / found.value == pytest.approx(math.hypot(0.02, 0.01 / math.sqrt(count)), rel=1e-4)
    windy = glide.glided(glider(headwind_mps=Figure(1.0, 0.5)), [flat]).ratio
    assert windy.value == pytest.approx(11.0)
    assert windy.error == pytest.approx(math.hypot(0.5, 0.1), rel=1e-4)


def test_stalls_give_the_largest_lift() -> None:
    """CLmax 1.1 stalls at 7.63029 m/s for m 1.2, S 0.30, rho 1.225 (by hand)."""
    found = glide.stall_lift(glider(), [Figure(7.63029, 0.1)])
    assert found.value == pytest.approx(1.1, rel=1e-5)
    assert found.error == pytest.approx(2.0 * 0.1 / 7.63029 * 1.1, rel=1e-4)


def test_level_and_nose_up_in_closed_form() -> None:
    """What f = b + g sin(angle + tilt) reads is taken apart again; g sin 7 deg is 1.195 m/s2."""
    for bias, turned in ((0.1, 7.0), (-0.2, -3.0), (0.0, 0.0)):
        at = math.radians(turned)
        level = bias + GRAVITY_MPS2 * math.sin(at)
        raised = bias + GRAVITY_MPS2 * math.sin(at + math.radians(30.0))
        found, off = tilt.from_two(level, raised, math.radians(30.0))
        assert found == pytest.approx(at, abs=1e-9)
        assert off == pytest.approx(bias, abs=1e-8)
    with pytest.raises(ValueError, match="gravity"):
        tilt.from_two(0.0, 9.0, math.radians(30.0))


def test_the_jig_agrees_with_the_closed_form_and_knows_what_it_cannot_tell() -> None:
    at, bias, nobody = math.radians(4.0), 0.15, (Figure(0.0, 10.0), Figure(0.0, 100.0))

    def readings(*degrees: float) -> list[tilt.JigReading]:
        angles = [math.radians(value) for value in degrees]
        return [
            tilt.JigReading(Figure(a, 0.0), Figure(bias + GRAVITY_MPS2 * math.sin(a + at), 0.03))
            for a in angles
        ]

    two, three = tilt.jig(*nobody, readings(0, 30)), tilt.jig(*nobody, readings(0, 30, 180))
    assert two.tilt_rad.value == pytest.approx(at, abs=1e-6)
    assert two.bias_mps2.value == pytest.approx(bias, abs=1e-5)
    # By hand: d(f1 - f0)/dtilt = -2 g sin(15 deg) sin(15 + 4 deg), so the error is sqrt(2) 0.03 over that.
    slope = 2.0 * GRAVITY_MPS2 * math.sin(math.radians(15.0)) * math.sin(math.radians(19.0))
    assert two.tilt_rad.error == pytest.approx(math.sqrt(2.0) * 0.03 / slope, rel=1e-3)
    assert two.correlation < -0.98
    assert two.level_reading().error == pytest.approx(0.03, rel=1e-2)
    assert three.tilt_rad.error < 0.2 * two.tilt_rad.error
    assert abs(three.correlation) < 0.7
    # With nothing read the card stays as it was.
    kept = tilt.jig(Figure(0.02, 0.01), Figure(0.1, 0.2), [])
    assert kept == (Figure(0.02, pytest.approx(0.01)), Figure(0.1, pytest.approx(0.2)), 0.0)


def test_frames_give_the_deceleration_of_the_hand() -> None:
    """d = 1/2 a t^2 + dv t: 0.36 m with 35 m/s2 and 0.4 m/s takes 0.1326 s, by the quadratic formula."""
    time = (-0.4 + math.sqrt(0.16 + 2.0 * 35.0 * 0.36)) / 35.0
    assert clear.hand_deceleration(0.36, 0.4, time) == pytest.approx(35.0, rel=1e-12)
    found = clear.from_frames(Figure(0.36, 0.0), Figure(0.4, 0.3), 240.0 * time, 240.0)
    lag, frame = 2.0 * 0.3 / time, clear.FRAME_ERROR / 240.0 * (4.0 * 0.36 - 2.0 * 0.4 * time) / time**3
    assert found.value == pytest.approx(35.0, rel=1e-9)
    assert found.error == pytest.approx(math.hypot(lag, frame), rel=1e-4)

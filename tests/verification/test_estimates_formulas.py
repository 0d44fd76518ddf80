"""The estimators against answers in closed form and against libraries."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.stats import linregress

from overarm.describe.derived.propulsion import Drive, settle
from overarm.physics.trigger import Trigger, cue_start, cue_step
from overarm.recordings.estimates import estimates_of
from overarm.recordings.estimates.cue import steps_late_s
from overarm.recordings.estimates.drag import drag_coefficient, energy_drag
from overarm.recordings.estimates.drive_model import settled_thrust
from overarm.recordings.estimates.fuse import Measured, common_value, fused
from overarm.recordings.estimates.match import excess
from overarm.recordings.estimates.polar import Aero, flown
from overarm.recordings.estimates.rest import bias_by_size
from overarm.recordings.estimates.series import Series, integral, noise_of, straight
from overarm.recordings.estimates.strapdown import carried_on, level_acceleration
from overarm.recordings.estimates.taken import gravity_felt, levelled
from overarm.recordings.estimates.thrust import fit_thrust
from overarm.recordings.estimates.wind import drift, over_height
from tests.examples import derived_of, setup_of
from tests.thrown import G, Throw, launch_of, recording_of

AERO = Aero(1.6, 0.01, 0.42, 1.225, 0.1, 3.9, 0.4, 0.036, 0.094, 0.02, 0.15, "a made-up polar")


@pytest.mark.parametrize(("speed", "stroke"), [(6.0, 1.2), (8.4, 1.25), (10.0, 1.4)])
@pytest.mark.parametrize("lag", [0.1, 0.35])
def test_half_sine_stroke_of_known_speed_and_length(speed: float, stroke: float, lag: float) -> None:
    """Mechanics: from rest over L to v in a half sine takes T = 2 L/v."""
    throw = Throw(speed_mps=speed, stroke_m=stroke, lag_s=lag)
    found = estimates_of(recording_of(throw), launch_of(throw))
    assert found["throw_speed_mps"].value == pytest.approx(speed, rel=0.012)
    assert found["stroke_time_s"].value == pytest.approx(2.0 * stroke / speed, abs=0.012)
    assert found["stroke_length_m"].value == pytest.approx(stroke, rel=0.03)
    assert found["release_path_rad"].value == pytest.approx(throw.path_rad, abs=0.006)
    assert found["release_pitch_rad"].value == pytest.approx(throw.pitch_rad, abs=0.006)
    assert found["satellite_lag_s"].value == pytest.approx(lag, abs=0.02)


def test_bias_and_tilt_do_not_touch_the_throw_speed() -> None:
    """A constant too much is in the mean before the stroke, which is taken off."""
    plain, false = Throw(), Throw(bias_mps2=0.8)
    one = estimates_of(recording_of(plain), launch_of(plain))["throw_speed_mps"]
    other = estimates_of(recording_of(false), launch_of(false))["throw_speed_mps"]
    assert one.value is not None
    assert other.value == pytest.approx(one.value, rel=0.01)


@pytest.mark.parametrize("lift", [0.4, 0.6, 0.85])
def test_a_steady_glide_gives_back_its_drag(lift: float) -> None:
    """Anderson, *Introduction to Flight*, chapter 6: tan(path) = CD/CL; a steady glide feels 1 g.

    The felt force is lift and drag over mass; seen along the body it is turned by the incidence.
    """
    drag = AERO.drag_zero + AERO.drag_induced * lift**2
    glide = math.atan2(drag, lift)
    fast = math.sqrt(2.0 * AERO.mass_kg * G / (AERO.density_kgpm3 * AERO.area_m2 * math.hypot(lift, drag)))
    elevator = -0.05
    incidence = (lift - AERO.lift_zero - AERO.lift_elevator * elevator) / AERO.lift_alpha
    pitch = incidence - glide
    forward, down = G * math.sin(pitch), -G * math.cos(pitch)  # at constant speed only gravity is felt
    mean = np.array([forward, down, fast, elevator])
    assert drag_coefficient(AERO, mean, 0.0, (0.0, 0.0)) == pytest.approx(AERO.drag_zero, rel=1e-3)
    state = flown(AERO, *(np.array([one]) for one in (fast, down, elevator)))
    assert state.incidence_rad[0] == pytest.approx(incidence, abs=1e-4)
    assert state.lift_n[0] / state.drag_n[0] == pytest.approx(lift / drag, rel=1e-3)


def test_energy_height_of_a_glide_of_one_in_nine() -> None:
    """A steady glide that loses one metre in nine flown has D/W = sin(path); slowing in level flight too."""
    t = np.arange(0.0, 6.0, 0.05)
    sine = 1.0 / math.hypot(9.0, 1.0)
    steady = energy_drag(t, 60.0 - 10.0 * sine * t, np.full(t.size, 10.0))
    assert steady.value == pytest.approx(sine, rel=1e-6)
    slowing = energy_drag(t, np.full(t.size, 20.0), 12.0 - 0.9 * t)
    assert slowing.value == pytest.approx(0.9 / G, rel=1e-6)


@pytest.mark.parametrize("change", [-0.1, 0.0, 0.12])
def test_thrust_over_throttle_gives_back_its_exponent(change: float) -> None:
    """Thrust made as 14 N s^(1.75 + change) over a model of 10 N s^1.75."""
    throttle = np.linspace(0.3, 0.95, 40)
    model = 10.0 * throttle**1.75
    fit = fit_thrust(14.0 * throttle ** (1.75 + change), model, throttle, np.full(40, 0.02))
    assert fit.scale == pytest.approx(1.4, rel=0.003)
    assert fit.exponent == pytest.approx(change, abs=0.01)


@pytest.mark.parametrize("airspeed", [0.0, 8.0, 14.0])
def test_settled_thrust_is_that_of_the_root_finder(airspeed: float) -> None:
    """scipy's brentq on the same balance of torques, one throttle at a time (`propulsion.settle`)."""
    derived = derived_of("b")
    drive = Drive(
        derived.propeller, derived.propeller_table, derived.motor, derived.pack, derived.density_kgpm3
    )
    throttle = np.array([0.4, 0.7, 0.95])
    found = settled_thrust(derived, throttle, np.full(3, airspeed))
    for one, share in zip(found, throttle, strict=True):
        assert one == pytest.approx(settle(drive, float(share), airspeed).thrust_n, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("turned_deg", [270.0, 400.0])
@pytest.mark.parametrize("grows", [0.0, 3.0])
def test_drift_of_a_circle_is_the_wind(turned_deg: float, grows: float) -> None:
    """Ground velocity is the wind and the airspeed turned: its circle has the wind as its centre."""
    turn = np.radians(np.linspace(0.0, turned_deg, 60))
    share = np.linspace(0.0, 1.0, 60)
    fast = np.sqrt(11.0**2 + grows * 11.0 * share)
    found = drift(share * 20.0, 2.5 + fast * np.cos(turn), -1.4 + fast * np.sin(turn))
    assert (found.north_mps, found.east_mps) == pytest.approx((2.5, -1.4), abs=0.01)
    if grows == 0.0:
        assert found.airspeed_mps == pytest.approx(11.0, abs=0.01)


def test_drift_errors_are_honest() -> None:
    """White noise on full circles: the centre is within one standard error about 68 % of the time, or more.

    Samples are taken to go four for one, so the share is larger: two standard errors for one.
    """
    rng = np.random.default_rng(4)
    inside = 0
    for _ in range(200):
        turn = np.radians(np.linspace(0.0, 380.0, 50)) + rng.uniform(0.0, 6.0)
        north, east = (rng.normal(0.0, 0.3, 50) + 10.0 * one for one in (np.cos(turn), np.sin(turn)))
        found = drift(np.linspace(0.0, 10.0, 50), north + 3.0, east)
        inside += abs(found.north_mps - 3.0) < found.error_mps
    assert inside / 200 > 0.85


def test_log_law_between_heights() -> None:
    """Neutral log law over a meadow (roughness 0.03 m): 5 m/s at 10 m is 3.5 at 1.8 m and 5.95 at 30 m.

    The numbers are those of ln(z/z0), Stull (1988), chapter 9; worked by hand.
    """
    scale = over_height(np.array([10.0, 30.0]), 1.8, 0.03)
    assert 5.0 * scale[0] == pytest.approx(3.5, abs=0.03)
    assert 5.946 * scale[1] == pytest.approx(3.5, abs=0.03)


def test_gyros_carry_an_attitude_as_scipy_does() -> None:
    """Constant body rates turn a body about a fixed axis: scipy's rotation vector."""
    rates = np.array([0.4, 0.7, -0.3])
    t = np.arange(0.0, 1.0001, 0.01)
    bank, pitch, heading = carried_on(t, (0.1, 0.2, 0.0), np.tile(rates[:, None], t.size))
    start = Rotation.from_euler("ZYX", [0.0, 0.2, 0.1])
    end = start * Rotation.from_rotvec(rates * t[-1])
    assert (heading[-1], pitch[-1], bank[-1]) == pytest.approx(end.as_euler("ZYX"), abs=1e-4)


def test_rest_and_free_fall_in_the_level_frame() -> None:
    """At rest nothing accelerates, whatever the attitude; a body that feels nothing falls with g."""
    pose = np.array([[0.3, -0.7, 1.1], [0.2, 1.0, -2.0]])
    angles = np.stack([pose[1], pose[0], np.array([0.0, 1.0, 2.0])])
    assert level_acceleration(gravity_felt(pose), angles) == pytest.approx(np.zeros((3, 3)), abs=1e-12)
    fall = level_acceleration(np.zeros((3, 3)), angles)
    assert fall == pytest.approx(np.array([[0.0] * 3, [0.0] * 3, [-G] * 3]), abs=1e-12)


def test_a_tilted_board_reads_the_sine_of_its_tilt() -> None:
    """A board tilted nose-up by 7 degrees on a level model reads g sin(7 deg) forward: 1.195 m/s2."""
    read = np.array([[G * math.sin(math.radians(7.0))], [0.0], [-G * math.cos(math.radians(7.0))]])
    assert levelled(read, math.radians(7.0))[:, 0] == pytest.approx([0.0, 0.0, -G], abs=1e-12)


def test_bias_from_the_size_of_the_force_in_two_poses() -> None:
    """Level and nose-up by 60 and 90 degrees: what a bias adds to the size tells it, without attitude."""
    pitch = np.repeat(np.radians([0.0, 60.0, 90.0]), 6)
    force = gravity_felt(np.stack([pitch, np.zeros(18)])) + np.array([[0.5], [0.1], [-0.2]])
    found = bias_by_size(force)
    assert found.value == pytest.approx(0.5, abs=0.06)
    assert found.error < 0.2
    level_alone = bias_by_size(force[:, :6])
    assert level_alone.error > 1.0


def test_thrust_that_just_covers_the_climb_has_no_excess() -> None:
    """T - D = W sin(path), path = pitch - incidence, lift -m f_z: the excess is nothing."""
    incidence, pitch = math.radians(5.0), math.radians(15.0)
    down = -G
    forward = G * math.sin(pitch - incidence) - down * math.sin(incidence)
    one = np.array([1.0])
    assert excess(forward * one, down * one, incidence * one, pitch)[0] == pytest.approx(0.0, abs=1e-12)
    assert excess(forward * one + 1.0, down * one, incidence * one, pitch)[0] > 0.0


def test_weighted_mean_and_correlated_mean() -> None:
    """Inverse variances; with an error that all share, the error of the mean never falls below it.

    From any textbook: 10 +- 1 and 12 +- 2 give 10.4 +- 0.894; four of 1 with 0.5 in common 0.25 + 0.25.
    """
    assert fused([Measured(10.0, 1.0), Measured(12.0, 2.0)]) == pytest.approx((10.4, 0.894427), rel=1e-5)
    apart = fused([Measured(0.0, 1.0), Measured(10.0, 1.0)])
    assert apart.error == pytest.approx(math.sqrt(50.0 / 2.0), rel=1e-9)
    covariance = np.eye(4) + 0.25
    common = common_value(np.array([1.0, 1.0, 1.0, 1.0]), covariance)
    assert common == pytest.approx((1.0, math.sqrt(0.5)), rel=1e-9)


def test_lines_noise_and_integrals() -> None:
    """scipy's regression; white noise of known size; the integral of a parabola."""
    rng = np.random.default_rng(7)
    t = np.sort(rng.uniform(0.0, 5.0, 60))
    y = 2.0 - 0.7 * t + rng.normal(0.0, 0.3, 60)
    line, other = straight(Series(t, y), 0.0), linregress(t, y)
    assert (line.value, line.slope) == pytest.approx((other.intercept, other.slope), rel=1e-9)
    assert line.value_error == pytest.approx(other.intercept_stderr, rel=1e-9)
    assert line.slope_error == pytest.approx(other.stderr, rel=1e-9)
    assert noise_of(rng.normal(0.0, 0.3, 5000) + np.linspace(0.0, 40.0, 5000)) == pytest.approx(0.3, rel=0.05)
    even = np.linspace(0.0, 2.0, 201)
    assert integral(even, even**2)[-1] == pytest.approx(8.0 / 3.0, rel=1e-4)


@pytest.mark.parametrize(("dwell", "rate"), [(0.1, 100.0), (0.1, 50.0), (0.08, 30.0)])
def test_how_late_a_trigger_fires_on_average(dwell: float, rate: float) -> None:
    """Steps of the cue at random moments through the exact logic that flies (`physics.trigger.cue_step`)."""
    trigger = Trigger(8.0, dwell, 1.0, 0.0, 0.0, 2.0, -7.0, 7.0, 7.0, 0.0)
    step, late = 1.0 / rate, []
    for moment in np.linspace(0.0, step, 41)[:-1] + 0.25 * step / 40:
        state = cue_start()
        for k in range(60):
            metric = 20.0 if k * step >= moment else 0.0
            state, fired = cue_step(trigger, state, metric, 0.0, 0.0, 0.0, 0.0, step)
            if fired > 0.5:
                late.append(k * step - moment)
                break
    assert np.mean(late) == pytest.approx(steps_late_s(dwell, rate), abs=0.03 * step)


def test_glide_ratio_of_a_thrown_glider_needs_a_setup() -> None:
    """Without a mass nothing can be said of drag; with one the reason is another."""
    throw = Throw()
    found = estimates_of(recording_of(throw), launch_of(throw))
    assert found["glide_ratio"].value is None
    assert "setup" in found["glide_ratio"].why_not
    told = estimates_of(recording_of(throw), launch_of(throw), setup_of("b"), derived_of("b"))
    assert told["throw_speed_mps"].value == pytest.approx(throw.speed_mps, rel=0.02)

"""The stall of the wing: the published blend, the separated plate, and the tip that drops.

Blend: Beard and McLain, *Small Unmanned Aircraft*, Princeton (2012), equations 4.9 and 4.10. Plate:
Hoerner, *Fluid-Dynamic Lift* (1985), chapter 4; the values at 0 and 90 deg are from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from overarm.physics.wing import (
    AirState,
    Wing,
    air_state,
    drag_coefficient,
    lift_coefficient,
    lost_lift,
    plate_normal_force,
    separated_share,
    stall_angle,
    tip_drop,
    wing_loads,
)

# An invented flying wing of 1.2 kg with round numbers.
WING = Wing(
    area_m2=0.30, span_m=1.20, chord_m=0.25, neutral_point_m=0.145, balance_point_m=0.125,
    lift_zero=0.10, lift_alpha=4.0, lift_pitch_rate=3.0, lift_elevator=0.6,
    lift_max=1.0, stall_offset_rad=0.02, stall_sharpness=50.0,
    drag_zero=0.03, drag_induced=0.07, drag_stall=1.5,
    moment_zero=0.02, moment_pitch_rate=-1.2, moment_elevator=-0.35,
    side_beta=-0.10, roll_beta=-0.06, roll_roll_rate=-0.45, roll_yaw_rate=0.08, roll_aileron=0.15,
    yaw_beta=0.03, yaw_roll_rate=-0.03, yaw_yaw_rate=-0.02, yaw_aileron=-0.005,
    roll_zero=0.0, stall_arm=0.22, stall_twist_rad=0.0,
)  # fmt: skip
STILL = (0.0, 0.0, 0.0)
CENTRED = (0.0, 0.0)


def flow(alpha_rad: float, speed_mps: float = 10.0) -> AirState:
    return air_state(speed_mps * math.cos(alpha_rad), 0.0, speed_mps * math.sin(alpha_rad))


def published_blend(alpha: float, stall: float, sharpness: float) -> float:
    """Equation 4.10 as printed."""
    above, below = math.exp(-sharpness * (alpha - stall)), math.exp(sharpness * (alpha + stall))
    return (1.0 + above + below) / ((1.0 + above) * (1.0 + below))


def test_blend_is_the_published_one() -> None:
    """Where the blend is left out (further than 12/M below the stall) it is under 7e-6."""
    for alpha in np.linspace(-0.6, 0.6, 241):
        assert separated_share(alpha, 0.27, 50.0) == pytest.approx(
            published_blend(alpha, 0.27, 50.0), abs=7e-6
        )


@pytest.mark.parametrize("sharpness", [50.0, 80.0])
def test_blend_is_one_half_at_its_angle_symmetric_and_monotone(sharpness: float) -> None:
    assert separated_share(0.27, 0.27, sharpness) == pytest.approx(0.5, abs=1e-6)
    angles = np.linspace(0.0, math.pi, 2000)
    shares = np.array([separated_share(alpha, 0.27, sharpness) for alpha in angles])
    mirrored = np.array([separated_share(-alpha, 0.27, sharpness) for alpha in angles])
    np.testing.assert_allclose(mirrored, shares, atol=1e-15)
    assert np.all(np.diff(shares) > -1e-15)
    assert shares[0] == 0.0
    assert shares[-1] == 1.0


def plate(alpha_rad: float) -> float:
    """Return the normal-force coefficient of a separated plate at an incidence [rad]."""
    return plate_normal_force(math.sin(alpha_rad))


def test_plate() -> None:
    """A flat plate square to the wind: 1.98 (Hoerner); small angles: slope 1/0.283 = 3.53; and
    between them always more than Newton's and less than thin-airfoil theory's 2 pi sin."""
    assert plate(math.pi / 2) == pytest.approx(1.98, abs=0.005)
    assert plate(1e-3) / 1e-3 == pytest.approx(3.53, abs=0.01)
    assert plate(math.radians(45.0)) == pytest.approx(1.607, abs=0.001)
    assert plate(0.0) == 0.0
    angles = np.linspace(0.01, math.pi / 2, 200)
    values = np.array([plate(alpha) for alpha in angles])
    assert np.all(np.diff(values) > 0.0)
    assert np.all(values < 2.0 * math.pi * np.sin(angles))
    assert np.all(values >= 1.98 * np.sin(angles) ** 2)
    for alpha in angles:
        assert plate(-alpha) == -plate(alpha)
        assert plate(math.pi - alpha) == pytest.approx(plate(alpha), rel=1e-12)


def curve(wing: Wing, angles: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([lift_coefficient(wing, alpha) for alpha in angles])


def test_lift_is_linear_below_the_stall_and_a_plate_above() -> None:
    stall = stall_angle(WING)
    for alpha in np.linspace(-0.9, 0.9, 20) * (stall - 12.0 / 50.0):
        assert lift_coefficient(WING, alpha) == pytest.approx(0.10 + 4.0 * alpha, abs=1e-15)
        assert lost_lift(WING, alpha) == pytest.approx(0.0, abs=1e-15)
    for alpha in (0.6, 1.0, 1.5, 3.0):
        plate = math.sin(alpha) / (0.222 * math.sin(alpha) + 0.283) * math.cos(alpha)
        assert lift_coefficient(WING, alpha) == pytest.approx(plate, abs=1e-5)


def test_lift_and_drag_are_continuous() -> None:
    """Steps of 0.1 mrad, all round: no jump of more than the steepest slope allows.

    The blend can fall at most M/4 per rad; with 1.0 to lose near the stall that is 12.5 per rad.
    """
    angles = np.arange(-math.pi, math.pi, 1e-4)
    values = curve(WING, angles)
    assert np.abs(np.diff(values)).max() < 1.5e-3
    drag = [drag_coefficient(WING, alpha, value, 1.0) for alpha, value in zip(angles, values, strict=True)]
    assert np.abs(np.diff(drag)).max() < 5e-4


@pytest.mark.parametrize("offset", [0.0, 0.02, 0.05])
def test_lift_peaks_below_the_blend_angle(offset: float) -> None:
    """The highest point of the blended curve, found by a scan, is where the slope of equation 4.9 is
    zero, found by root finding on its derivative; it lies before the blend angle, and half the
    attached lift is gone at the blend angle."""
    wing = WING._replace(stall_offset_rad=offset)
    stall, sharpness = stall_angle(wing), wing.stall_sharpness
    assert stall == pytest.approx((1.0 - 0.10) / 4.0 + offset)

    def slope(alpha: float) -> float:
        share = 1.0 / (1.0 + math.exp(-sharpness * (alpha - stall)))  # the negative stall is far away
        sine, cosine = math.sin(alpha), math.cos(alpha)
        plate = sine * cosine / (0.222 * sine + 0.283)
        plate_rises = (cosine**2 - sine**2) / (0.222 * sine + 0.283)
        plate_rises -= 0.222 * sine * cosine**2 / (0.222 * sine + 0.283) ** 2
        grows = sharpness * share * (1.0 - share)
        return (1.0 - share) * 4.0 + share * plate_rises - grows * (0.10 + 4.0 * alpha - plate)

    peak = brentq(slope, stall - 0.12, stall)
    angles = np.arange(stall - 0.12, stall, 1e-4)
    values = curve(wing, angles)
    assert angles[np.argmax(values)] == pytest.approx(peak, abs=2e-4)
    linear, separated = 0.10 + 4.0 * stall, plate(stall) * math.cos(stall)
    assert lift_coefficient(wing, stall) == pytest.approx(0.5 * (linear + separated), abs=1e-5)
    assert values.max() < 0.10 + 4.0 * peak


def test_drag_is_a_parabola_below_the_stall_and_rises_past_it() -> None:
    for alpha in (-0.1, 0.0, 0.1, 0.2):
        lift = lift_coefficient(WING, alpha)
        assert drag_coefficient(WING, alpha, lift, 1.0) == pytest.approx(0.03 + 0.07 * lift * lift)
        assert drag_coefficient(WING, alpha, lift, 0.4) == pytest.approx(0.03 + 0.4 * 0.07 * lift * lift)
    stall = stall_angle(WING)
    past = [drag_coefficient(WING, stall + angle, 0.8, 1.0) for angle in (0.0, 0.1, 0.2)]
    assert np.diff(past) == pytest.approx([0.15, 0.15])


def test_stalled_wing_pitches_down() -> None:
    """Past the stall the centre of pressure goes back, so the nose drops more than the lift says."""
    stall = stall_angle(WING)
    loads = wing_loads(WING, flow(stall + 0.2), STILL, CENTRED, 1.225, 1.0, 0.0)
    scale = 0.5 * 1.225 * 100.0 * 0.30
    lift = (loads.fx * math.sin(stall + 0.2) - loads.fz * math.cos(stall + 0.2)) / scale
    attached_only = 0.02 - lift * (0.145 - 0.125) / 0.25
    assert loads.my / (scale * 0.25) < attached_only - 0.1


def test_no_tip_drops_below_the_stall() -> None:
    """Wherever the tips themselves are attached, rolling does nothing but the linear damping, even
    with one half wing twisted."""
    twisted = WING._replace(stall_twist_rad=0.02)
    attached = stall_angle(WING) - 6.5 / WING.stall_sharpness - 0.02
    for wing in (WING, twisted):
        for alpha in np.linspace(-attached, attached, 12):
            assert tip_drop(wing, flow(alpha), 0.0) == 0.0


def test_tip_drop_begins_without_a_jump() -> None:
    """A fast roll brings it in little by little, at any airspeed."""
    for speed in (6.0, 10.0):
        drops = np.array([tip_drop(WING, flow(alpha, speed), 3.0) for alpha in np.linspace(0.0, 0.4, 800)])
        assert np.abs(np.diff(drops)).max() < 0.03 * np.abs(drops).max()


@pytest.mark.parametrize("roll_rate", [0.3, 1.0, 2.5])
def test_tip_drops_to_the_side_it_rolls(roll_rate: float) -> None:
    """The wing that goes down meets the air steeper, stalls deeper and falls further: autorotation
    (Glauert, "The rotation of an aerofoil about a fixed axis", ARC R&M 595 (1919))."""
    stall = stall_angle(WING)
    for alpha in (stall - 0.02, stall, stall + 0.05):
        drop = tip_drop(WING, flow(alpha), roll_rate)
        assert drop > 0.01 * roll_rate
        assert tip_drop(WING, flow(alpha), -roll_rate) == pytest.approx(-drop, abs=1e-15)
        # Upside down the same: the wing that goes down is then the one with less negative incidence.
        assert tip_drop(WING._replace(lift_zero=0.0), flow(-alpha), roll_rate) > 0.0


def test_twisted_half_wing_stalls_first() -> None:
    """More incidence on the right: the right wing stalls first and drops."""
    twisted = WING._replace(stall_twist_rad=0.02)
    assert tip_drop(twisted, flow(stall_angle(WING)), 0.0) > 0.005
    assert tip_drop(twisted._replace(stall_twist_rad=-0.02), flow(stall_angle(WING)), 0.0) < -0.005


def test_two_half_wings_autorotate_where_the_lift_curve_falls() -> None:
    """Two half wings at +-y roll with Cl = -(y/b)(CL_right - CL_left)/2. With the damping that
    belongs to their attached lift, -2 a (y/b)^2, the whole moment must be that of the blended lift
    curve at the two local incidences; so rolling is damped where the curve rises, and driven where
    it falls (Glauert 1919; the share of drag left out)."""
    wing = WING._replace(roll_roll_rate=-2.0 * 4.0 * 0.22**2)
    roll_rate, speed = 0.2, 10.0
    local = roll_rate * 0.22 * 1.2 / speed
    scale = 0.5 * 1.225 * speed**2 * 0.30 * 1.2
    signs = []
    for alpha in np.arange(0.14, 0.40, 0.01):
        loads = wing_loads(wing, flow(alpha), (roll_rate, 0.0, 0.0), CENTRED, 1.225, 1.0, 0.0)
        right, left = lift_coefficient(wing, alpha + local), lift_coefficient(wing, alpha - local)
        assert loads.mx / scale == pytest.approx(-0.5 * 0.22 * (right - left), abs=1e-12)
        signs.append(loads.mx > 0.0)
    assert any(signs)
    assert not signs[0]
    assert not signs[-1]  # the separated plate's lift rises again


def test_no_air_no_loads() -> None:
    """At rest there is no angle to speak of; loads vanish and nothing divides by zero."""
    at_rest = air_state(0.0, 0.0, 0.0)
    assert at_rest == AirState(0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0)
    loads = wing_loads(WING, at_rest, (1.0, 1.0, 1.0), (0.1, 0.1), 1.225, 1.0, 0.0)
    assert all(math.isfinite(value) for value in loads)
    assert max(abs(value) for value in loads) < 0.2


def test_incidence_and_sideslip() -> None:
    """tan alpha = w/u, sin beta = v/V (ISO 1151-1); air from the right is a positive sideslip."""
    air = air_state(9.0, 1.0, 2.0)
    assert air.airspeed_mps == pytest.approx(math.sqrt(86.0))
    assert air.alpha_rad == pytest.approx(math.atan(2.0 / 9.0))
    assert air.beta_rad == pytest.approx(math.asin(1.0 / math.sqrt(86.0)))
    assert (air.sin_alpha, air.cos_alpha) == pytest.approx((math.sin(air.alpha_rad), math.cos(air.alpha_rad)))
    assert (air.sin_beta, air.cos_beta) == pytest.approx((math.sin(air.beta_rad), math.cos(air.beta_rad)))
    backwards = air_state(-5.0, 0.0, 1.0)
    assert backwards.alpha_rad == pytest.approx(math.atan2(1.0, -5.0))

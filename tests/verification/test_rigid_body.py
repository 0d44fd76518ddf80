"""The rigid body against closed forms: free rotation, a published derivative, the gyroscope."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ellipj

from overarm.frames import angles_from_quaternion, body_to_launch, launch_to_body, quaternion_from_angles
from overarm.physics.rigid_body import Body, Mass, body_rates, normalised
from overarm.physics.wing import Loads
from tests.flying import body_at, fly, step

NO_LOADS = Loads(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
TOP = Mass(1.0, 0.020, 0.045, 0.064, 0.0)
SKEW = Mass(1.2, 0.045, 0.020, 0.064, 0.002)


def rates_with(
    mass: Mass, loads: Loads = NO_LOADS, rotor_momentum: float = 0.0, gravity: float = 0.0
) -> Callable[[Body], Body]:
    return lambda body: body_rates(body, mass, loads, rotor_momentum, 0.0, gravity)


@pytest.mark.parametrize(
    ("end_s", "published"),
    [(1.0, (-1.83531294, 0.80628469, 2.95639733)), (2.0, (1.38379267, -1.46495263, 2.85352983))],
)
def test_free_rotation(end_s: float, published: tuple[float, float, float]) -> None:
    """Landau and Lifshitz, *Mechanics*, section 37: Jacobi's elliptic functions; the published digits
    come from that formula, evaluated a second time here."""
    end = fly(body_at(p=2.0, r=3.0), rates_with(TOP), end_s, round(1000 * end_s))
    assert end[10:13] == pytest.approx(published, abs=1e-7)
    sn, cn, dn, _ = ellipj(2.891366459 * end_s, 0.182748538)
    swing = math.sqrt(0.020 * 4.0 * (0.064 - 0.020) / (0.045 * (0.064 - 0.045)))
    assert (abs(end.p), abs(end.q), end.r) == pytest.approx((2 * abs(cn), swing * abs(sn), 3 * dn), abs=1e-7)


def test_free_rotation_returns_after_its_period() -> None:
    end = fly(body_at(p=2.0, r=3.0), rates_with(TOP), 2.284081054, 2000)
    assert end[10:13] == pytest.approx((2.0, 0.0, 3.0), abs=1e-7)


def test_published_derivative() -> None:
    """Beard and McLain, *Small Unmanned Aircraft* (2012), equations 3.14 to 3.17: a row of the
    authors' check file for their 11 kg aircraft. The quaternion is not of unit length on purpose;
    gravity is among their forces, so ours is zero."""
    mass = Mass(11.0, 0.8244, 1.135, 1.759, 0.1204)
    body = body_at(v=3.0, w=6.0, e0=1.0, e1=0.6, e3=0.2, r=3.0)
    rate = body_rates(body, mass, Loads(10.0, 5.0, 0.0, 0.0, 14.0, 0.0), 0.0, 0.0, 0.0)
    assert (rate.u, rate.v, rate.w) == pytest.approx((9.90909091, 0.45454545, 0.0), abs=1e-7)
    assert rate[6:10] == pytest.approx((-0.3, 0.0, -0.9, 1.5), abs=1e-12)
    assert rate[10:13] == pytest.approx((0.0, 13.28951542, 0.0), abs=1e-7)


def inertia(mass: Mass) -> NDArray[np.float64]:
    return np.array(
        [
            [mass.ixx_kg_m2, 0.0, -mass.ixz_kg_m2],
            [0.0, mass.iyy_kg_m2, 0.0],
            [-mass.ixz_kg_m2, 0.0, mass.izz_kg_m2],
        ]
    )


def test_derivative_is_newton_and_euler() -> None:
    """m (v' + w x v) = F + m g and J w' + w x (J w + h) = M, in vectors, at random states."""
    random = np.random.default_rng(4)
    for _ in range(50):
        velocity, turning, force, moment = random.normal(size=(4, 3)) * [[8.0], [3.0], [5.0], [0.3]]
        attitude = quaternion_from_angles(*random.uniform(-1.4, 1.4, 3))
        body = Body(0.0, 0.0, 0.0, *velocity, *attitude, *turning, 0.0)
        rotor = np.array([random.normal() * 0.1, 0.0, 0.0])
        rate = body_rates(body, SKEW, Loads(*force, *moment), rotor[0], 7.0, 9.80665)
        weight = np.array(launch_to_body(*attitude, 0.0, 0.0, 9.80665))
        np.testing.assert_allclose(
            rate[3:6], force / SKEW.mass_kg + weight - np.cross(turning, velocity), atol=1e-11
        )
        turned = np.linalg.solve(inertia(SKEW), moment - np.cross(turning, inertia(SKEW) @ turning + rotor))
        np.testing.assert_allclose(rate[10:13], turned, atol=1e-10)
        np.testing.assert_allclose(rate[0:3], body_to_launch(*attitude, *velocity), atol=1e-12)
        assert rate.spin == 7.0


def momentum_in_launch_frame(body: Body, mass: Mass, rotor_momentum: float) -> NDArray[np.float64]:
    held = inertia(mass) @ np.array(body[10:13]) + [rotor_momentum, 0.0, 0.0]
    return np.array(body_to_launch(*body[6:10], *held))


@pytest.mark.parametrize("rotor_momentum", [0.0, 0.15, -0.15])
def test_angular_momentum_is_kept(rotor_momentum: float) -> None:
    """Nothing turns the body: momentum of body and rotor, in a frame that does not turn, stays."""
    start = normalised(body_at(e1=0.2, e2=-0.3, p=1.0, q=-2.0, r=0.5))
    end = fly(start, rates_with(SKEW, rotor_momentum=rotor_momentum), 3.0, 1500)
    before = momentum_in_launch_frame(start, SKEW, rotor_momentum)
    np.testing.assert_allclose(momentum_in_launch_frame(end, SKEW, rotor_momentum), before, atol=1e-9)
    assert abs(angles_from_quaternion(*end[6:10])[0]) > 0.1  # it did turn


def test_momentum_is_kept_while_the_rotor_spins_up() -> None:
    """The motor turns the rotor one way and the body the other, by the same torque."""
    rotor_inertia, torque = 1e-4, 0.05

    def rates(body: Body) -> Body:
        loads = Loads(0.0, 0.0, 0.0, -torque, 0.0, 0.0)
        return body_rates(body, SKEW, loads, rotor_inertia * body.spin, torque / rotor_inertia, 0.0)

    start = normalised(body_at(e1=0.1, e2=0.1, p=0.2, q=1.0, r=-0.4))
    end = fly(start, rates, 1.0, 1000)
    assert end.spin == pytest.approx(500.0)
    np.testing.assert_allclose(
        momentum_in_launch_frame(end, SKEW, rotor_inertia * end.spin),
        momentum_in_launch_frame(start, SKEW, 0.0),
        atol=1e-9,
    )


def test_energy_of_free_rotation_is_kept() -> None:
    start = body_at(p=1.0, q=-2.0, r=0.5)
    end = fly(start, rates_with(SKEW, rotor_momentum=0.1), 3.0, 1500)
    before, after = (np.array(body[10:13]) @ inertia(SKEW) @ np.array(body[10:13]) for body in (start, end))
    assert after == pytest.approx(before, rel=1e-9)


ROTOR_MOMENTUM = 0.15
PITCHING_MOMENT = 0.06


def test_steady_precession() -> None:
    """A gyroscope pushed by a moment M across its axle turns about the third axis at M/H (Feynman,
    *Lectures on Physics* I (1963), section 20-3). A nose-up moment yaws the nose of an aeroplane with
    a clockwise propeller to the right, steadily: nothing else starts to turn."""
    precession = PITCHING_MOMENT / ROTOR_MOMENTUM
    loads = Loads(0.0, 0.0, 0.0, 0.0, PITCHING_MOMENT, 0.0)
    end = fly(body_at(r=precession), rates_with(TOP, loads, ROTOR_MOMENTUM), 2.0, 500)
    assert end[10:13] == pytest.approx((0.0, 0.0, precession), abs=1e-12)
    bank, pitch, yaw = angles_from_quaternion(*end[6:10])
    assert (bank, pitch, yaw) == pytest.approx((0.0, 0.0, 2.0 * precession), abs=1e-9)


def test_nutation_from_rest() -> None:
    """From rest the precession overshoots: r = (M/H)(1 - cos kt), q = (M/H) sqrt(Izz/Iyy) sin kt,
    k = H/sqrt(Iyy Izz): the linear gyroscope, exact here because Iyy = Izz keeps the roll rate zero
    (Goldstein, *Classical Mechanics*, 2nd ed. (1980), section 5-7)."""
    across = 0.064
    mass = Mass(1.0, 0.02, across, across, 0.0)
    loads = Loads(0.0, 0.0, 0.0, 0.0, PITCHING_MOMENT, 0.0)
    precession, nutation = PITCHING_MOMENT / ROTOR_MOMENTUM, ROTOR_MOMENTUM / across
    for end_s in (0.4, 1.1, 2.0):
        end = fly(body_at(), rates_with(mass, loads, ROTOR_MOMENTUM), end_s, 400)
        assert end.q == pytest.approx(precession * math.sin(nutation * end_s), abs=1e-9)
        assert end.r == pytest.approx(precession * (1.0 - math.cos(nutation * end_s)), abs=1e-9)
        assert abs(end.p) < 1e-15


@pytest.mark.parametrize(("turning", "nose_right"), [(1.0, 1.0), (-1.0, -1.0)])
def test_direction_of_precession(turning: float, nose_right: float) -> None:
    """Raising the tail of an aeroplane whose propeller turns clockwise seen from the cockpit swings
    the nose to the left (FAA, *Pilot's Handbook of Aeronautical Knowledge*, FAA-H-8083-25, chapter
    on aerodynamics of flight, gyroscopic action; from memory); pulling the nose up, to the right."""
    rate = body_rates(body_at(q=1.0), TOP, NO_LOADS, turning * ROTOR_MOMENTUM, 0.0, 0.0)
    assert rate.r == pytest.approx(nose_right * ROTOR_MOMENTUM / TOP.izz_kg_m2)


def test_order_of_accuracy() -> None:
    """The error of a classical Runge-Kutta step falls by 16 when the step is halved (Hairer, Norsett,
    Wanner, *Solving Ordinary Differential Equations I*, 2nd ed. (1993), section II.1); a rate
    that jumps or that depends on anything but the state would spoil it."""
    start = body_at(u=9.0, w=0.5, p=2.0, q=0.4, r=3.0)
    rates = rates_with(SKEW, Loads(1.0, 0.2, -8.0, 0.01, 0.02, -0.01), 0.1, 9.80665)
    exact = np.array(fly(start, rates, 1.0, 1600))
    errors = [np.linalg.norm(np.array(fly(start, rates, 1.0, steps)) - exact) for steps in (50, 100, 200)]
    for coarse, fine in pairwise(errors):
        assert math.log2(coarse / fine) == pytest.approx(4.0, abs=0.25)


def test_quaternion_keeps_its_length() -> None:
    """Without scaling the length drifts by less than 1e-9 in 3 s at 5 ms; with it not at all."""
    body = body_at(p=2.0, q=1.0, r=3.0)
    for _ in range(600):
        body = step(body, rates_with(TOP), 0.005)
    assert math.hypot(*body[6:10]) == pytest.approx(1.0, abs=1e-9)
    assert math.hypot(*normalised(body)[6:10]) == pytest.approx(1.0, abs=1e-15)
    assert normalised(body)[:6] == body[:6]
    assert normalised(body)[10:] == body[10:]

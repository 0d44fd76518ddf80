"""Whole flights with a known answer: fall in vacuum, drag alone, steady glide and climb, turn, phugoid.

The numbers are closed forms of point-mass mechanics and of the parabolic polar (Anderson,
*Introduction to Flight*, chapter 6), written beside each test; g = 9.80665 m/s2. All flights use the
package's own frames, wing and rigid body with a Runge-Kutta step.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import islice

import numpy as np
import pytest
from scipy.integrate import simpson
from scipy.optimize import minimize_scalar

from overarm.frames import angles_from_quaternion, body_to_launch, launch_to_body, quaternion_from_angles
from overarm.physics.rigid_body import Body, Mass, body_rates
from overarm.physics.wing import Loads, Wing, air_state, lift_coefficient, wing_loads
from tests.flying import body_at, fly, states

GRAVITY = 9.80665
DENSITY = 1.225
BALL = Mass(1.2, 0.02, 0.02, 0.02, 0.0)
MASS = Mass(1.2, 0.045, 0.020, 0.064, 0.002)
WEIGHT = 1.2 * GRAVITY
STATIC_MARGIN = 0.30

# The aircraft of the rows: m 1.2, S 0.30, CD = 0.025 + 0.07 CL^2. The strong static margin and a
# stall far away are ours, so that the flight settles on the CL that the trim asks for.
GLIDER = Wing(
    area_m2=0.30, span_m=1.25, chord_m=0.25, neutral_point_m=0.25 * STATIC_MARGIN, balance_point_m=0.0,
    lift_zero=0.0, lift_alpha=4.5, lift_pitch_rate=0.0, lift_elevator=0.0,
    lift_max=50.0, stall_offset_rad=0.0, stall_sharpness=50.0,
    drag_zero=0.025, drag_induced=0.07, drag_stall=0.0,
    moment_zero=0.6 * STATIC_MARGIN, moment_pitch_rate=-4.0, moment_elevator=-0.35,
    side_beta=-0.10, roll_beta=-0.06, roll_roll_rate=-0.45, roll_yaw_rate=0.08, roll_aileron=0.15,
    yaw_beta=0.03, yaw_roll_rate=-0.03, yaw_yaw_rate=-0.02, yaw_aileron=-0.005,
    roll_zero=0.0, stall_arm=0.22, stall_twist_rad=0.0,
)  # fmt: skip


def wing_rates(
    wing: Wing, mass: Mass, thrust_n: float = 0.0, gravity: float = GRAVITY
) -> Callable[[Body], Body]:
    def rates(body: Body) -> Body:
        air = air_state(body.u, body.v, body.w)
        lift = wing_loads(wing, air, (body.p, body.q, body.r), (0.0, 0.0), DENSITY, 1.0, 0.0)
        loads = lift._replace(fx=lift.fx + thrust_n)
        return body_rates(body, mass, loads, 0.0, 0.0, gravity)

    return rates


def flung(speed_mps: float, path_deg: float, pitch_deg: float, **more: float) -> Body:
    """Return a body on a path that need not be the way its nose points."""
    path = math.radians(path_deg)
    e0, e1, e2, e3 = quaternion_from_angles(0.0, math.radians(pitch_deg), 0.0)
    velocity = (speed_mps * math.cos(path), 0.0, -speed_mps * math.sin(path))
    u, v, w = launch_to_body(e0, e1, e2, e3, *velocity)
    return body_at(u=u, v=v, w=w, e0=e0, e1=e1, e2=e2, e3=e3, **more)


def speed_of(body: Body) -> float:
    return math.sqrt(body.u**2 + body.v**2 + body.w**2)


def sink_of(body: Body) -> float:
    return body_to_launch(*body[6:10], body.u, body.v, body.w)[2]


VACUUM = [
    # speed, path, height; apex, its time, end, range, speed at the end (not published for the second)
    ((10.0, 10.0, 1.5), (1.653741, 0.177072, 0.757821, 7.463078, 11.376289)),
    ((12.0, 20.0, 1.8), (2.658846, None, 1.154895, 13.022955, None)),
]


@pytest.mark.parametrize(("throw", "published"), VACUUM)
@pytest.mark.parametrize("tumble", [(0.0, 0.0, 0.0), (3.0, -4.0, 2.0)])
def test_vacuum(
    throw: tuple[float, ...], published: tuple[float | None, ...], tumble: tuple[float, float, float]
) -> None:
    """h = h0 + vt sin - gt^2/2: a tumbling ball falls as a still one (1e-5)."""
    speed, path, height = throw
    apex, apex_s, end_s, reach, end_speed = published
    p, q, r = tumble
    start = flung(speed, path, 35.0, z=-height, p=p, q=q, r=r)

    def rates(body: Body) -> Body:
        return body_rates(body, BALL, Loads(*[0.0] * 6), 0.0, 0.0, GRAVITY)

    assert end_s is not None
    end = fly(start, rates, end_s, 400)
    assert (-end.z, end.x, end.y) == pytest.approx((0.0, reach, 0.0), abs=1e-5)
    if end_speed is not None:
        assert speed_of(end) == pytest.approx(end_speed, abs=1e-5)
    top = fly(start, rates, apex_s or speed * math.sin(math.radians(path)) / GRAVITY, 200)
    assert (-top.z, sink_of(top)) == pytest.approx((apex, 0.0), abs=1e-5)


def test_drag_alone() -> None:
    """v = v0/(1 + k v0 t), x = ln(1 + k v0 t)/k, k = rho S CD/(2 m): no weight, no lift (1e-5). The
    nose points along the path, which is pitched and yawed in the launch frame."""
    wing = GLIDER._replace(lift_alpha=1e-9, drag_zero=0.03, moment_zero=0.0)
    attitude = quaternion_from_angles(0.3, 0.5, -0.7)
    start = body_at(u=12.0, **dict(zip(("e0", "e1", "e2", "e3"), attitude, strict=True)))
    end = fly(start, wing_rates(wing, MASS, gravity=0.0), 1.0, 200)
    assert speed_of(end) == pytest.approx(11.373060, abs=1e-5)
    assert math.hypot(end.x, end.y, end.z) == pytest.approx(11.680924, abs=1e-5)


def test_steady_glide() -> None:
    """tan(gamma) = -CD/CL, V = sqrt(2 W cos(gamma)/(rho S CL)). CL 0.6 is trimmed by the wing's
    moment; the flight starts 8 % slow and level, and the phugoid dies out with the time constant
    V (L/D)/g = 12.6 s (Etkin and Reid, 3rd ed. (1996), section 6.3): after 150 s it is below 1e-5."""
    start = flung(9.5, 0.0, math.degrees(0.6 / 4.5))
    end = fly(start, wing_rates(GLIDER, MASS), 150.0, 5000)
    assert math.degrees(math.asin(sink_of(end) / speed_of(end))) == pytest.approx(4.78261, rel=1e-4)
    assert speed_of(end) == pytest.approx(10.31346, rel=1e-4)
    assert sink_of(end) == pytest.approx(0.85989, rel=1e-4)
    bank, pitch, yaw = angles_from_quaternion(*end[6:10])
    assert pitch == pytest.approx(0.6 / 4.5 - math.radians(4.78261), abs=1e-5)
    assert (bank, yaw, end.y) == (0.0, 0.0, 0.0)


def lift_and_drag(wing: Wing, alpha: float, speed: float) -> tuple[float, float]:
    """Return lift and drag [N] from the body-axis loads of the wing."""
    air = air_state(speed * math.cos(alpha), 0.0, speed * math.sin(alpha))
    loads = wing_loads(wing, air, (0.0, 0.0, 0.0), (0.0, 0.0), DENSITY, 1.0, 0.0)
    return (
        loads.fx * math.sin(alpha) - loads.fz * math.cos(alpha),
        -loads.fx * math.cos(alpha) - loads.fz * math.sin(alpha),
    )


def glide_speed(lift: float) -> float:
    """Speed at which L = W for a lift coefficient [m/s]."""
    return math.sqrt(2.0 * WEIGHT / (DENSITY * 0.30 * lift))


def test_best_glide() -> None:
    """(L/D)max = 1/(2 sqrt(CD0 K)) at CL = sqrt(CD0/K), found by search over the wing's loads."""

    def drag_over_lift(alpha: float) -> float:
        lift, drag = lift_and_drag(GLIDER, alpha, 10.0)
        return drag / lift

    best = minimize_scalar(drag_over_lift, bounds=(0.02, 0.5), method="bounded", options={"xatol": 1e-9})
    assert 1.0 / best.fun == pytest.approx(11.95229, rel=1e-6)
    assert 4.5 * best.x == pytest.approx(0.59761, rel=1e-4)
    assert glide_speed(4.5 * best.x) == pytest.approx(10.35206, rel=1e-4)


def test_least_sink() -> None:
    """Least power W (CD/CL) V at CL = sqrt(3 CD0/K): 8.94266 W (L = W, as the row has it)."""

    def power(alpha: float) -> float:
        speed = glide_speed(4.5 * alpha)
        lift, drag = lift_and_drag(GLIDER, alpha, speed)
        assert lift == pytest.approx(WEIGHT)
        return drag * speed

    best = minimize_scalar(power, bounds=(0.02, 0.5), method="bounded", options={"xatol": 1e-9})
    assert best.fun == pytest.approx(8.94266, rel=1e-6)
    assert 4.5 * best.x == pytest.approx(1.03510, rel=1e-4)
    assert glide_speed(4.5 * best.x) == pytest.approx(7.86586, rel=1e-4)


def test_climb() -> None:
    """sin(gamma) = (T - D)/W at L = W: 5 N at 12 m/s climbs at 19.7269 deg, 4.05045 m/s."""
    alpha = WEIGHT / (0.5 * DENSITY * 144.0 * 0.30 * 4.5)
    lift, drag = lift_and_drag(GLIDER, alpha, 12.0)
    assert (lift, drag) == pytest.approx((WEIGHT, 1.02786), rel=1e-5)
    sine = (5.0 - drag) / WEIGHT
    assert sine == pytest.approx(0.337538, rel=1e-5)
    assert math.degrees(math.asin(sine)) == pytest.approx(19.7269, rel=1e-5)
    assert 12.0 * sine == pytest.approx(4.05045, rel=1e-5)


def test_energy_under_power() -> None:
    """d(energy)/dt = (T cos(alpha) - D) V: the height and speed gained in a powered zoom are the work
    of thrust less drag, summed along the flight by Simpson's rule."""
    start = flung(12.0, 10.0, 15.0, z=-2.0, q=0.3)
    path = list(islice(states(start, wing_rates(GLIDER, MASS, 5.0), 0.005), 401))
    power = []
    for body in path:
        speed = speed_of(body)
        _, drag = lift_and_drag(GLIDER, math.atan2(body.w, body.u), speed)
        power.append(5.0 * body.u - drag * speed)

    def energy(body: Body) -> float:
        return 0.6 * speed_of(body) ** 2 - WEIGHT * body.z + 0.5 * MASS.iyy_kg_m2 * body.q**2

    turning = []  # the work of the aerodynamic moment on the pitching body
    for body in path:
        air = air_state(body.u, 0.0, body.w)
        moment = wing_loads(GLIDER, air, (0.0, body.q, 0.0), (0.0, 0.0), DENSITY, 1.0, 0.0).my
        turning.append(moment * body.q)
    work = float(simpson(np.array(power) + np.array(turning), dx=0.005))
    assert energy(path[-1]) - energy(path[0]) == pytest.approx(work, rel=1e-6)


def test_stall_speed() -> None:
    """Vs = sqrt(2 W/(rho S CLmax)): with the peak of the blended curve at 1.1, the slowest speed at
    which the wing carries the weight is 7.63029 m/s; in a 30 deg bank 1/sqrt(cos 30) = 1.07457 more."""
    real = GLIDER._replace(lift_max=1.1, stall_offset_rad=0.0)

    def peak(offset: float) -> float:
        wing = real._replace(stall_offset_rad=offset)
        angles = np.arange(0.15, 0.35, 2e-4)
        return max(lift_coefficient(wing, alpha) for alpha in angles)

    low, high = 0.0, 0.2
    for _ in range(30):  # bisection: a later blend gives a higher peak
        middle = 0.5 * (low + high)
        low, high = (middle, high) if peak(middle) < 1.1 else (low, middle)
    wing = real._replace(stall_offset_rad=low)
    most = max(lift_and_drag(wing, alpha, 1.0)[0] for alpha in np.arange(0.15, 0.35, 2e-4))
    assert math.sqrt(WEIGHT / most) == pytest.approx(7.63029, rel=1e-4)
    banked = math.sqrt(WEIGHT / math.cos(math.radians(30.0)) / most)
    assert banked / math.sqrt(WEIGHT / most) == pytest.approx(1.07457, rel=1e-5)


def test_level_turn() -> None:
    """R = V^2/(g tan bank) = 34.6175 m, rate = g tan bank/V = 23.1715 deg/s at 14 m/s and 30 deg. A
    ball held by W/cos(bank) along its own up axis, turning with the rates of a steady turn
    (p, q, r) = rate (0, sin bank, cos bank), must fly half a circle to the right and not climb."""
    bank, rate = math.radians(30.0), math.radians(23.1715)
    attitude = dict(zip(("e0", "e1", "e2", "e3"), quaternion_from_angles(bank, 0.0, 0.0), strict=True))
    start = body_at(u=14.0, q=rate * math.sin(bank), r=rate * math.cos(bank), **attitude)
    held = Loads(0.0, 0.0, -WEIGHT / math.cos(bank), 0.0, 0.0, 0.0)

    def rates(body: Body) -> Body:
        return body_rates(body, BALL, held, 0.0, 0.0, GRAVITY)

    end = fly(start, rates, math.pi / rate, 1000)
    assert (end.x, end.y, end.z) == pytest.approx((0.0, 2.0 * 34.6175, 0.0), abs=2e-3)
    end_bank, pitch, yaw = angles_from_quaternion(*end[6:10])
    assert (end_bank, pitch, abs(yaw)) == pytest.approx((bank, 0.0, math.pi), abs=1e-4)


@pytest.mark.parametrize(("speed", "published"), [(10.0, 4.53048), (15.0, 6.79572)])
def test_phugoid(speed: float, published: float) -> None:
    """Lanchester, *Aerodonetics* (1908): at constant incidence and without drag the period is
    pi sqrt(2) V/g, whatever the aeroplane.

    A little inertia and a static margin of 2 chords keep the incidence within 0.2 %; drag is left
    out. What remains: pitching with the path takes a moment, which bends the incidence by
    |Cmq| c q/(2 V margin) and makes the swing 0.1 % slower (0.5 % with five times the damping,
    so the bar of 0.3 % leaves no room for a wrong sign or factor).
    """
    lift = WEIGHT / (0.5 * DENSITY * speed**2 * 0.30)
    margin = 2.0
    wing = GLIDER._replace(
        drag_zero=0.0, drag_induced=0.0, neutral_point_m=0.25 * margin, moment_zero=lift * margin,
        moment_pitch_rate=-0.2,
    )  # fmt: skip
    light = MASS._replace(iyy_kg_m2=0.005)
    start = flung(1.01 * speed, 0.0, math.degrees(lift / 4.5))
    crossings, before, step_s = [], -1.0, 0.005
    for k, body in enumerate(islice(states(start, wing_rates(wing, light), step_s), 2000)):
        now = -sink_of(body)
        if k > 40 and before < 0.0 <= now:
            crossings.append((k - now / (now - before)) * step_s)
        before = now
    assert crossings[0] == pytest.approx(published, rel=0.003)
    # Lanchester's energy law: the speed depends on the height alone.
    end = fly(start, wing_rates(wing, light), 2.0, 400)
    kept = 0.5 * speed_of(start) ** 2 - 0.5 * speed_of(end) ** 2 - GRAVITY * (-end.z)
    assert kept == pytest.approx(0.0, abs=0.005)

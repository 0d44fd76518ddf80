"""Two aircraft of a textbook: Beard and McLain, *Small Unmanned Aircraft*, Princeton (2012), appendix E.

The coefficients are those of tables E.1 and E.2 (E.2 as the authors' own course code has them); the
checked values are those of their check files. Ours are coefficients about the neutral point, theirs
about the balance point: Cm_x = Cm_x,np - CL_x (x_np - x_balance)/c, with the arm -Cm_alpha/CL_alpha.

Three things differ by design, and are allowed for by name where they matter:

- the authors turn the side force Y by no angle and the drag by the incidence alone; ours are in wind
  axes, so that our axial force has -Y sin(beta) and our side force Y cos(beta) - D sin(beta);
- their drag is CDp + k (CL0 + CL_alpha alpha)^2 + CD_de de, which a small elevator can make too small;
  ours is CD0 + k CL^2 with the whole lift;
- ours has no rudder and no side force of the ailerons: the test adds those.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import root

from overarm.frames import launch_to_body, quaternion_from_angles
from overarm.physics.rigid_body import Body, Mass, body_rates
from overarm.physics.wing import AirState, Loads, Wing, air_state, wing_loads
from tests.agreement import Agrees

BEARD = "Beard and McLain, Small Unmanned Aircraft (2012)"

GRAVITY = 9.81
DENSITY = 1.2682


class Table(NamedTuple):
    """The longitudinal part of a table of appendix E, about the balance point."""

    lift: tuple[float, float, float, float]  # CL0, per alpha, per q c/2V, per elevator
    moment: tuple[float, float, float, float]  # Cm0, per alpha, per q c/2V, per elevator
    lateral: tuple[float, ...]  # CY_b, Cl_b, Cl_p, Cl_r, Cl_da, Cn_b, Cn_p, Cn_r, Cn_da
    area_m2: float
    span_m: float
    chord_m: float
    blend_rad: float


FLYING_WING = Table(
    lift=(0.09167, 3.5016, 2.8932, 0.2724),
    # The pitching moment of the elevator is printed as -0.3245 and as -0.3254 in different copies.
    moment=(-0.02338, -0.5675, -1.3990, -0.3254),
    lateral=(-0.07359, -0.02854, -0.3209, 0.03066, 0.1682, -0.00040, -0.01297, -0.00434, -0.00328),
    area_m2=0.2589, span_m=1.4224, chord_m=0.3302, blend_rad=0.4712,
)  # fmt: skip
ELEVEN_KG = Table(
    lift=(0.23, 5.61, 7.95, 0.13),
    moment=(0.0135, -2.74, -38.21, -0.99),
    lateral=(-0.98, -0.13, -0.51, 0.25, 0.17, 0.073, 0.069, -0.095, -0.011),
    area_m2=0.55, span_m=2.8956, chord_m=0.18994, blend_rad=0.47,
)  # fmt: skip
ELEVEN_KG_MASS = Mass(11.0, 0.8244, 1.135, 1.759, 0.1204)
ELEVATOR_DRAG = 0.0135
# Side force, rolling and yawing moment per rad of rudder; side force per rad of aileron.
RUDDER = (0.19, 0.0024, -0.069)
AILERON_SIDE = 0.075


def induced(table: Table) -> float:
    """k = 1/(pi e AR), e = 0.9."""
    return table.area_m2 / (math.pi * 0.9 * table.span_m**2)


def wing_of(table: Table, drag_zero: float = 0.0) -> Wing:
    """Return a table in our terms."""
    margin = -table.moment[1] / table.lift[1]
    lift_zero, lift_alpha, lift_pitch_rate, lift_elevator = table.lift
    moments = [cm + cl * margin for cm, cl in zip(table.moment, table.lift, strict=True)]
    assert moments[1] == pytest.approx(0.0, abs=1e-15)
    side, roll_b, roll_p, roll_r, roll_a, yaw_b, yaw_p, yaw_r, yaw_a = table.lateral
    return Wing(
        area_m2=table.area_m2, span_m=table.span_m, chord_m=table.chord_m,
        neutral_point_m=margin * table.chord_m, balance_point_m=0.0,
        lift_zero=lift_zero, lift_alpha=lift_alpha, lift_pitch_rate=lift_pitch_rate,
        lift_elevator=lift_elevator,
        lift_max=lift_zero + lift_alpha * table.blend_rad, stall_offset_rad=0.0, stall_sharpness=50.0,
        drag_zero=drag_zero, drag_induced=induced(table), drag_stall=0.0,
        moment_zero=moments[0], moment_pitch_rate=moments[2], moment_elevator=moments[3],
        side_beta=side, roll_beta=roll_b, roll_roll_rate=roll_p, roll_yaw_rate=roll_r, roll_aileron=roll_a,
        yaw_beta=yaw_b, yaw_roll_rate=yaw_p, yaw_yaw_rate=yaw_r, yaw_aileron=yaw_a,
        roll_zero=0.0, stall_arm=0.22, stall_twist_rad=0.0,
    )  # fmt: skip


def test_static_margin_of_the_flying_wing(agrees: Agrees) -> None:
    """-Cm_alpha/CL_alpha = 0.16207 chords; our moment must fall with the lift by just that."""
    wing = wing_of(FLYING_WING)
    agrees(
        "static margin of the flying wing [chords]",
        BEARD,
        (wing.neutral_point_m - wing.balance_point_m) / wing.chord_m,
        0.16207,
        abs=1e-5,
    )

    def lift_and_moment(alpha: float) -> tuple[float, float]:
        air = air_state(15.0 * math.cos(alpha), 0.0, 15.0 * math.sin(alpha))
        loads = wing_loads(wing, air, (0.0, 0.0, 0.0), (-0.1, 0.0), DENSITY, 1.0, 0.0)
        return loads.fx * math.sin(alpha) - loads.fz * math.cos(alpha), loads.my / wing.chord_m

    low, high = lift_and_moment(0.05), lift_and_moment(0.06)
    agrees(
        "slope of its moment over its lift",
        BEARD,
        (high[1] - low[1]) / (high[0] - low[0]),
        -0.16207,
        abs=1e-5,
    )


def test_linear_trim_of_the_flying_wing(agrees: Agrees) -> None:
    """1.56 kg at 15 m/s: CL 0.41431 and no moment at alpha 0.11307 rad, elevator -0.26904 rad."""
    wing, scale = wing_of(FLYING_WING), 0.5 * DENSITY * 225.0 * 0.2589

    def unbalanced(unknown: NDArray[np.float64]) -> list[float]:
        alpha, elevator = unknown
        air = air_state(15.0 * math.cos(alpha), 0.0, 15.0 * math.sin(alpha))
        loads = wing_loads(wing, air, (0.0, 0.0, 0.0), (elevator, 0.0), DENSITY, 1.0, 0.0)
        lift = loads.fx * math.sin(alpha) - loads.fz * math.cos(alpha)
        return [lift / scale - 1.56 * GRAVITY / scale, loads.my / (scale * wing.chord_m)]

    found = root(unbalanced, [0.1, -0.2], tol=1e-12)
    assert found.success
    agrees("lift coefficient of its level flight", BEARD, 1.56 * GRAVITY / scale, 0.41431, abs=1e-5)
    agrees("incidence and elevator of its trim [rad]", BEARD, found.x, [0.11307, -0.26904], abs=1e-5)


def propulsion(airspeed: float, throttle: float) -> tuple[float, float]:
    """Return thrust [N] and torque [N m] of the 11 kg aircraft's propeller and motor, by the published
    polynomials CT(J), CQ(J) and the motor equation, which make the speed of rotation a quadratic."""
    diameter, resistance, idle_amps, most_volts = 0.508, 0.042, 1.5, 44.4
    torque_per_amp = 60.0 / (2.0 * math.pi * 145.0)
    thrust_by_advance, torque_by_advance = (-0.1079, -0.06044, 0.09357), (-0.01664, 0.004970, 0.005230)
    volts = most_volts * throttle
    turn = 2.0 * math.pi
    square = torque_by_advance[2] * DENSITY * diameter**5 / turn**2
    linear = torque_by_advance[1] * DENSITY * diameter**4 * airspeed / turn + torque_per_amp**2 / resistance
    constant = torque_by_advance[0] * DENSITY * diameter**3 * airspeed**2
    constant -= torque_per_amp * (volts / resistance - idle_amps)
    revs = (-linear + math.sqrt(linear**2 - 4.0 * square * constant)) / (2.0 * square) / turn
    advance = airspeed / (revs * diameter)
    scale = DENSITY * revs**2 * diameter**4
    return (
        scale * float(np.polyval(thrust_by_advance, advance)),
        scale * diameter * float(np.polyval(torque_by_advance, advance)),
    )


def test_published_thrust_and_torque(agrees: Agrees) -> None:
    """What the other tests here stand on."""
    agrees(
        "thrust and torque of the 11 kg aircraft (test stand only) [N, N m]",
        BEARD,
        propulsion(27.39323489287441, 1.0),
        (31.31315544701058, 1.58778287798956),
        rel=1e-9,
    )


class Controls(NamedTuple):
    """Deflections [rad] and throttle."""

    elevator: float
    aileron: float
    rudder: float
    throttle: float


def loads_of(wing: Wing, air: AirState, rates: tuple[float, float, float], controls: Controls) -> Loads:
    """Our wing, with the published rudder, aileron side force, thrust and torque reaction added."""
    ours = wing_loads(wing, air, rates, (controls.elevator, controls.aileron), DENSITY, 1.0, 0.0)
    push, torque = propulsion(air.airspeed_mps, controls.throttle)
    scale = 0.5 * DENSITY * air.airspeed_mps**2 * wing.area_m2
    side, roll, yaw = (part * controls.rudder for part in RUDDER)
    return Loads(
        ours.fx + push,
        ours.fy + scale * (side + AILERON_SIDE * controls.aileron),
        ours.fz,
        ours.mx + scale * wing.span_m * roll - torque,
        ours.my,
        ours.mz + scale * wing.span_m * yaw,
    )


def drag_difference(alpha: float, lift: float, elevator: float) -> float:
    """Return our drag coefficient less the authors' one at the same lift."""
    attached = ELEVEN_KG.lift[0] + ELEVEN_KG.lift[1] * alpha
    return induced(ELEVEN_KG) * (lift**2 - attached**2) - ELEVATOR_DRAG * elevator


WINDY = Controls(-0.15705144, 0.01788999, 0.01084654, 1.0)
WINDY_RATES = (0.00498772167, 0.168736005, 0.171797313)
WINDY_ATTITUDE = (0.938688796, 0.247421558, 0.0656821468, 0.230936730)
WINDY_FORCE = (36.22803068339798, 48.44092504137796, -39.39246596662818)
WINDY_MOMENT = (0.10867448, 0.12496233, -0.09481002)


def windy_air() -> AirState:
    speed, alpha, beta = 27.39323489287441, 0.05259649205640062, 0.022801214339060967
    flat = speed * math.cos(beta)
    air = air_state(flat * math.cos(alpha), speed * math.sin(beta), flat * math.sin(alpha))
    assert (air.airspeed_mps, air.alpha_rad, air.beta_rad) == pytest.approx((speed, alpha, beta), rel=1e-12)
    return air


def test_published_forces_and_moments_in_wind(agrees: Agrees) -> None:
    """The moments agree to the digits printed. The forces differ by what the head of this file says: 0.32 N
    of 36 N along the body, 0.03 N of 48 N to the side, 0.02 N of 39 N down; with that allowed for, by
    1e-6 of the largest force."""
    air, weight = windy_air(), np.array(launch_to_body(*WINDY_ATTITUDE, 0.0, 0.0, 11.0 * GRAVITY))
    ours = loads_of(wing_of(ELEVEN_KG), air, WINDY_RATES, WINDY)
    agrees("moments of the 11 kg aircraft in a gusty turn [N m]", BEARD, ours[3:], WINDY_MOMENT, abs=2e-7)

    force = np.array(ours[:3]) + weight
    assert np.abs(force - WINDY_FORCE).max() < 0.36
    assert np.abs(force - WINDY_FORCE)[1:].max() < 0.05

    scale = 0.5 * DENSITY * air.airspeed_mps**2 * 0.55
    q_hat = 0.5 * WINDY_RATES[1] * 0.18994 / air.airspeed_mps
    lift = float(np.dot(ELEVEN_KG.lift, (1.0, air.alpha_rad, q_hat, WINDY.elevator)))
    extra_drag = scale * drag_difference(air.alpha_rad, lift, WINDY.elevator)
    drag, side = scale * induced(ELEVEN_KG) * lift**2, scale * -0.98 * air.beta_rad
    explained = np.array(
        [
            -(extra_drag - drag * (1.0 - air.cos_beta) + side * air.sin_beta) * air.cos_alpha,
            side * (air.cos_beta - 1.0) - drag * air.sin_beta,
            -(extra_drag - drag * (1.0 - air.cos_beta) + side * air.sin_beta) * air.sin_alpha,
        ]
    )
    np.testing.assert_allclose(force - explained, WINDY_FORCE, atol=2e-6)


TRIM_SPEED = 25.0
TRIM_ALPHA = 0.050011
TRIM = Controls(-0.124778, 0.001836, -0.000303, 0.676752)


def trim_lift() -> float:
    return float(np.dot(ELEVEN_KG.lift, (1.0, TRIM_ALPHA, 0.0, TRIM.elevator)))


def trimmed_wing() -> Wing:
    """The wing with a zero-lift drag that gives it the authors' drag at the trim point."""
    return wing_of(ELEVEN_KG, -drag_difference(TRIM_ALPHA, trim_lift(), TRIM.elevator))


def trimmed_body() -> Body:
    attitude = quaternion_from_angles(0.0, TRIM_ALPHA, 0.0)
    u, w = TRIM_SPEED * math.cos(TRIM_ALPHA), TRIM_SPEED * math.sin(TRIM_ALPHA)
    return Body(0.0, 0.0, -100.0, u, 0.0, w, *attitude, 0.0, 0.0, 0.0, 0.0)


def rate_of(wing: Wing, body: Body) -> Body:
    air = air_state(body.u, body.v, body.w)
    loads = loads_of(wing, air, (body.p, body.q, body.r), TRIM)
    return body_rates(body, ELEVEN_KG_MASS, loads, 0.0, 0.0, GRAVITY)


def test_published_trim() -> None:
    """Level at 25 m/s: nothing accelerates by more than 0.011 m/s2 (0.010 is left by the published
    digits of the trim in the authors' own force model) or turns by more than 3e-4 rad/s2. With the
    zero-lift drag of their code our drag is 0.28 N more, which is 0.026 m/s2."""
    rate = rate_of(trimmed_wing(), trimmed_body())
    assert np.abs(rate[3:6]).max() < 0.011
    assert abs(rate.u) < 1e-3
    assert np.abs(rate[10:13]).max() < 3e-4
    assert (rate.x, rate.y, rate.z) == pytest.approx((25.0, 0.0, 0.0), abs=1e-12)
    plain = rate_of(wing_of(ELEVEN_KG), trimmed_body())
    assert plain.u - rate.u == pytest.approx(-0.0259, abs=2e-4)


# Rows and columns: u, w, q, pitch, height (up).
PUBLISHED_MATRIX = np.array(
    [
        [-0.20676658, 0.50039026, -1.21983882, -9.79511927, 0.0],
        [-0.56064206, -4.46393561, 24.37105023, -0.53938541, 0.0],
        [0.19993539, -3.99297865, -5.29473836, 0.0, 0.0],
        [0.0, 0.0, 1.0, 0.0, 0.0],
        [0.04999035, -0.9987497, 0.0, 24.99958361, 0.0],
    ]
)


def longitudinal_rates(state: NDArray[np.float64]) -> NDArray[np.float64]:
    u, w, q, pitch, height = state
    e0, e1, e2, e3 = quaternion_from_angles(0.0, pitch, 0.0)
    body = trimmed_body()._replace(u=u, w=w, q=q, z=-height, e0=e0, e1=e1, e2=e2, e3=e3)
    rate = rate_of(trimmed_wing(), body)
    # pitch = 2 atan2(e2, e0) while the wings are level
    return np.array([rate.u, rate.w, rate.q, 2.0 * (e0 * rate.e2 - e2 * rate.e0), -rate.z])


def numerical_matrix() -> NDArray[np.float64]:
    """Central differences, but for the pitch: the published column is a forward difference of 0.01
    rad, as its entries -g cos, -g sin and V show: each is off by half the step times its own slope
    (-9.7951 for -9.7977, -0.5394 for -0.4904)."""
    body = trimmed_body()
    at = np.array([body.u, body.w, 0.0, TRIM_ALPHA, 100.0])
    columns = []
    for number, unit in enumerate(np.eye(5)):
        back, ahead = (0.0, 1e-2) if number == 3 else (1e-4, 1e-4)
        low, high = longitudinal_rates(at - back * unit), longitudinal_rates(at + ahead * unit)
        columns.append((high - low) / (ahead + back))
    return np.column_stack(columns)


def test_published_linear_model() -> None:
    """A_lon within 2e-3 in all entries but one: pitching adds lift, and in our polar its drag, which
    is 2 k CL CL_q c/(2V) rho V^2 S/(2m) = 0.0137 m/s of the -1.2198 m/s."""
    ours = numerical_matrix()
    chord_time = 0.5 * 0.18994 / TRIM_SPEED
    slope = 2.0 * induced(ELEVEN_KG) * trim_lift() * 7.95 * chord_time
    explained = np.zeros((5, 5))
    explained[0, 2] = -slope * 0.5 * DENSITY * TRIM_SPEED**2 * 0.55 / 11.0
    assert explained[0, 2] == pytest.approx(-0.0137, abs=1e-4)
    np.testing.assert_allclose(ours - explained, PUBLISHED_MATRIX, atol=2e-3)
    np.testing.assert_allclose(ours[:, 3], PUBLISHED_MATRIX[:, 3], atol=1e-5)
    np.testing.assert_allclose(ours[2:], PUBLISHED_MATRIX[2:], atol=2e-4)


def test_published_modes(agrees: Agrees) -> None:
    """Short period and phugoid of the aircraft, as eigenvalues; 5e-4 per second of each part, from
    the same differences of drag (measured: 3.2e-4 and 2.4e-4)."""
    values = np.linalg.eigvals(numerical_matrix())
    short, phugoid = sorted(values[values.imag > 0.0], key=abs, reverse=True)
    agrees(
        "short period of the 11 kg aircraft, eigenvalue [1/s]",
        BEARD,
        (short.real, short.imag),
        (-4.87859, 9.86956),
        abs=5e-4,
    )
    agrees(
        "its phugoid, eigenvalue [1/s]", BEARD, (phugoid.real, phugoid.imag), (-0.10413, 0.48883), abs=5e-4
    )
    agrees(
        "short period: frequency [rad/s], damping",
        BEARD,
        (abs(short), -short.real / abs(short)),
        (11.009, 0.443),
        rel=1e-3,
    )
    agrees(
        "phugoid: frequency [rad/s], damping",
        BEARD,
        (abs(phugoid), -phugoid.real / abs(phugoid)),
        (0.4998, 0.208),
        rel=5e-3,
    )
    agrees("phugoid: period [s]", BEARD, 2.0 * math.pi / phugoid.imag, 12.85, rel=1e-3)


def test_published_transfer_coefficients(agrees: Agrees) -> None:
    """a_phi1, a_phi2, a_theta1, a_theta2, a_theta3 of the authors' chapter 5 at the trim: damping and
    power of roll and pitch, as slopes of our angular accelerations."""
    wing = trimmed_wing()

    def turning(alpha: float, p: float, q: float, controls: Controls) -> tuple[float, float]:
        air = air_state(TRIM_SPEED * math.cos(alpha), 0.0, TRIM_SPEED * math.sin(alpha))
        rate = body_rates(
            trimmed_body()._replace(p=p, q=q), ELEVEN_KG_MASS, loads_of(wing, air, (p, q, 0.0), controls),
            0.0, 0.0, GRAVITY,
        )  # fmt: skip
        return rate.p, rate.q

    still, step = turning(TRIM_ALPHA, 0.0, 0.0, TRIM), 1e-3
    rolling = turning(TRIM_ALPHA, step, 0.0, TRIM)
    aileron = turning(TRIM_ALPHA, 0.0, 0.0, TRIM._replace(aileron=TRIM.aileron + step))
    pitching = turning(TRIM_ALPHA, 0.0, step, TRIM)
    steeper = turning(TRIM_ALPHA + step, 0.0, 0.0, TRIM)
    elevator = turning(TRIM_ALPHA, 0.0, 0.0, TRIM._replace(elevator=TRIM.elevator + step))
    slopes = [
        -(rolling[0] - still[0]) / step,
        (aileron[0] - still[0]) / step,
        -(pitching[1] - still[1]) / step,
        -(steeper[1] - still[1]) / step,
        (elevator[1] - still[1]) / step,
    ]
    agrees(
        "transfer coefficients of roll and pitch",
        BEARD,
        slopes,
        [22.62885, 130.88368, 5.29474, 99.94742, -36.11239],
        rel=1e-5,
    )

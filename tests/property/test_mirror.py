"""The aeroplane has a plane of symmetry: what happens on the left is the mirror of the right.

Mirrored at that plane, the lateral parts of vectors (y) and the longitudinal parts of turning (p, r,
rolling and yawing moments, the rotor's momentum) change their signs, all else stays (ISO 1151). So a
mirrored state, with aileron, warp, twist, wind and sense of rotation turned round, must have the
mirrored derivative.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.flight.forces import Held, rates
from overarm.flight.record import Launch
from overarm.frames import quaternion_from_angles
from overarm.physics.line import Line
from overarm.physics.motor import Motor, Pack
from overarm.physics.propeller import Propeller
from overarm.physics.rigid_body import Body, Mass, body_rates
from overarm.physics.surfaces import Surfaces
from overarm.physics.wind import Air
from overarm.physics.wing import Loads, Wing, air_state, wing_loads
from overarm.slots import blank

many = settings(max_examples=150, deadline=None)


def about(most: float) -> st.SearchStrategy[float]:
    """Numbers within +-most, to a millionth: nothing so small that it underflows."""
    return st.floats(-most, most).map(lambda size: round(size, 6))


WING = Wing(
    area_m2=0.42, span_m=1.35, chord_m=0.32, neutral_point_m=0.229, balance_point_m=0.203,
    lift_zero=0.10, lift_alpha=3.9, lift_pitch_rate=3.0, lift_elevator=0.9,
    lift_max=1.0, stall_offset_rad=0.03, stall_sharpness=50.0,
    drag_zero=0.036, drag_induced=0.09, drag_stall=1.5,
    moment_zero=0.02, moment_pitch_rate=-1.1, moment_elevator=-0.4,
    side_beta=-0.15, roll_beta=-0.05, roll_roll_rate=-0.42, roll_yaw_rate=0.1, roll_aileron=0.2,
    yaw_beta=0.04, yaw_roll_rate=-0.05, yaw_yaw_rate=-0.03, yaw_aileron=-0.008,
    roll_zero=0.0, stall_arm=0.22, stall_twist_rad=0.0,
)  # fmt: skip
MASS = Mass(1.6, 0.10, 0.045, 0.14, 0.003)


def body_of(
    velocity: tuple[float, ...],
    angles: tuple[float, ...],
    turning: tuple[float, ...],
    place: tuple[float, ...],
) -> Body:
    return Body(*place, *velocity, *quaternion_from_angles(*angles), *turning, abs(place[0]) * 40.0)


bodies = st.builds(
    body_of,
    st.tuples(st.floats(2.0, 20.0), about(6.0), about(8.0)),
    st.tuples(about(3.1), about(1.5), about(3.1)),
    st.tuples(about(6.0), about(6.0), about(6.0)),
    st.tuples(about(20.0), about(5.0), st.floats(-30.0, -0.5)),
)
# warp and twist of the wing
crooked = st.tuples(about(0.02), about(0.03))


def mirrored(body: Body) -> Body:
    return body._replace(y=-body.y, v=-body.v, e1=-body.e1, e3=-body.e3, p=-body.p, r=-body.r)


def mirrored_loads(loads: Loads) -> Loads:
    return loads._replace(fy=-loads.fy, mx=-loads.mx, mz=-loads.mz)


def bent(crookedness: tuple[float, float], side: float) -> Wing:
    return WING._replace(roll_zero=side * crookedness[0], stall_twist_rad=side * crookedness[1])


def alike(one: tuple[float, ...], other: tuple[float, ...]) -> None:
    """Equal to 1e-12 of the largest part."""
    size = max(1.0, *(abs(value) for value in one))
    assert one == pytest.approx(other, abs=1e-12 * size)


@many
@given(bodies, crooked, about(0.5), about(0.4))
def test_wing(body: Body, crookedness: tuple[float, float], elevator: float, aileron: float) -> None:
    def loads(flown: Body, side: float) -> Loads:
        return wing_loads(
            bent(crookedness, side), air_state(flown.u, flown.v, flown.w), (flown.p, flown.q, flown.r),
            (elevator, side * aileron), 1.225, 0.9, 0.3,
        )  # fmt: skip

    alike(loads(mirrored(body), -1.0), mirrored_loads(loads(body, 1.0)))


@many
@given(bodies, st.tuples(*[about(20.0)] * 6), about(0.2))
def test_rigid_body(body: Body, forces: tuple[float, ...], rotor_momentum: float) -> None:
    loads = Loads(*forces)
    plain = body_rates(body, MASS, loads, rotor_momentum, 3.0, 9.80665)
    other = body_rates(mirrored(body), MASS, mirrored_loads(loads), -rotor_momentum, 3.0, 9.80665)
    alike(other, mirrored(plain))


LAUNCH = blank(Launch)._replace(
    wing=WING, mass=MASS,
    surfaces=Surfaces(1.0, 0.5, 0.5, 0.0, 0.05, 6.0, 0.4),
    propeller=Propeller(0.2286, 1e-4, 1.0, 1.0, 1.0, 0.02, 0.03, 1.0),
    motor=Motor(0.0106, 0.04, 1.3, 0.02, 0.1, 4.0),
    pack=Pack(16.2, 0.022, 6.0),
    line=Line(9.5, 0.3, 0.8, 8.0, 15.0, 0.3, 0.15, 1.5, 0.24, 0.05, 0.06, 1.4, 0.0, 1.0, 1.0),
    air=Air(1.225, 4.0, 0.2, 0.03, 1.0),
)  # fmt: skip
# Invented, of the right size: thrust falls and turns to drag, torque falls, as the air gets faster.
ANGLES = np.linspace(0.0, 1.0, 65)
TABLE = np.array([0.18 - 0.9 * ANGLES**2, 0.018 - 0.05 * ANGLES**2])


@many
@given(
    bodies, crooked, about(0.4), st.tuples(about(6.0), about(6.0), about(2.0)), st.sampled_from([0.0, 1.0])
)
def test_all_forces(
    body: Body,
    crookedness: tuple[float, float],
    aileron: float,
    wind: tuple[float, float, float],
    line_on: float,
) -> None:
    """The whole derivative: wing, propeller either way round, motor, line, side wind."""

    def derivative(flown: Body, side: float) -> tuple[Body, tuple[float, ...]]:
        launch = LAUNCH._replace(
            wing=bent(crookedness, side), propeller=LAUNCH.propeller._replace(turning=side)
        )
        held = Held(-0.1, side * aileron, 0.7, line_on, wind[0], side * wind[1], wind[2])
        return rates(launch, TABLE, flown, held)

    plain, seen = derivative(body, 1.0)
    other, seen_other = derivative(mirrored(body), -1.0)
    alike(other, mirrored(plain))
    alike(seen_other, seen._replace(force_y_mps2=-seen.force_y_mps2))


def test_a_straight_aeroplane_stays_in_its_plane() -> None:
    """Nothing lateral in, nothing lateral out: exactly, not to rounding. The rotor stands still."""
    body = Body(0.0, 0.0, -2.0, 9.0, 0.0, 1.5, *quaternion_from_angles(0.0, 0.2, 0.0), 0.0, 0.3, 0.0, 0.0)
    loads = wing_loads(WING, air_state(9.0, 0.0, 1.5), (0.0, 0.3, 0.0), (-0.1, 0.0), 1.225, 1.0, 0.0)
    assert (loads.fy, loads.mx, loads.mz) == (0.0, 0.0, 0.0)
    rate = body_rates(body, MASS, loads, 0.0, 0.0, 9.80665)
    assert (rate.y, rate.v, rate.e1, rate.e3, rate.p, rate.r) == (0.0,) * 6


def test_turning_the_propeller_round_turns_its_torque_and_its_gyroscope() -> None:
    """A clockwise propeller (seen from behind) that speeds up rolls the aeroplane to the left."""
    body = Body(0.0, 0.0, -2.0, 9.0, 0.0, 0.5, *quaternion_from_angles(0.0, 0.1, 0.0), 0.0, 1.0, 0.0, 600.0)
    held = Held(0.0, 0.0, 0.8, 0.0, 0.0, 0.0, 0.0)
    launch = LAUNCH._replace(mass=MASS._replace(ixz_kg_m2=0.0))
    clockwise, _ = rates(launch, TABLE, body, held)
    other = launch._replace(propeller=LAUNCH.propeller._replace(turning=-1.0))
    anticlockwise, _ = rates(other, TABLE, body, held)
    assert clockwise.p < 0.0 < anticlockwise.p
    assert clockwise.r > 0.0 > anticlockwise.r
    assert clockwise.r == pytest.approx(1e-4 * 600.0 * 1.0 / MASS.izz_kg_m2)
    assert math.isclose(clockwise.q, anticlockwise.q)

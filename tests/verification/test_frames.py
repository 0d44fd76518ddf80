"""Frames and Euler angles against worked values and against scipy's rotations.

Conventions: Stevens and Lewis, *Aircraft Control and Simulation*, 2nd ed. (2003), section 1.3:
yaw, then pitch, then bank, about the axes z, y, x; the quaternion is scalar first. The constant
body rate has the closed form q = (cos(wt/2), sin(wt/2) w/|w|).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from overarm.frames import angles_from_quaternion, body_to_launch, launch_to_body, quaternion_from_angles
from overarm.physics.rigid_body import Body, Mass, body_rates
from overarm.physics.wing import Loads
from tests.agreement import Agrees
from tests.flying import body_at, fly

QUATERNION = "scipy.spatial.transform, noted down"

NO_LOADS = Loads(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
# A body with three equal moments of inertia keeps its body rates when nothing turns it.
BALL = Mass(1.0, 0.02, 0.02, 0.02, 0.0)


def ball_rates(body: Body) -> Body:
    return body_rates(body, BALL, NO_LOADS, 0.0, 0.0, 0.0)


def test_quaternion_of_three_angles(agrees: Agrees) -> None:
    quaternion = quaternion_from_angles(*np.radians([10.0, 20.0, 30.0]))
    agrees(
        "quaternion of three angles",
        QUATERNION,
        quaternion,
        (0.95154852, 0.03813458, 0.18930786, 0.23929834),
        abs=1e-8,
    )


def test_constant_body_rate(agrees: Agrees) -> None:
    end = fly(body_at(p=0.5, q=-0.3, r=0.8), ball_rates, 2.0, 400)
    agrees(
        "quaternion after a tumble at constant rates",
        QUATERNION,
        end[6:10],
        (0.54873208, 0.42224289, -0.25334573, 0.67558862),
        abs=1e-8,
    )
    angles = np.degrees(angles_from_quaternion(*end[6:10]))
    agrees("angles after it [deg]", QUATERNION, angles, (13.22917, -58.05570, 94.46696), abs=1e-5)
    assert end[10:13] == pytest.approx((0.5, -0.3, 0.8), abs=1e-14)


@pytest.mark.parametrize(
    ("angles", "axis", "seen"),
    [
        # Nose up by 90 deg: the body's x axis points up, which is -z of the launch frame.
        ((0.0, 90.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, -1.0)),
        # Right wing down by 90 deg: the right wing points down.
        ((90.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
        # Yawed right by 90 deg: the nose points to the right of the launch line.
        ((0.0, 0.0, 90.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
        # Yaw acts before bank: after both, the right wing points down, not along the launch line.
        ((90.0, 0.0, 90.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    ],
)
def test_signs(
    angles: tuple[float, float, float], axis: tuple[float, float, float], seen: tuple[float, float, float]
) -> None:
    """ISO 1151: nose up, right wing down and nose right are positive; x forward, y right, z down."""
    quaternion = quaternion_from_angles(*np.radians(angles))
    assert body_to_launch(*quaternion, *axis) == pytest.approx(seen, abs=1e-15)
    assert launch_to_body(*quaternion, *seen) == pytest.approx(axis, abs=1e-15)


def test_against_scipy() -> None:
    """scipy's intrinsic z-y'-x'' rotation turns body components into launch components."""
    random = np.random.default_rng(3)
    for bank, pitch, yaw in random.uniform([-3.1, -1.5, -3.1], [3.1, 1.5, 3.1], (200, 3)):
        rotation = Rotation.from_euler("ZYX", [yaw, pitch, bank])
        e1, e2, e3, e0 = rotation.as_quat()
        ours = np.array(quaternion_from_angles(bank, pitch, yaw))
        assert ours * math.copysign(1.0, ours[0] * e0) == pytest.approx((e0, e1, e2, e3), abs=1e-14)
        vector = random.normal(size=3)
        assert body_to_launch(*ours, *vector) == pytest.approx(rotation.apply(vector), abs=1e-14)
        assert angles_from_quaternion(*ours) == pytest.approx((bank, pitch, yaw), abs=1e-11)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_straight_up_and_down(sign: float) -> None:
    """At the gimbal edge the pitch stays right and nothing becomes NaN; bank and yaw are then not
    unique. Rounding of the sine may put it outside +-1 by an ulp, which asin must not see."""
    for bank, yaw in [(0.0, 0.0), (0.3, -0.8), (-2.0, 1.1)]:
        quaternion = quaternion_from_angles(bank, sign * math.pi / 2, yaw)
        angles = angles_from_quaternion(*quaternion)
        assert all(math.isfinite(angle) for angle in angles)
        assert angles[1] == pytest.approx(sign * math.pi / 2, abs=3e-8)  # asin near 1: sqrt(2 eps)
    over = angles_from_quaternion(math.sqrt(0.5) + 1e-15, 0.0, sign * (math.sqrt(0.5) + 1e-15), 0.0)
    assert over[1] == sign * math.pi / 2


@pytest.mark.parametrize("short_of", [1e-2, 1e-4, 1e-6])
def test_close_to_straight_up(short_of: float) -> None:
    """Near the edge the angles still stand for the same rotation; rounding grows as 1/distance."""
    for bank, yaw in [(0.3, -0.8), (-2.0, 1.1), (3.0, 3.0)]:
        quaternion = np.array(quaternion_from_angles(bank, math.pi / 2 - short_of, yaw))
        again = np.array(quaternion_from_angles(*angles_from_quaternion(*quaternion)))
        again *= math.copysign(1.0, float(again @ quaternion))
        assert again == pytest.approx(quaternion, abs=1e-15 + 1e-15 / short_of)


def test_loop_goes_through_straight_up() -> None:
    """A loop at 90 deg/s: after 1 s straight up, after 2 s on its back heading home, after 4 s level."""
    start = body_at(q=math.pi / 2)
    back = angles_from_quaternion(*fly(start, ball_rates, 2.0, 200)[6:10])
    assert (abs(back[0]), back[1], abs(back[2])) == pytest.approx((math.pi, 0.0, math.pi), abs=1e-6)
    whole = fly(start, ball_rates, 4.0, 400)
    assert angles_from_quaternion(*whole[6:10]) == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)

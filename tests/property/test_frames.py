"""Properties of rotations: there and back, lengths and angles kept, one rotation after another."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.frames import (
    Quaternion,
    Vector,
    angles_from_quaternion,
    body_to_launch,
    launch_to_body,
    quaternion_from_angles,
)


def rounded(most: float) -> st.SearchStrategy[float]:
    """Numbers within +-most, to a millionth: nothing so small that its square underflows."""
    return st.floats(-most, most).map(lambda size: round(size, 6))


turns = rounded(3.141592)
pitches = rounded(1.55)
angles = st.tuples(turns, pitches, turns)
sizes = rounded(100.0)
vectors = st.tuples(sizes, sizes, sizes)
many = settings(max_examples=150, deadline=None)


def product(a: Quaternion, b: Quaternion) -> Quaternion:
    """Hamilton's product."""
    return (
        a[0] * b[0] - a[1] * b[1] - a[2] * b[2] - a[3] * b[3],
        a[0] * b[1] + a[1] * b[0] + a[2] * b[3] - a[3] * b[2],
        a[0] * b[2] - a[1] * b[3] + a[2] * b[0] + a[3] * b[1],
        a[0] * b[3] + a[1] * b[2] - a[2] * b[1] + a[3] * b[0],
    )


@many
@given(angles)
def test_angles_there_and_back(given_rad: Vector) -> None:
    """Half-turns either way are the same attitude, so bank and yaw are compared on the circle."""
    again = angles_from_quaternion(*quaternion_from_angles(*given_rad))
    for one, other in zip(given_rad, again, strict=True):
        assert math.cos(one - other) == pytest.approx(1.0, abs=1e-12)


@many
@given(angles)
def test_quaternion_has_unit_length(given_rad: Vector) -> None:
    assert math.hypot(*quaternion_from_angles(*given_rad)) == pytest.approx(1.0, abs=1e-14)


@many
@given(angles)
def test_angles_stay_in_their_ranges(given_rad: Vector) -> None:
    bank, pitch, yaw = angles_from_quaternion(*quaternion_from_angles(*given_rad))
    assert abs(bank) <= math.pi
    assert abs(pitch) <= math.pi / 2
    assert abs(yaw) <= math.pi


@many
@given(angles)
def test_both_signs_of_a_quaternion_are_one_attitude(given_rad: Vector) -> None:
    e0, e1, e2, e3 = quaternion_from_angles(*given_rad)
    one, other = angles_from_quaternion(e0, e1, e2, e3), angles_from_quaternion(-e0, -e1, -e2, -e3)
    assert one == pytest.approx(other, abs=1e-15)


@many
@given(angles, vectors)
def test_there_and_back(given_rad: Vector, vector: Vector) -> None:
    quaternion = quaternion_from_angles(*given_rad)
    there = body_to_launch(*quaternion, *vector)
    assert launch_to_body(*quaternion, *there) == pytest.approx(vector, abs=1e-11)


@many
@given(angles, vectors, vectors)
def test_lengths_angles_and_handedness_are_kept(given_rad: Vector, one: Vector, other: Vector) -> None:
    quaternion = quaternion_from_angles(*given_rad)
    a, b = body_to_launch(*quaternion, *one), body_to_launch(*quaternion, *other)
    assert math.hypot(*a) == pytest.approx(math.hypot(*one), abs=1e-11)
    assert float(np.dot(a, b)) == pytest.approx(float(np.dot(one, other)), abs=1e-9)
    crossed = np.array(body_to_launch(*quaternion, *np.cross(one, other)))
    np.testing.assert_allclose(np.cross(a, b), crossed, atol=1e-9)


@many
@given(angles, angles, vectors)
def test_one_rotation_after_another(first: Vector, second: Vector, vector: Vector) -> None:
    """Turning by b, then by a, is turning by Hamilton's product a b."""
    a, b = quaternion_from_angles(*first), quaternion_from_angles(*second)
    twice = body_to_launch(*a, *body_to_launch(*b, *vector))
    assert body_to_launch(*product(a, b), *vector) == pytest.approx(twice, abs=1e-10)


@many
@given(st.floats(-1.5, 1.5), turns)
def test_weight_in_body_axes(pitch: float, bank: float) -> None:
    """g (-sin pitch, sin bank cos pitch, cos bank cos pitch), whatever the heading (ISO 1151)."""
    x, y, z = launch_to_body(*quaternion_from_angles(bank, pitch, 1.2), 0.0, 0.0, 9.80665)
    expected = (-math.sin(pitch), math.sin(bank) * math.cos(pitch), math.cos(bank) * math.cos(pitch))
    assert (x, y, z) == pytest.approx([9.80665 * part for part in expected], abs=1e-13)

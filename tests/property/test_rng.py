"""Properties of the random numbers: one-to-one, within their range, symmetric, of any integer width."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from overarm.rng import normal_quantile, normals, philox, uniforms

words = st.integers(0, 2**32 - 1)
longs = st.integers(0, 2**64 - 1)
counters = st.tuples(words, longs, words)
many = settings(max_examples=200, deadline=None)


def words_of(counter: tuple[int, int, int], seed: int) -> tuple[int, int, int, int]:
    block, launch, stream = counter
    return philox(block, np.uint64(launch), stream, np.uint64(seed))


@many
@given(counters, counters, longs)
def test_no_two_counters_share_their_numbers(
    one: tuple[int, int, int], other: tuple[int, int, int], seed: int
) -> None:
    """For each key the cipher is a one-to-one map of the 128-bit counter (Salmon 2011, section 3)."""
    assume(one != other)
    assert words_of(one, seed) != words_of(other, seed)


@many
@given(counters, longs)
def test_words_have_32_bits_and_numbers_lie_inside_the_unit_interval(
    counter: tuple[int, int, int], seed: int
) -> None:
    block, launch, stream = counter
    out = words_of(counter, seed)
    assert all(0 <= word < 2**32 for word in out)
    numbers = uniforms(block, np.uint64(launch), stream, np.uint64(seed))
    assert numbers == tuple((word + 0.5) / 2**32 for word in out)
    assert all(0.0 < number < 1.0 for number in numbers)
    assert all(math.isfinite(value) for value in normals(block, np.uint64(launch), stream, np.uint64(seed)))


@many
@given(st.integers(0, 2**63 - 1), st.integers(0, 2**63 - 1))
def test_signed_and_unsigned_arguments_agree(launch: int, seed: int) -> None:
    assert philox(3, launch, 1, seed) == philox(3, np.uint64(launch), 1, np.uint64(seed))


@many
@given(words)
def test_quantile_is_odd_and_bounded(word: int) -> None:
    """The largest normal number of a 32-bit word is the quantile of 1 - 2**-33: 6.34."""
    level = (word + 0.5) / 2**32
    assert normal_quantile(1.0 - level) == -normal_quantile(level)
    assert abs(normal_quantile(level)) < 6.4


@many
@given(words, words)
def test_quantile_rises(one: int, other: int) -> None:
    assume(one != other)
    low, high = sorted((one, other))
    assert normal_quantile((low + 0.5) / 2**32) < normal_quantile((high + 0.5) / 2**32)

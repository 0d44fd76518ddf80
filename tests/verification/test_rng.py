"""Random numbers against the published vectors and against what scipy says of their distribution.

Known answers: file ``kat_vectors`` of the Random123 library, which accompanies Salmon, Moraes,
Dror, Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC'11 (2011), doi
10.1145/2063384.2063405. The statistics run at fixed seeds, so they cannot fail by chance; their
thresholds are those of a one-in-a-thousand test.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from overarm import rng
from overarm.rng import normal, normal_quantile, normals, philox, uniforms

LAUNCHES = 20_000
STREAMS = (rng.STREAM_UNKNOWN, rng.STREAM_THROW, rng.STREAM_WIND, rng.STREAM_SENSOR)
LEAST_P = 1e-3

KNOWN_ANSWERS = [
    (
        (0, 0, 0, 0), (0, 0),
        (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8),
    ),
    (
        (0xFFFFFFFF,) * 4, (0xFFFFFFFF,) * 2,
        (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD),
    ),
    (
        (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344), (0xA4093822, 0x299F31D0),
        (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("counter", "key", "answer"), KNOWN_ANSWERS, ids=["zeros", "ones", "digits of pi"])
def test_known_answers(counter: tuple[int, ...], key: tuple[int, ...], answer: tuple[int, ...]) -> None:
    block, launch_low, launch_high, stream = counter
    launch = np.uint64(launch_low | launch_high << 32)
    seed = np.uint64(key[0] | key[1] << 32)
    assert philox(block, launch, stream, seed) == answer


def test_named_streams_differ() -> None:
    assert len(set(STREAMS)) == len(STREAMS)


def draws(stream: int, seed: int = 7, block: int = 0, first: int = 0) -> NDArray[np.float64]:
    """Return the uniform numbers of many launches, (launch, 4)."""
    return np.array([uniforms(block, launch, stream, seed) for launch in range(first, first + LAUNCHES)])


@pytest.mark.parametrize("stream", STREAMS)
def test_uniform(stream: int) -> None:
    """Kolmogorov-Smirnov: along the launches, and along the blocks of one launch."""
    numbers = draws(stream)
    for column in numbers.T:
        assert stats.kstest(column, "uniform").pvalue > LEAST_P
    within = np.array([uniforms(block, 3, stream, 7) for block in range(5_000)]).ravel()
    assert stats.kstest(within, "uniform").pvalue > LEAST_P


def test_numbers_fill_the_unit_cube_evenly() -> None:
    """Chi-square over 8 x 8 x 8 cells of three numbers of a block."""
    counts, _ = np.histogramdd(draws(rng.STREAM_WIND)[:, :3], bins=8, range=[(0.0, 1.0)] * 3)
    assert stats.chisquare(counts.ravel()).pvalue > LEAST_P


@pytest.mark.plain_floats("the far tail of scipy's normal distribution underflows")
@pytest.mark.parametrize("seed", [0, 1, 2**40 + 3])
def test_normal(seed: int) -> None:
    """Kolmogorov-Smirnov for the body, Anderson-Darling for the tails."""
    numbers = np.array([normals(0, launch, rng.STREAM_THROW, seed) for launch in range(LAUNCHES)])
    for column in numbers.T:
        assert stats.kstest(column, "norm").pvalue > LEAST_P
    # Anderson-Darling with known mean and deviation: 1 in 1000 above 6.0 (Marsaglia and
    # Marsaglia, J. Statistical Software 9 (2004), doi 10.18637/jss.v009.i02).
    ordered = np.sort(numbers.ravel())
    count = ordered.size
    weight = 2.0 * np.arange(1, count + 1) - 1.0
    square = -count - np.mean(weight * (stats.norm.logcdf(ordered) + stats.norm.logsf(ordered[::-1])))
    assert square < 6.0


@pytest.mark.plain_floats("scipy's quantile divides by zero on its way")
def test_quantile_against_scipy() -> None:
    """AS 241 promises 1 part in 1e16 (Wichura 1988); scipy uses another algorithm."""
    words = np.concatenate(
        [np.arange(0, 2000), np.linspace(0, 2**32 - 1, 20_001).astype(np.int64), 2**32 - 1 - np.arange(2000)]
    )
    levels = (words + 0.5) / 2**32
    ours = np.array([normal_quantile(level) for level in levels])
    np.testing.assert_allclose(ours, stats.norm.ppf(levels), rtol=2e-13, atol=1e-15)


def test_one_normal_is_the_first_of_four() -> None:
    for launch in range(100):
        assert normal(5, launch, rng.STREAM_SENSOR, 11) == normals(5, launch, rng.STREAM_SENSOR, 11)[0]


def test_streams_launches_blocks_and_seeds_are_independent() -> None:
    """No pair of them correlates by more than four standard errors, 4/sqrt(N); 153 pairs."""
    columns = [*draws(rng.STREAM_WIND).T]
    columns += [*draws(rng.STREAM_SENSOR).T]
    columns += [*draws(rng.STREAM_THROW).T]
    columns += [draws(rng.STREAM_WIND, first=1)[:, 0]]  # the next launch
    columns += [draws(rng.STREAM_WIND, block=1)[:, 0]]  # the next block
    columns += [draws(rng.STREAM_WIND, seed=8)[:, 0]]  # the next seed
    columns += [draws(rng.STREAM_WIND, seed=7 + 2**32)[:, 0]]  # a seed that differs in its high word
    columns += [draws(rng.STREAM_WIND, first=2**32)[:, 0]]  # launches that differ in their high word
    columns += [draws(rng.STREAM_WIND, first=LAUNCHES)[:, 0]]  # the next batch
    for one, other in combinations(columns, 2):
        assert abs(np.corrcoef(one, other)[0, 1]) < 4.0 / np.sqrt(LAUNCHES)


def flipped(before: tuple[int, ...], after: tuple[int, ...]) -> int:
    return sum((a ^ b).bit_count() for a, b in zip(before, after, strict=True))


def test_one_bit_in_changes_half_the_bits_out() -> None:
    """Strict avalanche criterion (Webster and Tavares, CRYPTO '85): 64 of 128 bits, sd 5.66."""
    changed = []
    for bit in range(64):
        for launch in range(40):
            plain = philox(1, np.uint64(launch), 2, np.uint64(9))
            other = np.uint64(launch ^ 1 << bit)
            changed.append(flipped(plain, philox(1, other, 2, np.uint64(9))))
            changed.append(flipped(plain, philox(1, np.uint64(launch), 2, np.uint64(9 ^ 1 << bit))))
    assert np.mean(changed) == pytest.approx(64.0, abs=4.0 * 5.66 / np.sqrt(len(changed)))
    assert min(changed) > 30
    assert max(changed) < 98


def test_no_dependence_on_order() -> None:
    """Forwards, shuffled and from several threads, each launch keeps its numbers."""
    forwards = [normals(2, launch, rng.STREAM_WIND, 5) for launch in range(2000)]
    order = np.random.default_rng(1).permutation(2000)
    shuffled = {int(launch): normals(2, int(launch), rng.STREAM_WIND, 5) for launch in order}
    with ThreadPoolExecutor(4) as pool:
        threads = list(pool.map(lambda launch: normals(2, launch, rng.STREAM_WIND, 5), range(2000)))
    assert forwards == [shuffled[launch] for launch in range(2000)] == threads

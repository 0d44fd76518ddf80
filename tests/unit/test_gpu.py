"""Launches on a graphics card, as far as can be told without one.

The functions that the kernel is made of are flown here in plain Python, launch by launch, over the memory
layout of the card.
"""

from __future__ import annotations

import importlib.util
from typing import Any

import numpy as np
import pytest
from numpy.lib.stride_tricks import as_strided

from overarm.errors import InputError
from overarm.flight.campaign import run
from overarm.flight.outcomes import SUMMARY
from overarm.flight.record import LAUNCH, field_index
from overarm.gpu import card
from overarm.gpu.kernel import Campaign, Room, launch_function
from overarm.gpu.lanes import LANES, in_lanes, leaves, record_lanes, spread_out
from overarm.gpu.memory import campaign_arrays
from overarm.gpu.plan import MOST_LAUNCHES, SHARE_OF_FREE, chunk_size, launch_bytes
from overarm.gpu.precision import Precision, number_of
from overarm.gpu.run import fly
from overarm.gpu.twins import Twins
from tests.examples import inputs_of

SEED = 7
FLOWN = 3


def room_on_processor(n_input: int, precision: Precision, blocks: int = 2) -> Room:
    """Return the room of the card as arrays of numpy, with the same strides."""
    number = number_of(precision)

    def lanes(columns: int) -> Any:
        memory = np.full(blocks * LANES * columns, 999.0, number)
        return as_strided(memory, (blocks, LANES, columns), in_lanes(columns, number))

    def records(rows: Any, record: Any) -> Any:
        kind = np.dtype((np.record, spread_out(record, number)))
        seen = np.ndarray((blocks, LANES), kind, rows.base.base, 0, record_lanes(record, number))
        return seen.view(np.recarray)

    rows, notes = lanes(leaves(LAUNCH)), lanes(leaves(SUMMARY))
    table = np.zeros(blocks * LANES, SUMMARY)
    numbers = table.view(np.float64).reshape(len(table), -1)
    codes = table.view(np.int32).reshape(len(table), -1)
    return Room(lanes(n_input), rows, records(rows, LAUNCH), notes, records(notes, SUMMARY), numbers, codes)


def test_record_lies_in_lanes() -> None:
    room = room_on_processor(3, "double")
    room.rows[1, 5, field_index("hand.speed_mps")] = 8.5
    room.records["air"]["density_kgpm3"][0, 31] = 1.1
    assert room.records["hand"]["speed_mps"][1, 5] == 8.5
    assert room.records[1, 5].hand.speed_mps == 8.5
    assert room.rows[0, 31, field_index("air.density_kgpm3")] == 1.1
    assert np.count_nonzero(room.rows != 999.0) == 2
    assert room.rows.strides[1] == 8  # neighbours in a warp are neighbours in memory


def flown_plain(letter: str, precision: Precision, first: int) -> np.ndarray:
    """Fly a few launches by the functions of the kernel, in plain Python."""
    inputs = inputs_of(letter)
    launch = launch_function(Twins(precision, lambda function: function))
    same: Campaign = campaign_arrays(inputs, precision)
    room = room_on_processor(len(inputs.rules.inputs), precision)
    for n in range(FLOWN):
        launch(same, room, SEED, first, n)
    return room.numbers.view(SUMMARY).reshape(-1)[:FLOWN]


@pytest.mark.parametrize("letter", ["b", "d"])
def test_kernel_flies_the_launches_of_the_processor(letter: str) -> None:
    first = 24  # over the border between two worlds
    (expected,) = (chunk.table for chunk in run(inputs_of(letter), FLOWN, SEED, first=first))
    table = flown_plain(letter, "double", first)
    for name in SUMMARY.names or ():
        np.testing.assert_allclose(table[name], expected[name], rtol=1e-9, atol=1e-9, err_msg=name)


def test_single_precision_has_single_constants_and_the_same_draws() -> None:
    (expected,) = (chunk.table for chunk in run(inputs_of("b"), FLOWN, SEED))
    table = flown_plain("b", "single", 0)
    assert np.array_equal(table["outcome"], expected["outcome"])
    np.testing.assert_allclose(table["release_speed_mps"], expected["release_speed_mps"], rtol=1e-5)
    assert np.any(table["release_speed_mps"] != expected["release_speed_mps"])


def test_chunk_fits_the_memory() -> None:
    each = launch_bytes(50, "double")
    assert each == 8 * (50 + leaves(LAUNCH) + len(SUMMARY.names or ())) + SUMMARY.itemsize
    assert launch_bytes(50, "single") < 0.6 * each
    for free in (10**6, 10**8, 10**9):
        size = chunk_size(10**7, 50, "double", free)
        assert size % LANES == 0
        assert SHARE_OF_FREE * free - LANES * each < size * each <= SHARE_OF_FREE * free
    assert chunk_size(10**7, 50, "double", 80 * 2**30) == MOST_LAUNCHES
    assert chunk_size(1000, 50, "double", 2**30) == 1024
    assert chunk_size(1, 50, "double", 2**30) == 2 * LANES
    assert chunk_size(1000, 50, "double", 100_000) == 0


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(InputError, match=r"not installed.*pip install 'overarm\[gpu\]'"):
        fly(inputs_of("b"), 10, SEED)


def test_without_a_card_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    from numba import cuda

    monkeypatch.setattr(importlib.util, "find_spec", lambda name: object())
    monkeypatch.setattr(cuda, "is_available", lambda: False)
    with pytest.raises(InputError, match=r"No graphics card.*nvidia-smi"):
        fly(inputs_of("b"), 10, SEED)


def test_little_memory_and_unknown_precision_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    small = card.Card("a card", (9, 0), 1000)
    monkeypatch.setattr("overarm.gpu.run.found_card", lambda: small)
    with pytest.raises(InputError, match="too little free memory"):
        fly(inputs_of("b"), 10, SEED)
    with pytest.raises(InputError, match="Precision is unknown"):
        fly(inputs_of("b"), 10, SEED, precision="half")  # type: ignore[arg-type]
    assert len(fly(inputs_of("b"), 0, SEED)) == 0


@pytest.mark.skipif(importlib.util.find_spec("numba_cuda") is None, reason="needs the extra gpu")
@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("precision", ["double", "single"])
def test_kernel_compiles_for_a_card(precision: Precision, monkeypatch: pytest.MonkeyPatch) -> None:
    import numba
    from numba import cuda

    from overarm.gpu.kernel import kernel_function

    class Hopper:
        compute_capability = (9, 0)

    monkeypatch.setattr("numba.cuda.dispatcher.get_current_device", lambda: Hopper)
    inputs = inputs_of("b")
    room = room_on_processor(len(inputs.rules.inputs), precision)
    room = room._replace(records=room.records.view(np.ndarray), summaries=room.summaries.view(np.ndarray))
    given = [numba.typeof(group) for group in (campaign_arrays(inputs, precision), room)]
    ptx, _ = cuda.compile_ptx(kernel_function(Twins(precision)), (*given, *[numba.int64] * 3), cc=(9, 0))
    assert ".target sm_90" in ptx
    assert "ld.u8" not in ptx  # every number is read whole
    singles, doubles = ptx.count("fma.rn.f32"), ptx.count("fma.rn.f64")
    assert singles > doubles if precision == "single" else singles == 0

"""Memory on the card: what a campaign reads, the room for a chunk, and the way back."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.flight.campaign import Inputs, blank_summary
from overarm.flight.outcomes import SUMMARY
from overarm.flight.record import LAUNCH
from overarm.flight.trace import empty_trace
from overarm.gpu.kernel import Campaign, Room
from overarm.gpu.lanes import LANES, in_lanes, leaves, record_lanes, spread_out
from overarm.gpu.precision import Precision, number_of


def campaign_arrays(inputs: Inputs, precision: Precision) -> Campaign:
    """Return what is the same for every launch, as arrays of the processor."""
    number, rules = number_of(precision), inputs.rules
    blank = blank_summary(1, 0)[0]
    return Campaign(
        base=inputs.base.view(np.float64).reshape(-1).astype(number),
        block=rules.block,
        layer=rules.layer,
        rules=rules.table,
        values=rules.values.astype(number),
        table=inputs.table.astype(number),
        obstacles=inputs.obstacles.astype(number),
        trace=empty_trace().astype(number),
        blank=np.array([float(blank[name]) for name in SUMMARY.names or ()], number),
    )


def campaign_on_card(inputs: Inputs, precision: Precision) -> Campaign:
    """Return what is the same for every launch, as arrays on the card."""
    from numba import cuda

    return Campaign(*(cuda.to_device(array) for array in campaign_arrays(inputs, precision)))


def room_on_card(size: int, n_input: int, precision: Precision) -> Room:
    """Return room on the card for ``size`` launches, a multiple of `LANES`."""
    from numba import cuda

    number = number_of(precision)

    def lanes(columns: int) -> Any:
        shape = (size // LANES, LANES, columns)
        memory = cuda.device_array(size * columns, number)
        return _seen(memory, shape, in_lanes(columns, number), number)

    def records(memory: Any, record: np.dtype[np.void]) -> Any:
        shape = (size // LANES, LANES)
        return _seen(memory, shape, record_lanes(record, number), spread_out(record, number))

    rows, notes = lanes(leaves(LAUNCH)), lanes(leaves(SUMMARY))
    numbers = cuda.device_array((size, SUMMARY.itemsize // 8), np.float64)
    codes = _seen(numbers, (size, SUMMARY.itemsize // 4), (SUMMARY.itemsize, 4), np.int32)
    return Room(lanes(n_input), rows, records(rows, LAUNCH), notes, records(notes, SUMMARY), numbers, codes)


def _seen(memory: Any, shape: tuple[int, ...], strides: tuple[int, ...], kind: Any) -> Any:
    """Return the same memory on the card, seen with another shape, stride and type."""
    from numba.cuda.cudadrv.devicearray import DeviceNDArray

    return DeviceNDArray(shape, strides, kind, gpu_data=memory.gpu_data)


def fetch(room: Room, table: NDArray[np.void]) -> None:
    """Copy the summaries of a chunk from the card into rows of a table; waits for the kernel."""
    words = table.view(np.float64).reshape(len(table), -1)
    room.numbers[: len(table)].copy_to_host(words)

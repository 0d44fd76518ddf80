"""Fly many launches on a graphics card; the summaries are those of `overarm.flight.campaign`.

The numbers of launch ``i`` depend only on (setup, seed, i), as on the processor, and are drawn on the
card. Agreement with the processor, and of single with double precision: docs/theory/gpu.md.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.errors import InputError, Problem
from overarm.flight.campaign import Inputs
from overarm.flight.outcomes import SUMMARY
from overarm.gpu.card import found_card
from overarm.gpu.plan import chunk_size, launch_bytes
from overarm.gpu.precision import PRECISIONS, Precision

# In a block. They start together and stay near each other in the code, which is larger than the cache for
# instructions: smaller blocks were up to 1.7 times slower (docs/theory/gpu.md). More do not fit: each thread
# of the double kernel takes 255 of the 65 536 registers.
THREADS = 256


def fly(
    inputs: Inputs,
    launches: int,
    seed: int,
    first: int = 0,
    precision: Precision = "double",
    *,
    progress: Callable[[int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> NDArray[np.void]:
    """Fly launches ``first .. first + launches - 1`` on the card and return their summaries.

    Parameters
    ----------
    inputs : Inputs
        As for `overarm.flight.campaign.run`.
    launches, seed, first : int
        ``seed`` within 0 .. 2**63 - 1.
    precision : ``double`` or ``single``
        Single is faster and less exact; the random numbers are the same.
    progress : function of the number done, called after each chunk
    cancelled : asked before each chunk; what was flown by then is returned

    Returns
    -------
    structured array, shape (launches,), type `overarm.flight.outcomes.SUMMARY`

    Raises InputError if there is no card, no extra ``gpu``, or too little free memory. The first call of a
    process compiles the kernel.
    """
    if precision not in PRECISIONS:
        raise InputError([Problem("Precision is unknown", f"Say one of {PRECISIONS}", value=str(precision))])
    card = found_card()
    n_input = len(inputs.rules.inputs)
    size = chunk_size(launches, n_input, precision, card.free_bytes)
    if size == 0 and launches > 0:
        each = launch_bytes(n_input, precision)
        raise InputError(
            [
                Problem(
                    "The graphics card has too little free memory",
                    f"Close what else uses it; a launch needs {each} bytes of twice as much free memory",
                    value=f"{card.free_bytes} bytes",
                )
            ]
        )
    table = np.empty(launches, SUMMARY)
    if launches == 0:
        return table
    from overarm.gpu import memory

    same, room = memory.campaign_on_card(inputs, precision), memory.room_on_card(size, n_input, precision)
    kernel = compiled_kernel(precision)
    done = 0
    while done < launches and not (cancelled is not None and cancelled()):
        count = min(size, launches - done)
        with warnings.catch_warnings():  # a few launches do not fill the card, and need not
            warnings.filterwarnings("ignore", message=".*Grid size")
            kernel[-(-count // THREADS), THREADS](same, room, seed, first + done, count)
        memory.fetch(room, table[done : done + count])
        done += count
        if progress is not None:
            progress(done)
    return table[:done]


@cache
def compiled_kernel(precision: Precision) -> Any:
    """Return the kernel of a precision; it is compiled when it is first launched."""
    from numba import cuda

    from overarm.gpu.kernel import kernel_function
    from overarm.gpu.twins import Twins

    return cuda.jit(kernel_function(Twins(precision)))

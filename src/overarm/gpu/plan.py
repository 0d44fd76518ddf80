"""How many launches go onto the card at a time, by its free memory."""

from __future__ import annotations

import numpy as np

from overarm.flight.outcomes import SUMMARY
from overarm.flight.record import LAUNCH
from overarm.gpu.lanes import LANES, leaves
from overarm.gpu.precision import Precision, number_of

# More launches at a time would not fly faster: this many keep every processor of a large card busy for
# dozens of turns.
MOST_LAUNCHES = 2**20
# With one block alone the arrays would have another layout, and the kernel be compiled again for it.
LEAST_BLOCKS = 2
# The rest is left to the driver, to the stacks of the threads and to others who use the card.
SHARE_OF_FREE = 0.5


def launch_bytes(n_input: int, precision: Precision) -> int:
    """Return the memory that one launch needs on the card [bytes], for so many uncertain inputs."""
    number = np.dtype(number_of(precision)).itemsize
    return number * (n_input + leaves(LAUNCH) + leaves(SUMMARY)) + SUMMARY.itemsize


def chunk_size(launches: int, n_input: int, precision: Precision, free_bytes: int) -> int:
    """Return how many launches to fly at a time; a multiple of `LANES`, or 0 if the memory is too small.

    Parameters
    ----------
    launches : int
        How many there are in all.
    n_input : int
        Uncertain inputs of the setup.
    precision : ``double`` or ``single``
    free_bytes : int
        Free memory of the card.
    """
    fit = int(SHARE_OF_FREE * free_bytes) // launch_bytes(n_input, precision)
    needed = max(LEAST_BLOCKS, -(-launches // LANES)) * LANES
    size = min(needed, MOST_LAUNCHES, fit // LANES * LANES)
    return size if size >= LEAST_BLOCKS * LANES else 0

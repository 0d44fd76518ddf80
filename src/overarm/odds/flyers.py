"""Who flies launches: this machine, or others that give the same bytes.

Campaigns and searches ask a `Flyers` for launches and do not know where they are flown. Launch ``i``
depends only on (inputs, seed, ``i``), so where it is flown changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from overarm.errors import Cancelled
from overarm.flight.campaign import Chunk, Inputs, run

TRIAL_CHUNK = 500  # launches of a trial between two looks at whether to go on

Asked = Callable[[], bool]


class Job(NamedTuple):
    """The first launches of a campaign, wanted as one table."""

    inputs: Inputs
    launches: int
    seed: int


class Flyers(Protocol):
    """Flies launches."""

    def chunks(
        self, inputs: Inputs, launches: int, seed: int, cancelled: Asked | None = None
    ) -> Iterator[Chunk]:
        """Yield launches ``0 .. launches - 1`` in order, chunk by chunk of `overarm.flight.campaign.CHUNK`.

        Fewer if ``cancelled``, which is asked now and then. Later chunks may come without scores, as the
        answer keeps those of the first launches alone.
        """

    def tables(self, jobs: Sequence[Job], cancelled: Asked | None = None) -> list[NDArray[np.void]]:
        """Return the summaries of each job, shape (launches,) each. Raises Cancelled."""


class Here:
    """This machine, every core, one job after the other."""

    def chunks(
        self, inputs: Inputs, launches: int, seed: int, cancelled: Asked | None = None
    ) -> Iterator[Chunk]:
        """Yield launches in order, as `Flyers` says."""
        return run(inputs, launches, seed, cancelled=cancelled)

    def tables(self, jobs: Sequence[Job], cancelled: Asked | None = None) -> list[NDArray[np.void]]:
        """Return the summaries of each job. Raises Cancelled."""
        return [_whole(job, cancelled) for job in jobs]


def _whole(job: Job, cancelled: Asked | None) -> NDArray[np.void]:
    chunks = run(job.inputs, job.launches, job.seed, chunk=TRIAL_CHUNK, cancelled=cancelled)
    tables = [chunk.table for chunk in chunks]
    if sum(len(table) for table in tables) < job.launches:
        raise Cancelled
    return np.concatenate(tables)


HERE = Here()

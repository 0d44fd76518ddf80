"""The workers of a cluster as one that flies: work goes out ahead, answers come back in order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from overarm.cluster.trouble import telling
from overarm.cluster.watch import Watch
from overarm.errors import Cancelled
from overarm.fleet.cell import Flown, Work
from overarm.flight.campaign import CHUNK, Chunk, Inputs
from overarm.odds.flyers import TRIAL_CHUNK, Asked, Job
from overarm.odds.run import MOST_SCORES
from overarm.odds.source import source_hash

if TYPE_CHECKING:
    from distributed import Client, Future

AHEAD = 3  # tasks under way for each thread of the cluster, so that none waits for us
LOOK_S = 0.25  # how often somebody who waits is asked whether to go on
FETCH_S = 30.0  # an answer that takes longer is lost with its worker, or waits behind others: look again


class Workers:
    """Flies on a cluster, as `overarm.odds.flyers.Flyers` says; also whole cells of a fleet study.

    A task of a worker that is lost is done again by another. Raises InputError if the scheduler or all
    workers go away, if a task costs worker after worker, or if a worker that came later has another Overarm.
    Nothing waits for ever: see `overarm.cluster.watch`.
    """

    def __init__(self, client: Client) -> None:
        self._client = client
        self._watch = Watch(client)
        self._sources = source_hash()

    def chunks(
        self, inputs: Inputs, launches: int, seed: int, cancelled: Asked | None = None
    ) -> Iterator[Chunk]:
        """Yield launches in order; those past the first 50 000 without their scores."""
        from overarm.cluster.tasks import fly_chunk

        starts = range(0, launches, CHUNK)
        sizes = [min(CHUNK, launches - first) for first in starts]
        tasks = (
            (self._sources, inputs, size, seed, first, first + size <= MOST_SCORES)
            for first, size in zip(starts, sizes, strict=True)
        )
        for first, (table, scores) in zip(starts, self._in_order(fly_chunk, tasks, cancelled), strict=False):
            yield Chunk(first, table, scores)

    def tables(self, jobs: Sequence[Job], cancelled: Asked | None = None) -> list[NDArray[np.void]]:
        """Return the summaries of each job, all jobs at once. Raises Cancelled."""
        from overarm.cluster.tasks import fly_chunk

        parts = [(k, first) for k, job in enumerate(jobs) for first in range(0, job.launches, TRIAL_CHUNK)]
        tasks = (
            (
                self._sources,
                jobs[k].inputs,
                min(TRIAL_CHUNK, jobs[k].launches - first),
                jobs[k].seed,
                first,
                False,
            )
            for k, first in parts
        )
        flown = [table for table, _ in self._in_order(fly_chunk, tasks, cancelled)]
        if len(flown) < len(parts):
            raise Cancelled
        own = [
            [table for (of, _), table in zip(parts, flown, strict=True) if of == k] for k in range(len(jobs))
        ]
        return [np.concatenate(tables) for tables in own]

    def cells(self, works: Iterable[Work], cancelled: Asked | None = None) -> Iterator[tuple[int, Flown]]:
        """Yield number and outcome of each cell as it is done; fewer if cancelled."""
        from overarm.cluster.tasks import fly_work

        yield from self._as_done(fly_work, ((self._sources, work) for work in works), cancelled)

    def _in_order(
        self, function: Callable[..., Any], tasks: Iterable[tuple[Any, ...]], cancelled: Asked | None
    ) -> Iterator[Any]:
        """Yield the answers of some tasks in their order; fewer if cancelled."""
        held: dict[int, Any] = {}
        wanted = 0
        for number, answer in self._as_done(function, tasks, cancelled):
            held[number] = answer
            while wanted in held:
                yield held.pop(wanted)
                wanted += 1

    def _as_done(
        self, function: Callable[..., Any], tasks: Iterable[tuple[Any, ...]], cancelled: Asked | None
    ) -> Iterator[tuple[int, Any]]:
        """Yield number and answer of each task as it is done; fewer if cancelled.

        What is under way when nobody wants more is called off.
        """
        under_way: dict[Future[Any], int] = {}
        numbered = iter(enumerate(tasks))
        try:
            while not (cancelled is not None and cancelled()):
                with telling():
                    self._send(function, numbered, under_way)
                    if not under_way:
                        return
                    answers = self._next(under_way)
                yield from answers
        finally:
            if under_way and self._client.status == "running":
                self._client.cancel(list(under_way))

    def _send(
        self,
        function: Callable[..., Any],
        numbered: Iterator[tuple[int, tuple[Any, ...]]],
        under_way: dict[Future[Any], int],
    ) -> None:
        """Give out tasks until enough are under way."""
        enough = AHEAD * max(1, self._watch.cores())
        while len(under_way) < enough:
            number, task = next(numbered, (-1, ()))
            if number < 0:
                return
            under_way[self._client.submit(function, *task, pure=False)] = number

    def _next(self, under_way: dict[Future[Any], int]) -> list[tuple[int, Any]]:
        """Return what is done by now, or nothing after a short wait."""
        from distributed import wait

        try:
            with self._client.as_current():  # `wait` asks the client of the moment
                done = wait(list(under_way), timeout=LOOK_S, return_when="FIRST_COMPLETED").done
        except TimeoutError:
            return []
        return [(under_way.pop(future), answer) for future in done for answer in self._fetched(future)]

    def _fetched(self, future: Future[Any]) -> list[Any]:
        """Return the answer of a task, alone in a list; nothing if it is lost and done again."""
        try:
            return [future.result(timeout=FETCH_S)]
        except TimeoutError:
            return []

"""How many cores a cluster has by now, and how long it may be without any."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from overarm.cluster import trouble

if TYPE_CHECKING:
    from distributed import Client

ASK_S = 1.0  # between two questions
ANSWER_S = 30.0  # a scheduler that is silent for longer is gone
GONE_S = 60.0  # a cluster that has no worker for longer will get none: a lost one starts again in seconds


class Watch:
    """Asks a scheduler now and then for its workers, and gives up when there are none."""

    def __init__(self, client: Client) -> None:
        self._client = client
        self._cores = 0
        self._asked_s = -ASK_S
        self._none_since_s: float | None = None

    def cores(self) -> int:
        """Return how many threads all workers have together.

        Raises InputError if there has been no worker for `GONE_S`, and TimeoutError if nobody answers.
        """
        now_s = time.monotonic()
        if now_s - self._asked_s < ASK_S:
            return self._cores
        self._asked_s = now_s
        self._cores = sum(self._client.nthreads(callback_timeout=ANSWER_S).values())
        if self._cores:
            self._none_since_s = None
        elif self._none_since_s is None:
            self._none_since_s = now_s
        elif now_s - self._none_since_s > GONE_S:
            raise trouble.all_gone(GONE_S)
        return self._cores

"""Find a cluster and make sure that its workers give the answers of this machine."""

from __future__ import annotations

import importlib.util
import json
import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

from overarm.cluster import trouble
from overarm.cluster.marks import Mark, check_marks, mark_here, mark_of, remarks

if TYPE_CHECKING:
    from distributed import Client

    from overarm.cluster.workers import Workers

CONNECT_S = 6.0
OPEN_S = 20.0  # in all; one that takes the call and says nothing would be waited for without end
WORKER_S = 30.0
ASK_S = 0.2
MARK_S = 120.0  # to load Overarm on a busy machine


@contextmanager
def workers_at(address: str, tell: Callable[[str], None]) -> Iterator[Workers]:
    """Yield the workers of a cluster.

    Parameters
    ----------
    address : str
        Of the scheduler, such as ``tcp://10.0.0.5:8786`` or ``tls://...``, or the file that
        ``dask scheduler --scheduler-file`` writes.
    tell : callable
        Told what a person who waits should know: that workers compile first, say.

    Raises
    ------
    InputError
        If the extra is not installed, nobody listens, certificates are missing, no worker comes, or a worker
        has another Overarm.
    """
    if importlib.util.find_spec("distributed") is None:
        raise trouble.missing_package()
    from overarm.cluster.workers import Workers

    client = _client(address)
    try:
        here, there = mark_of(mark_here()), _marks(client, address)
        check_marks(here, there)
        with trouble.telling():
            tell(_counted(client))
        for remark in remarks(here, there):
            tell(remark)
        yield Workers(client)
    finally:
        with suppress(OSError):  # a scheduler that is gone cannot say good-bye
            client.close(timeout=CONNECT_S)


def _client(address: str) -> Client:
    from distributed.security import Security

    for name in ("distributed", "tornado"):  # what goes wrong is told by us, once
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        where = _address(address)
        if where.startswith("tls") and Security().get_connection_args("client")["ssl_context"] is None:
            raise trouble.no_certificates(address)
        return _opened(where)
    except (OSError, ValueError, LookupError, TypeError):
        raise trouble.nobody_there(address) from None


def _address(given: str) -> str:
    """Return an address, or the one in the file that a scheduler wrote. Raises ValueError or LookupError."""
    file = Path(given)
    found = json.loads(file.read_text("utf-8"))["address"] if file.is_file() else given
    if not isinstance(found, str) or not found.strip():
        raise ValueError("no address")
    return found


def _opened(address: str) -> Client:
    """Return a client, made in a thread that may be left behind. Raises TimeoutError after `OPEN_S`."""
    from distributed import Client

    made: SimpleQueue[Client | Exception] = SimpleQueue()

    def make() -> None:
        try:
            made.put(Client(address, timeout=CONNECT_S, set_as_default=False))
        except Exception as error:
            made.put(error)

    threading.Thread(target=make, daemon=True).start()
    try:
        found = made.get(timeout=OPEN_S)
    except Empty:
        raise TimeoutError from None
    if isinstance(found, Exception):
        raise found
    return found


def _marks(client: Client, address: str) -> dict[str, Mark]:
    end_s = time.monotonic() + WORKER_S
    with trouble.telling():
        while not client.nthreads(callback_timeout=CONNECT_S):
            if time.monotonic() > end_s:
                raise trouble.no_worker(address, WORKER_S)
            time.sleep(ASK_S)
    try:
        found = client.run(mark_here, callback_timeout=MARK_S)
    except TimeoutError:
        raise trouble.silent(MARK_S) from None
    except Exception as error:
        raise trouble.without_overarm(error) from None
    return {where: mark_of(told) for where, told in found.items()}


def _counted(client: Client) -> str:
    threads = client.nthreads(callback_timeout=CONNECT_S)
    many, cores = len(threads), sum(threads.values())
    return f"Flying on {many} worker{'' if many == 1 else 's'} with {cores} core{'' if cores == 1 else 's'}."

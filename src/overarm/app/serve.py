"""Start the workbench: sockets, certificate, server; and what the terminal is told."""

from __future__ import annotations

import contextlib
import errno
import gc
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

from overarm.app.child.bounds import bounded
from overarm.app.folders import Folders, folders_in, kept_alone, usual_root
from overarm.app.guard.token import Keys
from overarm.app.guard.wall import Address
from overarm.app.limits import LIMITS, Limits
from overarm.errors import InputError, Problem

HOME = "127.0.0.1"
QUEUE = 128
MOST_CONNECTIONS = 200
END_WITHIN_S = 2


class Wanted(NamedTuple):
    """What a start asks for; port 0 takes a free one."""

    port: int
    lan: bool
    book: str | None


class Started(NamedTuple):
    """A workbench that is about to serve."""

    address: Address
    keys: Keys
    certificate: Path | None

    def link(self, token: str, name: str = "") -> str:
        """Return the address with a token."""
        return f"{self.address.url(name)}?token={token}"


def serve(wanted: Wanted, tell: Callable[[Started], None], limits: Limits = LIMITS) -> None:
    """Serve until Ctrl-C; ``tell`` hears the address once connections are taken.

    Raises InputError if the port is in use, no network is there, another workbench is open, or a network is
    asked for on a system that does not bound the memory of a process.
    """
    if wanted.lan and not bounded():
        cure = "Leave out --lan, or start it on Linux"
        raise InputError(
            [Problem("this system does not bound the memory of what reads files", cure, key="--lan")]
        )
    import uvicorn

    gc.enable()  # a command turns it off; this one runs for days
    from overarm.app.bench import Workbench
    from overarm.app.build import build

    folders = folders_in(usual_root())
    with _listening(wanted) as sockets:
        started = _started(wanted, sockets, folders)
        with kept_alone(folders, started.address.url()):
            workbench = Workbench(folders, limits, wanted.book)
            app: Any = build(workbench, started.address, started.keys)
            config = uvicorn.Config(
                app,
                log_level="warning",
                access_log=False,
                server_header=False,
                proxy_headers=False,
                ws="none",
                limit_concurrency=MOST_CONNECTIONS,
                timeout_graceful_shutdown=END_WITHIN_S,
                ssl_certfile=started.certificate,
                ssl_keyfile=started.certificate,
            )
            workbench.warm()
            tell(started)
            with contextlib.suppress(KeyboardInterrupt):  # uvicorn raises it again once it has ended well
                uvicorn.Server(config).run(sockets=sockets)


def _started(wanted: Wanted, sockets: list[socket.socket], folders: Folders) -> Started:
    from overarm.app.lan.addresses import in_url
    from overarm.app.lan.certificate import certificate_for

    port = int(sockets[0].getsockname()[1])
    bound = [str(one.getsockname()[0]) for one in sockets]
    names = (*(in_url(address) for address in bound), "localhost")
    address = Address("https" if wanted.lan else "http", names, port)
    certificate = certificate_for(bound, folders.root) if wanted.lan else None
    return Started(address, Keys(port, secure=wanted.lan), certificate)


@contextlib.contextmanager
def _listening(wanted: Wanted) -> Iterator[list[socket.socket]]:
    """Yield sockets on this machine and, if asked for, on its addresses in the network; never on all."""
    addresses = [HOME]
    if wanted.lan:
        from overarm.app.lan.addresses import lan_addresses

        addresses += lan_addresses()
        if len(addresses) == 1:
            cure = "Connect it to a network, or leave out --lan"
            raise InputError([Problem("this machine has no address in a network", cure, key="--lan")])
    with contextlib.ExitStack() as stack:
        sockets: list[socket.socket] = []
        port = wanted.port
        for address in addresses:
            found = stack.enter_context(_bound(address, port))
            sockets.append(found)
            port = int(found.getsockname()[1])
        yield sockets


def _bound(address: str, port: int) -> socket.socket:
    """Return a socket that listens on one address. Raises InputError if it cannot."""
    found = socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((address, port))
        found.listen(QUEUE)
    except OSError as error:
        found.close()
        taken = error.errno == errno.EADDRINUSE
        message = (
            "is in use by another program, perhaps a workbench"
            if taken
            else f"cannot be used: {error.strerror}"
        )
        cure = "End that one, or give another --port; 0 takes a free one"
        raise InputError([Problem(message, cure, key="--port", value=str(port))]) from None
    return found

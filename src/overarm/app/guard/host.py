"""Host: only the names under which the workbench was started, to the letter.

A page elsewhere can point a name of its own at 127.0.0.1 and ask in that name; its Host gives it away.
"""

from __future__ import annotations

from overarm.app.guard.asgi import App, Receive, Scope, Send, header, refuse

MISDIRECTED = 421


class Hosts:
    """Refuses requests that do not name exactly one of the hosts."""

    def __init__(self, app: App, hosts: frozenset[str]) -> None:
        self.app, self.hosts = app, frozenset(host.encode("ascii") for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it; web sockets there are none."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        named = header(scope, b"host")
        if len(named) != 1 or named[0].lower() not in self.hosts:
            cure = "Open the address that the terminal shows"
            await refuse((scope, receive, send), MISDIRECTED, "this is not a name of the workbench", cure)
            return
        await self.app(scope, receive, send)

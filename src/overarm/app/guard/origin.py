"""Origin: what changes something must come from a page of the workbench itself.

The browser says so in Sec-Fetch-Site and Origin, which a page cannot forge. Pages on other ports of the same
host count as "same-site" and would send the cookie along: here only "same-origin" will do.
Source: W3C, Fetch Metadata Request Headers, section 2; WHATWG Fetch, Origin header.
"""

from __future__ import annotations

from overarm.app.guard.asgi import API, SAFE, App, Receive, Scope, Send, header, refuse

FORBIDDEN = 403


class Origins:
    """Refuses requests of other sites, and unsafe ones that do not say where they come from."""

    def __init__(self, app: App, origins: frozenset[str]) -> None:
        self.app, self.origins = app, frozenset(origin.encode("ascii") for origin in origins)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "http" and not self._may(scope):
            cure = "Ask from a page of the workbench; a program sends the header Origin with its address"
            await refuse((scope, receive, send), FORBIDDEN, "the request comes from elsewhere", cure)
            return
        await self.app(scope, receive, send)

    def _may(self, scope: Scope) -> bool:
        sites, origins = header(scope, b"sec-fetch-site"), header(scope, b"origin")
        if any(origin not in self.origins for origin in origins):
            return False
        if scope["method"] in SAFE:
            # A link elsewhere may open a page (without the cookie); it may not ask the interface.
            return not scope["path"].startswith(API) or all(s in (b"same-origin", b"none") for s in sites)
        if not sites and not origins:
            return False
        return all(site == b"same-origin" for site in sites)

"""Bodies: how large one may be by its route, and how slowly it may come."""

from __future__ import annotations

import asyncio
import time

from overarm.app.guard.asgi import App, Message, Receive, Scope, Send, header, refuse
from overarm.app.limits import Limits
from overarm.app.problems import Refused

TOO_LARGE, TOO_SLOW, NO_LENGTH = 413, 408, 400
UPLOADS = "/api/uploads"


class Bodies:
    """Refuses bodies that are too large as soon as that is known, and ends those that only trickle."""

    def __init__(self, app: App, limits: Limits) -> None:
        self.app, self.limits = app, limits

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with its body counted, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        most = self.limits.upload_bytes if scope["path"] == UPLOADS else self.limits.body_bytes
        told = header(scope, b"content-length")
        if told and (len(told) > 1 or not told[0].isdigit()):
            cure = "Send one number of bytes"
            await refuse((scope, receive, send), NO_LENGTH, "the length of the body cannot be read", cure)
        elif told and int(told[0]) > most:
            await refuse((scope, receive, send), TOO_LARGE, *_large(most))
        else:
            await self.app(scope, _Counted(receive, most, self.limits).next, send)


def _large(most: int) -> tuple[str, str]:
    return f"is larger than {most:,} bytes", "Send less at a time"


class _Counted:
    """A body that is counted while it comes."""

    def __init__(self, receive: Receive, most: int, limits: Limits) -> None:
        self._receive, self._most, self._limits = receive, most, limits
        self._begun, self._bytes, self._whole = time.monotonic(), 0, False

    async def next(self) -> Message:
        """Return the next piece. Raises Refused for too large and too slow."""
        if self._whole:  # what comes now is that the other side has gone
            return await self._receive()
        try:
            message = await asyncio.wait_for(self._receive(), self._limits.body_wait_s)
        except TimeoutError:
            raise Refused(TOO_SLOW, "the body does not come", "Send it again") from None
        self._bytes += len(message.get("body", b""))
        self._whole = not message.get("more_body", False)
        if self._bytes > self._most:
            raise Refused(TOO_LARGE, *_large(self._most))
        past_s = time.monotonic() - self._begun - self._limits.body_wait_s
        if not self._whole and past_s * self._limits.least_rate_bytes_s > self._bytes:
            raise Refused(TOO_SLOW, "the body comes too slowly", "Send it again over a better line")
        return message

"""What the layers of the guard share: types, headers of a request, and how one is refused."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from overarm.app.problems import refusal

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

SAFE = ("GET", "HEAD", "OPTIONS")
API = "/api"


def header(scope: Scope, name: bytes) -> list[bytes]:
    """Return every value of a header of a request; the name in lower case."""
    return [value for key, value in scope["headers"] if key == name]


async def refuse(trio: tuple[Scope, Receive, Send], status: int, message: str, cure: str) -> None:
    """Answer a request with what is wrong with it."""
    scope, receive, send = trio
    await refusal(status, message, cure)(scope, receive, send)
